"""What a house file holds and whether it is sound, without learning from it."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from brewsim.files.text_files import read_text
from brewsim.logbook.brew import Batches, brew
from brewsim.logbook.house_draws import digest_of, draws_path, kept_draws
from brewsim.logbook.journal import State, states
from brewsim.logbook.log import MAX_BYTES, read_log
from brewsim.logbook.tables import PLACES
from brewsim.priors.library import Priors

Draws = Literal["fit", "do not fit", "are missing"]


@dataclass(frozen=True)
class HouseCheck:
    """A house file that was read without a fault, and what lies beside it.

    `readings` counts what was measured of all batches together, `tags` how many batches have each
    tank, brewer, vessel and water. `draws` says whether those beside it are of these batches and
    priors; they are made anew where they are not.
    """

    log: Batches
    readings: int
    tags: Mapping[str, Mapping[str, int]]
    draws: Draws
    states: tuple[State, ...]

    @property
    def span(self) -> tuple[str, str]:
        """The days of the first and the last batch."""
        return self.log.entries[0].date, self.log.entries[-1].date


def checked_house(file: Path, priors: Priors) -> HouseCheck:
    """Return what a house file holds; raises InputError with every fault of it."""
    text = read_text(file, MAX_BYTES)
    log = brew(read_log(text, None, str(file)), priors)
    counts = {name: Counter(e.tags[name] for e in log.entries if name in e.tags) for name in PLACES}
    draws: Draws = "fit"
    if kept_draws(draws_path(file), digest_of(text, priors)) is None:
        draws = "do not fit" if draws_path(file).exists() else "are missing"
    return HouseCheck(
        log=log,
        readings=sum(len(texts) for e in log.entries for texts in e.readings.values()),
        tags={name: dict(sorted(count.items())) for name, count in counts.items() if count},
        draws=draws,
        states=states(file),
    )
