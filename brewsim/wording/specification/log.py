"""A log of batches in words: its limits, its control limits, and how the model compares."""

import math
from collections.abc import Sequence

from brewsim.answers.specification import SpecStudies
from brewsim.quantities.catalogue import Quantity
from brewsim.quantities.chances import DOTS, fiftieths
from brewsim.quantities.english import capital
from brewsim.quantities.format import number, span, value, with_unit
from brewsim.study.model.targets import Target
from brewsim.study.tolerance.log_against_model import Observed, needed_spread
from brewsim.study.tolerance.tolerance import FEW_BATCHES, wilks_sample_size
from brewsim.wording.knobs import chances_wanted
from brewsim.wording.outcomes import Looks
from brewsim.wording.parts import Table


def log_sentences(studies: SpecStudies, looks: Looks) -> list[str]:
    """Say what the log shows, how sure it is of its own spread, and what the model gets wrong."""
    if not studies.observed:
        return []
    told = []
    for found in studies.observed:
        told += [_scatter(found, looks[found.outcome]), *_fit(found, looks[found.outcome])]
        told += _outside(found, studies, looks[found.outcome])
    counts = [found.summary.count for found in studies.observed]
    told += [
        (
            "Control limits (mean ± 3 sd) say what the brewery does; a target says what somebody "
            "wants. A batch outside the control limits is a reason to look for a cause, not to "
            "pour it away."
        )
    ]
    few = [count for count in counts if count < FEW_BATCHES]
    if few:
        told.insert(
            0,
            f"Only {_from_to(few)} batches: their spread is itself uncertain, within the ranges "
            f"below; from {FEW_BATCHES} batches on a log can stand alone.",
        )
    needed = wilks_sample_size(0.95, 0.95, sides=2)
    told.append(
        f"Smallest to largest value hold 95 % of batches, 95 % sure, only from "
        f"{needed} batches on; {_sureness(studies.observed)}."
    )
    return told


def _from_to(counts: Sequence[int]) -> str:
    """Return how many batches there are: "6", or "3 to 7" where outcomes differ."""
    return " to ".join(f"{count}" for count in sorted({min(counts), max(counts)}))


def _sureness(observed: Sequence[Observed]) -> str:
    """Return the confidence of the fewest batches and of the most, each with its own count."""
    sure = {one.summary.count: one.summary.order_confidence for one in observed}
    told = [
        f"with {count}, the confidence is {number(100 * sure[count])} %"
        for count in sorted({min(sure), max(sure)})
    ]
    return "; ".join(told)


def _sd(size: float, found: Observed, look: Quantity) -> str:
    """Return a spread as ± in shown units, or as a factor for folds."""
    if found.scale != "linear":
        return f"a factor {number(math.exp(size))}"
    return number(size * look.per_model)


def _scatter(found: Observed, look: Quantity) -> str:
    first = found.summary
    low, high = (
        _sd(v, found, look) for v in (first.standard_deviation_low, first.standard_deviation_high)
    )
    mean = with_unit(look, value(look.finer(), first.mean))
    return (
        f"{look.title} in {first.count} batches: mean {mean}, standard deviation "
        f"{_sd(first.standard_deviation, found, look)} (it may be {low} to {high})."
    )


def _fit(found: Observed, look: Quantity) -> list[str]:
    same, new = _sd(found.same_lots, found, look), _sd(found.new_lots, found, look)
    expected = f"the model expects {same} over the same lots and {new} over new ones"
    scatter = {
        "too wide": f"{capital(expected)}: its part drawn anew with every brew is too wide.",
        "too narrow": (
            f"{capital(expected)}: its part drawn anew with every brew or lot is too narrow, "
            "or the readings scatter."
        ),
        "agrees": f"{capital(expected)}: that agrees with the log.",
        "between": f"{capital(expected)}: the log lies between them.",
    }[found.scatter]
    told = [scatter]
    middle = with_unit(look, value(look.finer(), found.middle))
    unknown = _sd(found.unknown, found, look)
    if abs(found.offset) > 2:
        side = "above" if found.offset > 0 else "below"
        told.append(
            f"The log's mean lies {side} the expected {middle} by {number(abs(found.offset), 1)} "
            f"times what is not known ({unknown}): that part of the model is too narrow or wrong "
            "for this brewery. Let it learn from the batches."
        )
    else:
        told.append(
            f"The mean fits the expected {middle}, which is not known better than {unknown}."
        )
    return told


def _outside(found: Observed, studies: SpecStudies, look: Quantity) -> list[str]:
    target = studies.targets.get(found.outcome)
    if target is None or not math.isfinite(found.outside):
        return []
    share = fiftieths(found.outside, 0)
    simulated = fiftieths(studies.capability[found.outcome].outside, 0)
    return [
        (
            f"Outside the limits for {look.label}: {found.counted} of {found.summary.count} "
            f"logged; {share} of {DOTS} by the log alone; {simulated} of {DOTS} by the model for a "
            "brewery it does not know."
        ),
        _needed(found, studies, target, look),
    ]


def _needed(found: Observed, studies: SpecStudies, target: Target, look: Quantity) -> str:
    """Say how small the scatter has to be for the wanted chance, and where it comes from."""
    wish = chances_wanted(studies.tightened_chance)
    logged = found.scale != "linear"
    spread = needed_spread(found.summary, target, studies.tightened_chance, logged=logged)
    if spread is None:
        return f"The mean itself is outside: move it first, then tighten {look.label}."
    now = _sd(found.summary.standard_deviation, found, look)
    if spread >= found.summary.standard_deviation:
        return f"The logged spread is small enough for {wish} inside."
    near = studies.within_reach
    able = [b for b in studies.budget.get(found.outcome, ()) if not near or b.factor in near]
    scattered = sorted(able, key=lambda b: -(b.batch + b.lot))
    first = f" Tighten {scattered[0].label} first: it scatters most." if scattered else ""
    return (
        f"For {wish} inside, the standard deviation has to come down from {now} to "
        f"{_sd(spread, found, look)}.{first}"
    )


def log_table(studies: SpecStudies, looks: Looks) -> Table | None:
    """Return limits from the log alone, each outcome at each content, with k and control limits."""
    rows = []
    for found in studies.observed:
        look = looks[found.outcome].finer()
        for content, summary in found.by_content.items():
            rows.append(
                (
                    f"{look.title}, {number(100 * content, 1).removesuffix('.0')} %",
                    f"{summary.count}",
                    span(look, summary.next_low, summary.next_high),
                    span(look, summary.tolerance_low, summary.tolerance_high),
                    number(summary.factor, 2),
                    span(look, summary.control_low, summary.control_high),
                )
            )
    if not rows:
        return None
    sure = number(100 * studies.observed[0].summary.confidence, 0)
    header = (
        *("from the log alone", "batches", "next batch", f"all, {sure} % sure", "k"),
        "control limits",
    )
    counts = [found.summary.count for found in studies.observed]
    return Table(f"Limits from {_from_to(counts)} batches alone", header, tuple(rows))


def spread_table(studies: SpecStudies, looks: Looks) -> Table | None:
    """Return observed and simulated standard deviations side by side."""
    rows = []
    for found in studies.observed:
        look, first = looks[found.outcome], found.summary
        low, high = (
            _sd(v, found, look)
            for v in (first.standard_deviation_low, first.standard_deviation_high)
        )
        rows.append(
            (
                look.title,
                f"{_sd(first.standard_deviation, found, look)} ({low} to {high})",
                _sd(found.same_lots, found, look),
                _sd(found.new_lots, found, look),
                _sd(found.unknown, found, look),
                found.scatter,
            )
        )
    header = ("standard deviation", "log", "same lots", "new lots", "not known", "model's scatter")
    return Table("Observed and simulated spread", header, tuple(rows)) if rows else None
