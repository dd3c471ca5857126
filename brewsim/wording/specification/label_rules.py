"""Labels, names and duty in words: how often a rule would be broken or a step crossed."""

from brewsim.answers.label_verdicts import PlaceRules
from brewsim.priors.label_rules import Chance, LabelChance, Rule, StepChances, load_rules
from brewsim.priors.label_rules import places as places_of
from brewsim.quantities.chances import DOTS, about_fifty, fiftieths
from brewsim.quantities.english import listed
from brewsim.quantities.format import number
from brewsim.wording.parts import Table

_FEW_STEPS = 5
RULES = "The rules, as they were read"


def rule_sentences(places: tuple[PlaceRules, ...], asked: float | None = None) -> list[str]:
    """Say, place by place, how often the label would be off and which step the beer lands on.

    Where no rule judges a label that was `asked` about, say why.
    """
    judged = [p for p in places if p.label is not None]
    told = []
    if judged:
        label = number(100 * judged[0].label.label, 1) if judged[0].label else ""
        parts = [_off(p.label, p.place) for p in judged if p.label is not None]
        told.append(
            f"A label of {label} % ABV, printed before the beer is measured, would be off "
            f"{listed(parts)}."
        )
    elif asked is not None and places:
        told.append(_no_tolerance(asked, places))
    told += [_steps(p.place, s, p.duty) for p in places for s in p.steps]
    if told:
        told.append(
            "Rules change: check locally before you print or declare. Duty goes by measured "
            "strength, not by a simulation."
        )
    return told


def _no_tolerance(label: float, places: tuple[PlaceRules, ...]) -> str:
    """Say that the rules read of these places let no label be judged, and those of which do."""
    rules = [r for r in load_rules() if r.kind == "label tolerance" and r.covers(label)]
    elsewhere = listed(list(places_of(rules)))
    known = f" {elsewhere} have one: ask for a place whose rules hold there too." if rules else ""
    return (
        f"A label of {number(100 * label, 1)} % ABV is not judged in "
        f"{listed([p.place for p in places])}: the rules read for it hold no tolerance.{known}"
    )


def _off(found: LabelChance, place: str) -> str:
    share = about_fifty(found.off.value, found.off.error)
    return f"by more than {number(100 * found.rule.tolerance, 1)} points ({place}) in {share}"


def _steps(place: str, found: StepChances, duty: Chance | None) -> str:
    ordered = sorted(found.chances, key=lambda row: -row[1].value)
    if len(ordered) <= _FEW_STEPS:
        shares = [
            f"{_step(found.rule, name)} in {fiftieths(chance.value, 0)}" for name, chance in ordered
        ]
        what = "the name is" if found.rule.kind == "name class" else "duty counts"
        return f"{place}: of {DOTS} batches {what} {listed(shares)}."
    first, last = (_step(found.rule, found.chances[end][0]) for end in (0, -1))
    beyond = ""
    if duty is not None:
        beyond = f"; above the label, so that more is due, {about_fifty(duty.value, duty.error)}"
    return (
        f"{place}: duty counts steps from {first} to {last}, most often "
        f"{_step(found.rule, found.likeliest)}{beyond}."
    )


def _step(rule: Rule, name: str) -> str:
    if rule.kind == "name class":
        return f"“{name}”"
    return f"{name} %" if rule.quantity.endswith("_fraction") else f"{name} °P"


def rule_table(places: tuple[PlaceRules, ...]) -> Table | None:
    """Return the labels tried, place by place, with the side on which they fail."""
    rows = [
        (
            place.place,
            f"{number(100 * found.label, 1)} ± {number(100 * found.rule.tolerance, 1)}",
            f"{fiftieths(found.above.value, 1)} / {fiftieths(found.below.value, 1)}",
            f"{fiftieths(found.off.value, 1)} ± {fiftieths(found.off.error, 1)}",
            _best(place),
        )
        for place in places
        if (found := place.label) is not None
    ]
    if not rows:
        return None
    header = (
        "place (check locally)",
        "label, % ABV",
        f"too strong / too weak, of {DOTS}",
        f"off, of {DOTS}",
        "best label (off)",
    )
    return Table("Labels printed before the beer is measured", header, tuple(rows))


def _best(place: PlaceRules) -> str:
    found = place.best
    if found is None:
        return "–"
    return f"{number(100 * found.label, 1)} ({fiftieths(found.off.value, 1)})"


def source_table(places: tuple[PlaceRules, ...]) -> Table | None:
    """Return every rule used with its source, the day it was read and its grade."""
    rows = tuple(
        (rule.place, rule.text, f"{rule.source}; read {rule.seen}; {rule.grade}; {rule.check}")
        for place in places
        for rule in place.rules
    )
    return Table(RULES, ("place", "rule", "source"), rows) if rows else None
