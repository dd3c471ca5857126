"""What the label rules of each place make of a beer's strength."""

from dataclasses import dataclass

import numpy as np
import xarray as xr

from brewsim.priors.label_rules import (
    Chance,
    LabelChance,
    Rule,
    StepChances,
    above_label,
    best_label,
    label_chance,
    places,
    rounded_label,
    rules_of,
    step_chances,
)

STRENGTH = "alcohol_by_volume_fraction"
EXTRACT = "original_extract_plato"


@dataclass(frozen=True)
class PlaceRules:
    """What the rules of one place make of the beer: label as printed, best label, steps."""

    place: str
    rules: tuple[Rule, ...]
    label: LabelChance | None = None
    best: LabelChance | None = None
    steps: tuple[StepChances, ...] = ()
    duty: Chance | None = None


def place_rules(
    drawn: xr.Dataset, place: str = "", label: float | None = None
) -> tuple[PlaceRules, ...]:
    """Return what each place's rules make of drawn strengths; without a label, the middle one."""
    if STRENGTH not in drawn:
        return ()
    strength = drawn[STRENGTH].to_numpy()
    if not np.isfinite(strength).any():
        return ()
    printed = rounded_label(strength) if label is None else label
    found = []
    rules = rules_of(place)
    for name in places(rules):
        own = tuple(r for r in rules if r.place == name)
        best = best_label(strength, own)
        steps = tuple(
            step_chances(drawn[r.quantity].to_numpy(), r)
            for r in own
            if r.kind != "label tolerance" and r.quantity in drawn
        )
        found.append(
            PlaceRules(
                name,
                own,
                label_chance(strength, printed, own),
                None if best is None else label_chance(strength, best, own),
                steps,
                next((above_label(strength, printed, r) for r in own if _by_label(r)), None),
            )
        )
    return tuple(found)


def _by_label(rule: Rule) -> bool:
    """Tell whether duty goes by the strength, so that a label can be too low for it."""
    return rule.kind == "duty step" and rule.quantity == STRENGTH
