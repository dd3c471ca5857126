"""Rules about labels, names and duty by place, and how often a beer breaks or crosses them.

A rule is data (priors/rules.toml) with its source, the day it was read and "check locally".
Strengths are fractions here and % by volume in the file; chances come with the half width of
their 95 % sampling interval over the replicates of the draws.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from brewsim.dims import FloatArray
from brewsim.errors import InputError, did_you_mean
from brewsim.priors.folder import prior_folder, read_toml
from brewsim.study.model.replicates import chance_error

RuleKind = Literal["label tolerance", "name class", "duty step"]
KINDS = ("label tolerance", "name class", "duty step")
GRADES = ("published", "secondary", "common practice", "from memory", "assumption")
_TEXTS = ("place", "kind", "quantity", "rule", "source", "seen", "grade", "check")
_MOST = 10.0
_TINY = 1e-9
REPLICATES = 8


@dataclass(frozen=True, slots=True)
class NameClass:
    """A name a beer may carry between two strengths (model units, both included)."""

    name: str
    lowest: float
    highest: float


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule; numbers are in the model unit of `quantity`, `text` says it in words."""

    id: str
    place: str
    kind: RuleKind
    quantity: str
    text: str
    source: str
    seen: str
    grade: str
    check: str
    step: float
    tolerance: float = math.inf
    floor: float = 0.0
    label_above: float = 0.0
    label_up_to: float = math.inf
    classes: tuple[NameClass, ...] = ()

    def covers(self, label: float) -> bool:
        """Tell whether the rule is for beers with this label."""
        return self.label_above + _TINY < label <= self.label_up_to + _TINY


@dataclass(frozen=True, slots=True)
class Chance:
    """A chance and the half width of its 95 % sampling interval."""

    value: float
    error: float


@dataclass(frozen=True, slots=True)
class LabelChance:
    """How often a beer lies outside the tolerance of its label, and on which side."""

    rule: Rule
    label: float
    off: Chance
    above: Chance
    below: Chance


@dataclass(frozen=True, slots=True)
class StepChances:
    """Where a stepped quantity lands: chances by step (its lower end, or its name)."""

    rule: Rule
    likeliest: str
    chances: tuple[tuple[str, Chance], ...]


def load_rules(path: Path | None = None) -> tuple[Rule, ...]:
    """Return the shipped rules, or those of a file; every fault comes in one InputError."""
    return _loaded(path or prior_folder() / "rules.toml")


@lru_cache(maxsize=8)
def _loaded(path: Path) -> tuple[Rule, ...]:
    content = read_toml(path)
    faults = [f"{name}: {fault}" for name, table in content.items() for fault in _faults(table)]
    if faults:
        raise InputError(str(path), faults)
    return tuple(_rule(name, table) for name, table in content.items())


def _faults(table: Mapping[str, Any]) -> list[str]:
    faults = [f"{key} is missing" for key in _TEXTS if not isinstance(table.get(key), str)]
    if table.get("kind") not in KINDS:
        faults.append(f"kind is one of {', '.join(KINDS)}")
    if table.get("grade") not in GRADES:
        faults.append(f"grade is one of {', '.join(GRADES)}")
    if not table.get("step", 0) > 0:
        faults.append("step is above 0")
    if table.get("kind") == "label tolerance" and not table.get("tolerance", 0) > 0:
        faults.append("tolerance is above 0")
    if table.get("kind") == "name class" and not table.get("classes"):
        faults.append("classes are missing")
    return faults


def _rule(name: str, table: Mapping[str, Any]) -> Rule:
    per = 100.0 if table["quantity"].endswith("_fraction") else 1.0
    numbers = {
        key: table[key] / per
        for key in ("tolerance", "floor", "label_above", "label_up_to")
        if key in table
    }
    classes = tuple(
        NameClass(row["name"], row["lowest"] / per, row["highest"] / per)
        for row in table.get("classes", ())
    )
    return Rule(
        id=name,
        place=table["place"],
        kind=table["kind"],
        quantity=table["quantity"],
        text=table["rule"],
        source=table["source"],
        seen=table["seen"],
        grade=table["grade"],
        check=table["check"],
        step=table["step"] / per,
        classes=classes,
        **numbers,
    )


def places(rules: Sequence[Rule]) -> tuple[str, ...]:
    """Return the places there are rules for, in the file's order."""
    return tuple(dict.fromkeys(rule.place for rule in rules))


def rules_of(place: str, rules: Sequence[Rule] | None = None) -> tuple[Rule, ...]:
    """Return the rules of a place, all of them for ""; raises InputError with near misses."""
    known = load_rules() if rules is None else tuple(rules)
    if not place:
        return known
    names = places(known)
    found = tuple(r for r in known if place.casefold() in (r.place.casefold(), *_parts(r.place)))
    if not found:
        hint = did_you_mean(place, names) or f" There is: {', '.join(names)}."
        raise InputError("--place", [f"there are no rules for {place!r}.{hint}"])
    return found


def _parts(place: str) -> tuple[str, ...]:
    return tuple(part.casefold() for part in place.split("/"))


def chance_of(flags: NDArray[np.bool_], replicates: int = REPLICATES) -> Chance:
    """Return the share of set flags (n,) and its sampling error over equal replicates.

    With one replicate there is no error to tell (nan).
    """
    parts = flags.reshape(replicates, -1).mean(axis=1)
    error = chance_error(parts, flags.size) if replicates > 1 else math.nan
    return Chance(float(parts.mean()), error)


def label_chance(
    strength: FloatArray, label: float, rules: Sequence[Rule], replicates: int = REPLICATES
) -> LabelChance | None:
    """Return how often true strengths (n,) lie outside the tolerance of a label, per place.

    `rules` are one place's; the one for this label is taken, None where there is none. A limit
    itself is inside. Draws that are not finite count as outside on neither side, but as off.
    """
    rule = next((r for r in rules if r.kind == "label tolerance" and r.covers(label)), None)
    if rule is None:
        return None
    above = strength > label + rule.tolerance + _TINY
    below = strength < max(label - rule.tolerance, rule.floor) - _TINY
    off = above | below | ~np.isfinite(strength)
    return LabelChance(rule, label, *(chance_of(flag, replicates) for flag in (off, above, below)))


def best_label(strength: FloatArray, rules: Sequence[Rule]) -> float | None:
    """Return the label, in steps of the rule, that is outside its tolerance least often.

    Among equals the one nearest the median. None where no rule of the place has a tolerance.
    Strengths beyond all reason are labelled with at most ten times pure alcohol.
    """
    graded = [r for r in rules if r.kind == "label tolerance"]
    known = np.sort(strength[np.isfinite(strength)])
    if not graded or not known.size:
        return None
    step, middle = graded[0].step, float(np.median(known))
    low, high = np.clip(np.quantile(known, [0.001, 0.999]), 0.0, _MOST)
    counts = np.arange(math.floor(low / step), math.ceil(high / step) + 1)
    labels = np.round(counts * step, 12)
    off = np.full(len(labels), np.inf)
    for rule in graded:
        own = (rule.label_above + _TINY < labels) & (labels <= rule.label_up_to + _TINY)
        own &= np.isinf(off)
        limits = labels[own]
        above = len(known) - np.searchsorted(known, limits + rule.tolerance + _TINY, side="right")
        least = np.maximum(limits - rule.tolerance, rule.floor) - _TINY
        off[own] = above + np.searchsorted(known, least, side="left")
    best = np.lexsort((labels, np.abs(labels - middle), off))[0]
    return float(labels[best]) if np.isfinite(off[best]) else None


def rounded_label(strength: FloatArray, step: float = 0.001) -> float:
    """Return the median strength rounded to the step of a label (one decimal of a percent)."""
    return float(round(round(float(np.nanmedian(strength)) / step) * step, 12))


def step_chances(
    values: FloatArray, rule: Rule, replicates: int = REPLICATES, *, least: float = 0.005
) -> StepChances:
    """Return where values (n,) land among the steps or names of a rule, in rising order.

    Steps below `least` are left out. A name class takes the value to the rule's step, rounded;
    a duty step drops what is beyond it.
    """
    finite = np.isfinite(values)
    if rule.kind == "name class":
        names, flags = _classes(np.where(finite, values, 0.0), rule, finite)
    else:
        names, flags = _steps(np.where(finite, values, 0.0), rule, finite)
    chances = [(n, chance_of(f, replicates)) for n, f in zip(names, flags, strict=True)]
    kept = tuple((n, c) for n, c in chances if c.value >= least)
    return StepChances(rule, max(chances, key=lambda row: row[1].value)[0], kept)


def _classes(
    values: FloatArray, rule: Rule, finite: NDArray[np.bool_]
) -> tuple[list[str], list[NDArray[np.bool_]]]:
    taken = np.round(values / rule.step)
    ends = [(round(c.lowest / rule.step), round(c.highest / rule.step)) for c in rule.classes]
    below = finite & (taken < ends[0][0])
    flags = [finite & (taken >= low) & (taken <= high) for low, high in ends]
    return ["no name here", *(c.name for c in rule.classes)], [below, *flags]


def _steps(
    values: FloatArray, rule: Rule, finite: NDArray[np.bool_]
) -> tuple[list[str], list[NDArray[np.bool_]]]:
    taken = np.floor(values / rule.step + _TINY)
    per = 100.0 if rule.quantity.endswith("_fraction") else 1.0
    decimals = max(0, round(-math.log10(rule.step * per)))
    found = np.unique(taken[finite])
    names = [f"{count * rule.step * per:.{decimals}f}" for count in found]
    return names, [finite & (taken == count) for count in found]


def above_label(strength: FloatArray, label: float, rule: Rule) -> Chance:
    """Return the chance that the strength for duty is a step or more above the label."""
    steps = np.floor(strength / rule.step + _TINY)
    return chance_of(steps > math.floor(label / rule.step + 1e-6))
