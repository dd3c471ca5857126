"""Work counted in seconds of a reference machine, so that no clock decides a number.

A search that stopped by the clock would give other draws on a slower or busier machine. So what is
done is counted, at a fixed price: the same problem and seed give the same draws everywhere.
"""

from dataclasses import dataclass

_CALL_S = 8e-6
_SAMPLE_S = 3.2e-9
_OPERATION_S = 2e-10
"""Fitted to processor time on one core of a shared 2 GHz server; see `docs/methods.md`."""


@dataclass
class Work:
    """Seconds of the reference machine that were used."""

    seconds: float = 0.0

    def formulas(self, calls: int, samples: int) -> None:
        """Count calls of formulas or families, on so many samples each."""
        self.seconds += calls * (_CALL_S + samples * _SAMPLE_S)

    def algebra(self, operations: float) -> None:
        """Count multiplications of matrices."""
        self.seconds += self.price(operations)

    @staticmethod
    def price(operations: float) -> float:
        """Return what so many multiplications cost."""
        return operations * _OPERATION_S
