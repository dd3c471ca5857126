"""What a brewer can turn: the recipe's knobs, or sensible ones where it names none."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

import numpy as np

from brewsim.beer.grist_rows import PRECURSOR_STEPS
from brewsim.beer.rows import Lists
from brewsim.beer.unknown_names import all_given
from brewsim.distributions.closed_form import Constant
from brewsim.errors import InputError
from brewsim.priors.library import Ingredient, Priors
from brewsim.quantities.conversion import Unit, scale_of
from brewsim.quantities.dimensions import kind_of
from brewsim.quantities.format import shown
from brewsim.recipe.knob_ranges import KnobRange
from brewsim.recipe.schema import Recipe
from brewsim.study.model.knob import Choice, Knob
from brewsim.study.model.problem import Problem

_LIST_FIELDS = {
    ("malt", "mass"): ("malt", "malt_mass_kg"),
    ("sugar", "mass"): ("sugar", "sugar_mass_kg"),
    ("precursor", "dose"): ("precursor", "precursor_dose_g_l"),
    ("precursor", "mass"): ("precursor", "precursor_dose_g_l"),
}
_HOP_FIELDS = {
    "mass": ("hop_mass_g", "dry_hop_mass_g"),
    "rate": ("hop_mass_g", "dry_hop_mass_g"),
    "time": ("hop_boil_time_min", ""),
    "contact": ("", "dry_hop_contact_day"),
    "temperature": ("stand_set_temperature_c", "dry_hop_temperature_c"),
}
_ONLY_AT = {
    "time": ("boil",),
    "temperature": ("whirlpool", "dry hop"),
    "contact": ("dry hop",),
}
"""Steps at which an addition has such a setting."""
ATTENUATION_FOR = "attenuation_reference_temperature_c"
_SCALARS = {
    ("", "boil"): "boil_time_min",
    ("", "mash"): "mash_set_temperature_c",
    ("yeast", "temperature"): "fermentation_temperature_c",
    ("package", "carbonation"): "keg_carbonation_vol",
    ("package", "priming"): "priming_sugar_g_l",
    ("package", "storage"): "storage_week",
    ("water", "mash"): "mash_water_l",
    ("water", "sparge"): "sparge_water_l",
    ("water", "topup"): "topup_l",
}
_LABELS = {
    ("", "boil"): "length of the boil",
    ("", "mash"): "mash temperature",
    ("yeast", "temperature"): "fermentation temperature",
    ("package", "carbonation"): "carbonation",
    ("package", "priming"): "priming sugar",
    ("package", "storage"): "weeks of storage",
    ("water", "mash"): "mash water",
    ("water", "sparge"): "sparge water",
    ("water", "topup"): "top-up water",
}
_TWO_RECIPES = {
    ("", "volume"): "a volume cannot be turned; write two recipes and compare them",
    ("package", "container"): "keg and bottle are two recipes; write both and compare them",
}
_RELEASES = ("ordinary", "active", "engineered")


def knobs_of(
    recipe: Recipe,
    lists: Lists,
    priors: Priors,
    problem: Problem,
    yeast: Sequence[Ingredient],
) -> tuple[Knob, ...]:
    """Return the problem's knobs; raises InputError for one that turns nothing."""
    if not recipe.knobs:
        return _noted(_usual(recipe, lists, problem), recipe, problem)
    knobs, faults = [], []
    for knob in recipe.knobs.values():
        made = _knob(knob, recipe, lists, priors, problem, yeast)
        why = _not_its_own(knob, recipe) or _useless(made, knob, problem)
        if made is None or why:
            faults.append(f"line {knob.line}, knob {knob.id}: {why}")
        else:
            knobs.append(made)
    faults += _twice(knobs)
    if faults:
        raise InputError(recipe.name, faults)
    return _noted(knobs, recipe, problem)


def own_mash(recipe: Recipe, problem: Problem) -> str:
    """Return the mash temperature the recipe's attenuation is read for, if it is its own mash's.

    A stated attenuation is for the mash that is stated with it, whatever that is; empty where
    none is stated, or where the recipe says what it is for.
    """
    mash = _SCALARS["", "mash"]
    elsewhere = recipe.yeast.attenuation is None or ATTENUATION_FOR in all_given(recipe)
    if elsewhere or mash not in problem.fixed:
        return ""
    unit = recipe.mash.unit if recipe.mash is not None else "°C"
    return shown(problem.fixed_at(mash), "°C", unit, twin=False)


def _noted(knobs: Iterable[Knob], recipe: Recipe, problem: Problem) -> tuple[Knob, ...]:
    """Return the knobs, the mash with what goes beside another mash in the recipe."""
    told = own_mash(recipe, problem)
    if not told:
        return tuple(knobs)
    note = (
        f"The attenuation in this recipe is for a mash at {told}. Before you write another mash "
        f'temperature into it, add {ATTENUATION_FOR} = "{told}" under [given]; else the '
        "attenuation is read as one for the new mash."
    )
    mash = _SCALARS["", "mash"]
    return tuple(replace(k, note=note) if k.quantity == mash else k for k in knobs)


def _not_its_own(knob: KnobRange, recipe: Recipe) -> str:
    """Return why an addition has no such setting, or the empty string."""
    steps = _ONLY_AT.get(knob.field)
    if knob.kind != "hop" or steps is None:
        return ""
    step = recipe.hop[knob.row or 0].when.step
    return "" if step in steps else f"an addition at {step} has no {knob.field} of its own"


def _useless(made: Knob | None, knob: KnobRange, problem: Problem) -> str:
    """Return why a knob cannot be turned, or the empty string."""
    if (knob.kind, knob.field) in _TWO_RECIPES:
        return _TWO_RECIPES[knob.kind, knob.field]
    if made is not None and made.quantity == "priming_sugar_g_l" and _is_keg(problem):
        return "a keg is not primed; turn package carbonation"
    if made is not None and made.quantity == "keg_carbonation_vol" and not _is_keg(problem):
        return (
            "a bottle gets its carbonation from sugar; turn package priming, or write "
            'container = "keg" for beer that is filled carbonated'
        )
    if made is not None:
        return _without_effect(made, knob, problem)
    if knob.field in ("boil", "storage", "temperature", "priming") and not knob.row:
        return "its line states a spread, or is not there; write it with one plain value"
    return "it turns nothing in this recipe"


def _without_effect(made: Knob, knob: KnobRange, problem: Problem) -> str:
    names = {made.quantity} if made.quantity else {q for c in made.choices for q in c.fixed}
    names |= {i for choice in made.choices for i in choice.distributions}
    quantities = {name.partition(" | ")[0] for name in names}
    reached = {node.name for node in problem.graph.downstream(quantities)}
    if reached.isdisjoint((*problem.outcomes, *problem.targets)):
        if knob.kind == "water":
            return "the wort is run off to a planned volume; state the mash water in [water] first"
        return "it changes none of the outcomes here"
    return ""


def _is_keg(problem: Problem) -> bool:
    return not float(problem.fixed["live_yeast_share"][0])


def _twice(knobs: Sequence[Knob]) -> Iterator[str]:
    """Yield a fault where two knobs turn one number, or two choices would fix the same list."""
    seen: dict[tuple[str, int | None], str] = {}
    for knob in knobs:
        lists = sorted({quantity for choice in knob.choices for quantity in choice.fixed})
        one = (lists[0], None) if lists else (knob.quantity, knob.row)
        if one in seen and one[0]:
            yield f"knobs {seen[one]} and {knob.id}: only one of them can be a knob"
        seen[one] = knob.id


def _knob(
    knob: KnobRange,
    recipe: Recipe,
    lists: Lists,
    priors: Priors,
    problem: Problem,
    yeast: Sequence[Ingredient],
) -> Knob | None:
    if knob.choices:
        return _choice(knob, recipe, lists, priors, problem, yeast)
    quantity, row = _place(knob, lists)
    if not quantity or quantity not in problem.fixed:
        return None
    scale = _scale(knob.kind, knob.field, recipe)
    return Knob(
        id=knob.id,
        label=_label(knob, lists),
        quantity=quantity,
        row=row,
        low=knob.low * scale,
        high=knob.high * scale,
        step=knob.step * scale,
        unit=knob.unit,
        per_shown=knob.per_shown * scale,
        zero=knob.zero * scale,
        today=problem.fixed_at(quantity, row),
    )


def _scale(kind: str, field: str, recipe: Recipe) -> float:
    """Return what the model has of one that is written: a rate times the volume, a mass over it."""
    litres = recipe.volume.value
    return {("hop", "rate"): litres, ("precursor", "mass"): 1 / litres}.get((kind, field), 1.0)


def _place(knob: KnobRange, lists: Lists) -> tuple[str, int | None]:
    key = (knob.kind, knob.field)
    if key in _SCALARS:
        return _SCALARS[key], None
    number = knob.row or 0
    if key in _LIST_FIELDS:
        axis, quantity = _LIST_FIELDS[key]
        return quantity, lists.row_of(axis, (knob.kind, number))
    hot, cold = _HOP_FIELDS.get(knob.field, ("", ""))
    place = lists.row_of("hop", ("hop", number))
    if place is not None:
        return hot, None if hot == "stand_set_temperature_c" else place
    return cold, lists.row_of("dry_hop", ("hop", number))


def _label(knob: KnobRange, lists: Lists) -> str:
    words = {
        "mass": "mass",
        "rate": "rate",
        "dose": "dose",
        "time": "minutes",
        "contact": "days",
        "temperature": "temperature",
    }
    if knob.row is None:
        return _LABELS.get((knob.kind, knob.field), knob.id)
    for rows in lists.rows.values():
        for row in rows:
            if row.origin == (knob.kind, knob.row):
                return f"{row.label}: {words.get(knob.field, knob.field)}"
    return knob.id


def _choice(
    knob: KnobRange,
    recipe: Recipe,
    lists: Lists,
    priors: Priors,
    problem: Problem,
    yeast: Sequence[Ingredient],
) -> Knob | None:
    key, number = (knob.kind, knob.field), knob.row or 0
    if key == ("yeast", "thiol_release"):
        tags = yeast[0].tags if yeast else {}
        current = recipe.yeast.thiol_release or tags.get("release", "ordinary")
        label = "thiol release of the yeast"
        options = {word: _release(word, priors, problem) for word in _RELEASES}
    elif key == ("hop", "form") and (place := lists.row_of("hop", (knob.kind, number))) is not None:
        current, label = recipe.hop[number].form, _label(knob, lists)
        options = {
            word: _fixing(word, problem, place, {"hop_is_pellet_share": float(word == "pellet")})
            for word in ("pellet", "cone")
        }
    elif key == ("precursor", "when"):
        row = lists.row_of("precursor", (knob.kind, number)) or 0
        current, label = recipe.precursor[number].when.step, _label(knob, lists)
        options = {
            word: _fixing(word, problem, row, _precursor_at(name))
            for word, name in PRECURSOR_STEPS.items()
        }
    else:
        return None
    words = knob.choices if current in knob.choices else (current, *knob.choices)
    return Knob(knob.id, label, choices=tuple(options[word] for word in words), current=current)


def _precursor_at(name: str) -> dict[str, float]:
    return {f"precursor_in_{step}_share": float(step == name) for step in PRECURSOR_STEPS.values()}


def _fixing(word: str, problem: Problem, row: int, values: dict[str, float]) -> Choice:
    """Return a choice that sets one row of some fixed lists."""
    fixed = {}
    for quantity, value in values.items():
        array = np.array(problem.fixed[quantity], dtype=float)
        array[row] = value
        fixed[quantity] = array
    return Choice(word, fixed)


def _release(word: str, priors: Priors, problem: Problem) -> Choice:
    entry = priors.find("release", word)
    fixed, distributions = {}, {}
    by_id = {f.id: f for f in problem.factors}
    for quantity in entry.tables if entry is not None else ():
        prior = priors.of(entry, quantity) if entry is not None else None
        if prior is None or quantity not in problem.graph.inputs:
            continue
        if quantity in by_id and not isinstance(prior.distribution, Constant):
            distributions[quantity] = prior.distribution
        else:
            fixed[quantity] = np.array([prior.value])
    return Choice(word, fixed, distributions)


def _usual(recipe: Recipe, lists: Lists, problem: Problem) -> Iterator[Knob]:
    """Yield knobs for a recipe that names none, in its units.

    Doses from none to twice as much, a quarter less or more of the heaviest malt, and the mash.
    """
    by_mass_or_rate = (("mass", "g"), ("rate", "g/L"))
    by_dose_or_mass = (("dose", "g/L"), ("mass", "g"))
    for axis, quantity, ways, reach in (
        ("precursor", "precursor_dose_g_l", by_dose_or_mass, 1.0),
        ("hop", "hop_mass_g", by_mass_or_rate, 1.0),
        ("dry_hop", "dry_hop_mass_g", by_mass_or_rate, 1.0),
        ("malt", "malt_mass_kg", (("mass", "kg"),), 0.25),
    ):
        rows = list(enumerate(lists.rows.get(axis, [])))
        if axis == "malt":
            rows = sorted(rows, key=lambda row: -problem.fixed_at(quantity, row[0]))[:1]
        for place, row in rows:
            now = problem.fixed_at(quantity, place)
            kind = "hop" if axis == "dry_hop" else axis
            line = getattr(recipe, kind)[row.origin[1]]
            word, base = next((w for w in ways if getattr(line, w[0]) is not None), ways[0])
            stated = getattr(line, word)
            unit = stated.unit if stated is not None else base
            per_shown, _ = scale_of(Unit(unit, kind_of(base)), base)
            per_shown *= _scale(kind, word, recipe)
            if now > 0:
                yield Knob(
                    id=f"{kind} {row.origin[1] + 1} {word}",
                    label=f"{row.label}: {word}",
                    quantity=quantity,
                    row=place,
                    low=(1 - reach) * now,
                    high=(1 + reach) * now,
                    step=_step(now / per_shown) * per_shown,
                    unit=unit,
                    per_shown=per_shown,
                    today=now,
                )
    quantity = _SCALARS["", "mash"]
    if quantity in problem.fixed and lists.rows.get("malt"):
        now = problem.fixed_at(quantity)
        unit = "°F" if recipe.mash is not None and recipe.mash.unit == "°F" else "°C"
        per_shown, zero = scale_of(Unit(unit, kind_of("°C")), "°C")
        reach, step = (5.0, 1.0) if unit == "°F" else (3.0, 0.5)
        yield Knob(
            id="mash",
            label=_LABELS["", "mash"],
            quantity=quantity,
            low=now - reach * per_shown,
            high=now + reach * per_shown,
            step=step * per_shown,
            unit=unit,
            per_shown=per_shown,
            zero=zero,
            today=now,
        )


def _step(now: float) -> float:
    """Return a step a scale can weigh: about a fiftieth of the dose, rounded to 1, 2 or 5."""
    power = 10.0 ** np.floor(np.log10(now / 50))
    return float(next(power * k for k in (1, 2, 5, 10) if power * k >= now / 50 - 1e-12))
