"""Factors: the uncertain rows of a problem, and the kinds of their spread."""

from dataclasses import dataclass

from brewsim.distributions.base import Distribution
from brewsim.errors import StudyError

KINDS = ("knowledge", "lot", "batch")


@dataclass(frozen=True, slots=True)
class Kinds:
    """Shares of a factor's normal score: one true value, a new lot, every brew; they sum to 1.

    Shares are of the variance of the normal score, without unit. Raises StudyError for others.

    >>> Kinds(knowledge=0.6, batch=0.4).items()
    (('knowledge', 0.6), ('batch', 0.4))
    """

    knowledge: float = 1.0
    lot: float = 0.0
    batch: float = 0.0

    def __post_init__(self) -> None:
        """Refuse shares that are negative or do not sum to 1."""
        shares = (self.knowledge, self.lot, self.batch)
        if not (min(shares) >= 0 and abs(sum(shares) - 1) <= 1e-9):
            raise StudyError(f"kind shares must be positive and sum to 1, not {shares}")

    def items(self) -> tuple[tuple[str, float], ...]:
        """Return (kind, share) for the kinds with a share above zero."""
        pairs = zip(KINDS, (self.knowledge, self.lot, self.batch), strict=True)
        return tuple((kind, share) for kind, share in pairs if share > 0)


@dataclass(frozen=True, slots=True)
class Factor:
    """One uncertain row of a quantity.

    `id` names it across recipes (quantity and ingredient, never a row number); `lot` is the lot
    whose latent it shares, if any; an `event` is a rare 0/1 happening that is reported apart;
    `turnable` and `measurable` say what a person can do about it.

    >>> from brewsim import normal
    >>> rate = "evaporation_l_h"
    >>> Factor(rate, rate, None, "evaporation", normal(3.0, 0.4)).kinds.knowledge
    1.0
    """

    id: str
    quantity: str
    row: int | None
    label: str
    distribution: Distribution
    kinds: Kinds = Kinds()
    group: str = ""
    lot: str = ""
    event: bool = False
    turnable: bool = False
    measurable: bool = False
