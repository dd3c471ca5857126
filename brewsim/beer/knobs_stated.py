"""Knobs that a recipe names: which number each turns, and which it cannot."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

import numpy as np

from brewsim.beer.grist_rows import PRECURSOR_STEPS
from brewsim.beer.lines import dosed
from brewsim.beer.process_settings import ATTENUATION_FOR, CARBONATION
from brewsim.beer.rows import Lists
from brewsim.beer.statements import Statements
from brewsim.distributions.closed_form import Constant
from brewsim.errors import InputError
from brewsim.priors.library import Priors
from brewsim.quantities.format import shown
from brewsim.recipe.keys import Key, turnable
from brewsim.recipe.knob_ranges import KnobRange
from brewsim.study.model.knob import Choice, Knob
from brewsim.study.model.problem import Problem

MASH, _PRIMING, _STAND = "mash_set_temperature_c", "priming_sugar_g_l", "stand_set_temperature_c"


def stated_knobs(
    statements: Statements, lists: Lists, priors: Priors, problem: Problem, release: str
) -> tuple[Knob, ...]:
    """Return the knobs a recipe names; raises InputError for one that turns nothing.

    `release` is the class of thiol release that the yeast's own table names.
    """
    knobs, faults = [], []
    for knob in statements.knobs.values():
        why, made = _not_its_own(knob, statements), None
        if not why:
            made = _knob(knob, statements, lists, priors, problem, release)
            why = _useless(made, knob, problem)
        if made is None or why:
            faults.append(f"line {knob.line}, knob {knob.id}: {why}")
        else:
            knobs.append(made)
    faults += _twice(knobs)
    if faults:
        raise InputError(statements.name, faults)
    return tuple(knobs)


def own_mash(statements: Statements, problem: Problem) -> str:
    """Return the mash temperature the recipe's attenuation is read for, if it is its own mash's.

    A stated attenuation is for the mash that is stated with it, whatever that is; empty where
    none is stated, or where the recipe says what it is for.
    """
    own = statements.origin("strain_attenuation_fraction") == "field"
    elsewhere = not own or statements.origin(ATTENUATION_FOR) == "given"
    if elsewhere or MASH not in problem.fixed:
        return ""
    mash = statements.stated(MASH)
    unit = mash.unit if mash is not None else "°C"
    return shown(problem.fixed_at(MASH), "°C", unit, twin=False)


def noted(knobs: Iterable[Knob], statements: Statements, problem: Problem) -> tuple[Knob, ...]:
    """Return the knobs, the mash with what goes beside another mash in the recipe."""
    told = own_mash(statements, problem)
    if not told:
        return tuple(knobs)
    note = (
        f"The attenuation in this recipe is for a mash at {told}: beside another mash temperature "
        "it would be read as one for that, unless the recipe says what it is for."
    )
    beside = ("[given]", f'{ATTENUATION_FOR} = "{told}"')
    return tuple(replace(k, note=note, beside=beside) if k.quantity == MASH else k for k in knobs)


def _key_of(knob: KnobRange, statements: Statements) -> Key:
    """Return the key that a knob turns: of an addition, the one its step of the brew day has."""
    keys = turnable()[knob.kind, knob.field]
    if knob.row is None or not keys[0].step:
        return keys[0]
    step = statements.lines[knob.kind][knob.row].step
    return next((key for key in keys if key.step == step), keys[0])


def _not_its_own(knob: KnobRange, statements: Statements) -> str:
    """Return why an addition has no such setting, or the empty string."""
    key = _key_of(knob, statements)
    if not key.step:
        return ""
    step = statements.lines[knob.kind][knob.row or 0].step
    return "" if step == key.step else f"an addition at {step} has no {knob.field} of its own"


def _useless(made: Knob | None, knob: KnobRange, problem: Problem) -> str:
    """Return why a knob cannot be turned, or the empty string."""
    if refused := turnable()[knob.kind, knob.field][0].refused:
        return refused
    if made is not None and made.quantity == _PRIMING and _is_keg(problem):
        return "a keg is not primed; turn package carbonation"
    if made is not None and made.quantity == CARBONATION and not _is_keg(problem):
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
    statements: Statements,
    lists: Lists,
    priors: Priors,
    problem: Problem,
    release: str,
) -> Knob | None:
    if knob.choices:
        return _choice(knob, statements, lists, priors, problem, release)
    key = _key_of(knob, statements)
    quantity, row = _place(knob, key, lists)
    if quantity not in problem.fixed:
        return None
    scale = dosed(key, 1.0, statements.volume.value)
    return Knob(
        id=knob.id,
        label=_label(knob, statements, lists),
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


def _place(knob: KnobRange, key: Key, lists: Lists) -> tuple[str, int | None]:
    """Return the quantity that a knob turns, and its row; a dry hop's amount is its list's own."""
    quantity = key.sets.quantity if key.sets is not None else ""
    if knob.row is None or quantity == _STAND:
        return quantity, None
    origin = (knob.kind, knob.row)
    place = lists.row_of(knob.kind, origin)
    if place is None and knob.kind == "hop":
        return f"dry_{quantity.removeprefix('dry_')}", lists.row_of("dry_hop", origin)
    return quantity, place


def _label(knob: KnobRange, statements: Statements, lists: Lists) -> str:
    told = _key_of(knob, statements).knob
    if knob.row is None:
        return told
    for rows in lists.rows.values():
        for row in rows:
            if row.origin == (knob.kind, knob.row):
                return f"{row.label}: {told}"
    return knob.id


def _choice(
    knob: KnobRange,
    statements: Statements,
    lists: Lists,
    priors: Priors,
    problem: Problem,
    release: str,
) -> Knob | None:
    key, number = (knob.kind, knob.field), knob.row or 0
    if key == ("yeast", "thiol_release"):
        current = statements.word("yeast", "thiol_release") or release
        label = _key_of(knob, statements).knob
        options = {
            word: _release(word, priors, problem) for word in _key_of(knob, statements).words
        }
    elif key == ("hop", "form") and (place := lists.row_of("hop", (knob.kind, number))) is not None:
        current, label = (
            statements.lines["hop"][number].words["form"],
            _label(knob, statements, lists),
        )
        options = {
            word: _fixing(word, problem, place, {"hop_is_pellet_share": float(word == "pellet")})
            for word in ("pellet", "cone")
        }
    elif key == ("precursor", "when"):
        row = lists.row_of("precursor", (knob.kind, number)) or 0
        current, label = statements.lines["precursor"][number].step, _label(knob, statements, lists)
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
