"""Every error a user of brewsim can meet, and the near-miss helper they share."""

from collections.abc import Iterable, Sequence
from difflib import get_close_matches


class BrewsimError(Exception):
    """Base class: catch this to catch everything brewsim raises on purpose.

    >>> issubclass(StudyError, BrewsimError)
    True
    """


class WiringError(BrewsimError):
    """The formulas do not fit together into one graph."""


class DistributionError(BrewsimError):
    """A distribution's parameters contradict each other."""


class StudyError(BrewsimError):
    """A study was asked something its problem cannot answer."""


class InputError(BrewsimError):
    """A file a person wrote cannot be used; carries every fault found in it.

    `where` is the file (or the argument) and `faults` are sentences.

    >>> InputError("pale.toml", ["line 3: no unit"]).faults
    ('line 3: no unit',)
    """

    def __init__(self, where: str, faults: Sequence[str]) -> None:
        self.where = where
        self.faults = tuple(faults)
        super().__init__("\n".join(f"{where}: {fault}" for fault in self.faults))


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """Return ' Did you mean ...?' for a near miss, else the empty string."""
    by_lower = {name.lower(): name for name in known}
    matches = get_close_matches(word.lower(), sorted(by_lower), n=2, cutoff=0.7)
    if not matches:
        return ""
    return f" Did you mean {' or '.join(by_lower[match] for match in matches)}?"
