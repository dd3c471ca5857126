"""Targets in words: how often each is met, capability, and what one reading can prove."""

import math

from brewsim.answers.specification import SURE, SpecStudies, Verdict
from brewsim.quantities.catalogue import Quantity
from brewsim.quantities.chances import DOTS, about_fifty, fiftieths, percent
from brewsim.quantities.english import all_of
from brewsim.quantities.format import number, value, with_unit
from brewsim.quantities.gravity import pair_of
from brewsim.study.model.targets import Target
from brewsim.study.tolerance.capability import SimulatedCapability
from brewsim.wording.outcomes import Looks, limits_of
from brewsim.wording.parts import Table
from brewsim.wording.sentences import target_words

CAPABLE = 1.33
"""Ppk that plants ask for: common practice, no source."""


def wanted(target: Target, look: Quantity) -> str:
    """Return limits as words with their unit; one more digit where rounding would move them."""
    shown_limits = [v * look.per_model for v in (target.lower, target.upper) if v is not None]
    if look.decimals is not None and not look.fold:
        off = max((abs(v - round(v, look.decimals)) for v in shown_limits), default=0.0)
        look = look.finer() if off > 0.1 * 10.0**-look.decimals else look
    return with_unit(look, target_words(limits_of([target.lower, target.upper], look), look))


def want_sentences(studies: SpecStudies, looks: Looks) -> list[str]:
    """Name the median a wanted spread is taken around, and the target it replaces."""
    told = []
    for want in studies.wants:
        look = looks[want.quantity]
        if want.target is None:
            middle = value(look.finer(), studies.middles[want.quantity])
            told.append(
                f"“{want.text}” is taken around {with_unit(look, middle)}, the median of what the "
                "recipe makes likely."
            )
        told += [
            f"The recipe's own target for {looks[name].label}, "
            f"{wanted(studies.aside[name], looks[name])}, is set aside for “{want.text}”."
            for name in pair_of(want.quantity)
            if name in studies.aside
        ]
    return told


def target_sentences(studies: SpecStudies, looks: Looks) -> list[str]:
    """Say how often each target is met, all of them together, and what Ppk makes of it."""
    told = want_sentences(studies, looks)
    for name, target in studies.targets.items():
        found, look = studies.capability[name], looks[name]
        share = about_fifty(1 - found.outside, found.outside_error)
        told.append(f"{look.title} of {wanted(target, look)}: {share}.")
    for name, run in studies.runs.items():
        told.append(
            f"{number(run.brews, 0)} brews in a row, {looks[name].label}: all inside in "
            f"{fiftieths(run.all_inside, 0)} of {DOTS} breweries, none inside in "
            f"{fiftieths(run.none_inside, 0)}: what is not known is the same in every brew."
        )
    if studies.joint is not None and len(studies.targets) > 1:
        share = about_fifty(*studies.joint)
        told.append(f"{all_of(len(studies.targets))} in the same batch: {share}.")
    return told


def capability_table(studies: SpecStudies, looks: Looks) -> Table | None:
    """Return Pp and Ppk of every target with sampling error, and how many of 50 are outside."""
    rows = []
    for name, target in studies.targets.items():
        found = studies.capability[name]
        outside = fiftieths(found.outside, 1)
        rows.append(
            (
                looks[name].title,
                wanted(target, looks[name]),
                f"{outside} ± {fiftieths(found.outside_error, 1)}",
                _index(found.potential, found.potential_error),
                _index(found.actual, found.actual_error),
            )
        )
    if not rows:
        return None
    header = ("target", "wanted", f"outside, of {DOTS}", "Pp", "Ppk")
    return Table("Capability of the process as it is known now", header, tuple(rows))


def _index(value: float, error: float) -> str:
    return f"{number(value, 2)} ± {number(error, 2)}" if math.isfinite(value) else "–"


def capability_sentences(studies: SpecStudies) -> list[str]:
    """Say what Pp and Ppk are here, and where the draws are too few for them."""
    found = [c for c in studies.capability.values() if math.isfinite(c.actual)]
    if not found:
        return []
    told = [
        (
            "Ppk compares the distance from the median to the nearer limit with the reach of the "
            f"batches (1.0: 1.3 in 1,000 outside on that side). Plants ask for {CAPABLE} (common "
            "practice, no source). What is not known about the brewery counts as spread here."
        )
    ]
    few: list[SimulatedCapability] = [c for c in found if c.few]
    if few:
        told.append(
            "Pp and Ppk rest on the outermost 1.3 in 1,000 draws, and there are too few of them "
            "here: take them as rough."
        )
    return told


def reading_table(studies: SpecStudies, looks: Looks) -> Table | None:
    """Return, per target, what a reading by the best instrument must show, and who is misled."""
    rows = []
    for found in studies.conformity:
        look = looks[found.outcome]
        spread = number(found.uncertainty * look.per_model)
        rows.append(
            (
                f"{look.title}, by {found.instrument.name}",
                f"± {spread}",
                _accepted(found.accepted, look),
                f"{_of_thousand(found.plain.consumer)} / {_of_thousand(found.plain.producer)}",
                f"{_of_thousand(found.guarded.consumer)} / {_of_thousand(found.guarded.producer)}",
            )
        )
    if not rows:
        return None
    header = (
        "one reading",
        "standard uncertainty",
        f"proof, {percent(SURE)} sure",
        "wrong pass / reject at the limits",
        "the same at the proof limits",
    )
    return Table("One reading held against the target, of 1,000 batches", header, tuple(rows))


def _accepted(accepted: Target, look: Quantity) -> str:
    if accepted.lower is not None and accepted.lower == accepted.upper:
        return "no reading can"
    limits = limits_of([accepted.lower, accepted.upper], look)
    return target_words(limits, look.finer())


def _of_thousand(share: float) -> str:
    return "under 1" if share < 0.0005 else number(1000 * share, 0)


def reading_sentences(studies: SpecStudies) -> list[str]:
    """Say how the table of readings is read (JCGM 106)."""
    if not studies.conformity:
        return []
    return [
        (
            f"A reading inside the proof limits conforms, {percent(SURE)} sure, whatever was "
            "expected; the guard band lies between them and the target. A wrong pass is the "
            "drinker's risk, a wrong reject the brewer's (JCGM 106:2012)."
        )
    ]


def verdict_sentences(studies: SpecStudies, looks: Looks) -> list[str]:
    """Say for each measured value how likely it conforms."""
    return [_verdict(v, looks[v.measured.quantity]) for v in studies.verdicts]


def _verdict(found: Verdict, look: Quantity) -> str:
    measured = found.measured
    read = with_unit(look, value(look.finer(), measured.value))
    spread = number(found.uncertainty * look.per_model)
    start = f"Measured {look.label} {read} ± {spread} ({measured.instrument.name})"
    if found.target == Target():
        return f"{start}: the recipe has no target for it."
    alone = about_fifty(found.alone)
    if not math.isfinite(found.together):
        return f"{start}: it conforms, {alone}. The model did not expect such a value at all."
    together = about_fifty(found.together)
    return (
        f"{start}: it conforms, {alone} by the reading alone, {together} together with what the "
        "recipe makes likely."
    )
