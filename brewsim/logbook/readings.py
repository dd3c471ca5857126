"""Readings of a batch as a brewer writes them: "1.047 by my hydrometer", "7 of 10"."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache

from brewsim.beer.plausibility import refuse_unreadable
from brewsim.beer_graph import all_inputs, module_of, stage_modules
from brewsim.errors import did_you_mean
from brewsim.graph.build import Graph, formulas_in
from brewsim.logbook.own_instruments import Instruments
from brewsim.logbook.sections import Calibration
from brewsim.priors.instruments import Instrument, reads
from brewsim.quantities.catalogue import OUTCOMES, outcome_of, quantity_of
from brewsim.quantities.dimensions import model_unit_of
from brewsim.quantities.measured_value import read_shown, read_value_of
from brewsim.quantities.phrases import read_phrase
from brewsim.quantities.statement import Z90, Stated, Written, line_of
from brewsim.study.model.batch import Reading
from brewsim.study.model.problem import Problem

TASTERS = "detecting_taster_share"
COUNT = re.compile(
    r"\s*([0-9]{1,4})\s*(?:of|/|out of)\s*([0-9]{1,4})(?:\s+tasters?)?\s*", re.IGNORECASE
)
_ALIASES = {"tasters": TASTERS, "tasters_noticed": TASTERS}
_BY = re.compile(r"(.+?)\s+by\s+(.+)", re.IGNORECASE)


@dataclass(frozen=True)
class Taken:
    """One reading, and what was assumed of it.

    `by` is the instrument that a reading without one was taken to be by, `remark` says so; `brix`
    is what a refractometer showed of wort, which a later reading of its beer needs.
    """

    reading: Reading
    by: str = ""
    remark: str = ""
    brix: float | None = None


def named_quantity(name: str, graph: Graph) -> str:
    """Return the quantity a person means; raises ValueError with near misses."""
    return _meant(name, dict.fromkeys([*graph.nodes, *graph.inputs]))


def is_strange(name: str) -> bool:
    """Whether a name is no quantity of any recipe's, and not a slip of one."""
    try:
        _meant(name, _every_quantity())
    except ValueError as error:
        return "Did you mean" not in str(error)
    return False


@cache
def _every_quantity() -> Mapping[str, None]:
    """Return every quantity that some recipe may have."""
    modules = [module_of(stage) for stage in stage_modules()]
    computed = [one.__name__.partition("__")[0] for m in modules for one in formulas_in(m)]
    return dict.fromkeys([*computed, *all_inputs()])


def _meant(name: str, quantities: Mapping[str, None]) -> str:
    typed = name.strip().lower().replace(" ", "_")
    for candidate in (_ALIASES.get(typed, ""), quantity_of(typed), typed):
        if candidate in quantities:
            return candidate
    longer = [q for q in quantities if q.rpartition("_")[0] == typed]
    if len(longer) == 1:
        return longer[0]
    near = did_you_mean(typed, [*OUTCOMES, *_ALIASES, *quantities])
    raise ValueError(f"there is no quantity {name}.{near}")


def reading_of(
    name: str,
    written: Written,
    problem: Problem,
    instruments: Instruments,
    before_bx: float | None = None,
) -> Taken:
    """Return one reading of a batch; raises ValueError with the fault in words.

    `before_bx` is what a refractometer showed of the same batch's wort.
    """
    quantity = named_quantity(name, problem.graph)
    refuse_unreadable(quantity, problem)
    text, instrument = str(written), ""
    if (match := _BY.fullmatch(text)) is not None:
        text, instrument = match[1], match[2].strip()
    if (count := COUNT.fullmatch(text)) is not None:
        return Taken(_counted(quantity, int(count[1]), int(count[2])))
    if quantity == TASTERS:
        raise ValueError(f"“{text}”: write how many of them noticed, such as 7 of 10")
    words = Written(text, line_of(written))
    if instrument:
        gauge: Instrument | None = instruments.of(instrument, quantity)
    else:
        stated = read_phrase(words, model_unit_of(quantity) or "")
        gauge = _usual(quantity, stated, instruments)
    if gauge is None:
        return Taken(_own(quantity, words))
    if gauge.quantity not in problem.graph:
        raise ValueError(f"this recipe has no {gauge.quantity}")
    wort = gauge.bends_light and gauge.quantity.startswith("original")
    brix = read_shown(words) if wort else None
    made = Taken(_by(gauge, _stated(gauge, words, before_bx)), brix=brix)
    if instrument:
        return made
    return replace(made, by=gauge.name, remark=f"{name}: taken as read by {gauge.in_words}")


def calibration_of(item: Calibration, problem: Problem, instruments: Instruments) -> Taken:
    """Return what an instrument read where the truth was known."""
    gauge, remark = _calibrated(item, problem, instruments)
    values = [_stated(gauge, text) for text in (item.read, item.known)]
    made, truth = (_by(gauge, stated) for stated in values)
    label = f"calibration of {item.instrument}"
    return Taken(replace(made, known=truth.value, label=label), remark=remark)


def _calibrated(
    item: Calibration, problem: Problem, instruments: Instruments
) -> tuple[Instrument, str]:
    """Return the instrument at work on what was checked, and what was assumed, if anything."""
    graph = problem.graph
    if item.quantity:
        return instruments.of(item.instrument, named_quantity(item.quantity, graph)), ""
    first = instruments.kind_of(item.instrument)
    quantity = next((q for q in reads(first) if q in graph), reads(first)[0])
    gauge = instruments.of(item.instrument, quantity)
    if not gauge.apart:
        return gauge, ""
    return gauge, (
        f"calibration of {item.instrument}: taken for {outcome_of(quantity).label}; each "
        f'thing it reads has an error of its own, so write quantity = "{quantity}"'
    )


def _usual(quantity: str, stated: Stated, instruments: Instruments) -> Instrument | None:
    """Return the instrument that a reading without one was by; None for a spread of its own.

    °Bx is what a refractometer shows, whether its spread is stated or not.
    """
    bends_light = stated.unit == "°Bx"
    if stated.phrase.kind in ("sd", "range90") and not bends_light:
        return None
    gauge = instruments.usual(quantity, bends_light=bends_light)
    if gauge is None and bends_light:
        raise ValueError(f"“{stated.text}”: °Bx is what a refractometer shows of wort or beer")
    if gauge is None:
        raise ValueError(
            f"“{stated.text}”: no instrument is known to read it; write how well it was "
            "measured, such as 5.2 ± 0.1 (nine in ten)"
        )
    return gauge


def _stated(gauge: Instrument, text: Written, before_bx: float | None = None) -> Stated:
    """Return an instrument's reading as of the quantity it reads."""
    return read_value_of(gauge.quantity, text, before_bx, bends_light=gauge.bends_light)


def _own(quantity: str, text: Written) -> Reading:
    """Return a reading that states how well it was measured."""
    stated = read_value_of(quantity, text)
    return Reading(quantity, stated.value, _noise(stated), label=outcome_of(quantity).label)


def _by(gauge: Instrument, stated: Stated) -> Reading:
    """Return a reading by an instrument; a spread it states is its own, else the instrument's."""
    if gauge.logged and stated.value <= 0:
        raise ValueError(
            f"“{stated.text}” is not above 0, and {gauge.in_words} errs by a share of what it "
            "shows; write a reading of something that is there"
        )
    spread = _noise(stated) / (stated.value if gauge.logged else 1.0)
    return Reading(
        gauge.quantity,
        stated.value,
        spread or gauge.noise,
        gauge.error,
        gauge.bias,
        "log" if gauge.logged else "linear",
        label=outcome_of(gauge.quantity).label,
    )


def _noise(stated: Stated) -> float:
    phrase = stated.phrase
    if phrase.kind == "sd":
        return phrase.sd or 0.0
    if phrase.kind == "range90" and phrase.low is not None and phrase.high is not None:
        return (phrase.high - phrase.low) / 2 / Z90
    if phrase.kind in ("plain", "exactly"):
        return 0.0
    raise ValueError(f"“{stated.text}” is no measured value; write one number, or value ± spread")


def _counted(quantity: str, noticed: int, asked: int) -> Reading:
    if not quantity.endswith("_share"):
        raise ValueError(
            f"{noticed} of {asked} counts people; {quantity} is not a share of them; tasters who "
            "tell the beer by its thiols go under tasters"
        )
    if not 0 <= noticed <= asked or asked == 0:
        raise ValueError(f"{noticed} of {asked} cannot be")
    return Reading(quantity, noticed, 0.0, trials=asked, label="tasters who noticed")
