"""What the cautions need to know, and each of them in a line for the first screen."""

from collections.abc import Callable
from dataclasses import dataclass

from brewsim.quantities.catalogue import outcome_of
from brewsim.quantities.chances import FEWEST, in_thousand, sought_thousand
from brewsim.quantities.format import value

USUAL_RATING_VOL = 3.0


@dataclass(frozen=True, slots=True)
class Facts:
    """What the cautions need to know of a recipe and of its simulated carbonation.

    `over_rating_chance` is the chance that the carbonation exceeds the bottle's rating,
    `over_rating_error` its sampling half width; `over_rating_sought` where it was looked for by
    itself, so that it is known below 1 in 1,000. Words are 'yes', 'no' or 'unknown'.
    """

    bottled: bool = False
    rating_vol: float = USUAL_RATING_VOL
    over_rating_chance: float | None = None
    over_rating_error: float = 0.0
    over_rating_sought: bool = False
    dry_hopped: bool = False
    diastatic: str = "unknown"
    engineered: str = "no"
    grape_product: bool = False
    fermenter_l: float = 20.0
    hot_side: bool = True


def rating(facts: Facts) -> str:
    """Return what a bottle is rated for, volumes of CO2."""
    return value(outcome_of("bottle_rating_vol"), facts.rating_vol)


def over_rating(facts: Facts) -> str:
    """Return the chance that a bottle goes over its rating, as so many in 1,000."""
    error = 0.0 if facts.over_rating_sought else facts.over_rating_error
    return in_thousand(facts.over_rating_chance or 0.0, error)


def sought_over_rating(facts: Facts) -> str:
    """Return the figure of a rare chance that was sought by itself, in brackets, or nothing."""
    chance = facts.over_rating_chance or 0.0
    rare = facts.over_rating_sought and chance < FEWEST
    return f" (sought by itself: {sought_thousand(chance)})" if rare else ""


def _over_line(facts: Facts) -> str:
    over = over_rating(facts)
    return (
        f"Bottles could burst: {over} would pass their rating of "
        f"{rating(facts)} volumes. Use a keg or stronger bottles, prime less."
    )


def _under_line(facts: Facts) -> str:
    over = over_rating(facts)
    over = f"as modelled, {over}" if facts.over_rating_sought else over
    return (
        f"Bottles rated {rating(facts)} volumes: {over} would pass that. "
        "Bottle only on a forced-ferment result."
    )


def _creep_line(facts: Facts) -> str:
    hops = "Dry hops can restart fermentation. " if facts.dry_hopped else ""
    return f"Keg only. {hops}Bottles were not asked about."


_LINES: dict[str, Callable[[Facts], str]] = {
    "over-pressure": _over_line,
    "pressure-left": _under_line,
    "diastatic": lambda _facts: (
        "This yeast may go on in the package for weeks: wait for a forced-ferment result."
    ),
    "creep": lambda _facts: (
        "Dry hops can restart fermentation in the bottle: compare with a forced-ferment sample."
    ),
    "keg": _creep_line,
}


def short_line(caution: str, facts: Facts) -> str:
    """Return a caution in a line, nothing for one that does not stand on the first screen."""
    line = _LINES.get(caution)
    return line(facts) if line is not None else ""
