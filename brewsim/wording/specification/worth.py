"""What to tighten and what to measure, in words."""

from brewsim.answers.specification import SpecStudies
from brewsim.quantities.catalogue import Quantity, outcome_of
from brewsim.quantities.chances import DOTS, fiftieths, in_fifty, percent
from brewsim.quantities.english import capital
from brewsim.quantities.format import number, spread, with_unit
from brewsim.quantities.format import span as span_of
from brewsim.study.model.problem import Problem
from brewsim.study.sensitivity.variance_budget import Budget
from brewsim.study.tolerance.tightening import Tightening
from brewsim.study.tolerance.value_of_information import LEAST_GAIN, Worth, Worths
from brewsim.wording.knobs import chances_wanted
from brewsim.wording.outcomes import Looks
from brewsim.wording.parts import Table
from brewsim.wording.sentences import plain_input

_LEAST_SHARE = 0.02
_NEARLY_ALL = 0.95
"""From this share of the spread on no figure is told: estimates of it may pass 1."""
_ROWS = 6


def tighten_sentences(studies: SpecStudies, looks: Looks) -> list[str]:
    """Say whether one thing held tighter is enough, two are, or nothing alone is."""
    told = []
    wish = chances_wanted(studies.tightened_chance)
    for name, found in studies.tightened.items():
        label = looks[name].label
        able = [one for one in found if one.reaches]
        start = f"To land {label} in {wish} batches"
        if studies.observed:
            start = f"Before the model has learned from the log, to land {label} in {wish} batches"
        if not found:
            continue
        if not able:
            best = found[0]
            before, after = (fiftieths(chance, 0) for chance in (best.now, best.best))
            helped = f"None of them adds a whole batch of {DOTS}."
            if before != after:
                helped = (
                    f"The best, {best.label} held exactly, lifts that from {before} to {after}."
                )
            told.append(
                f"{start}: no lot or brewing step held tighter is enough, alone or in the pairs "
                f"tried. {helped}{_why_not(studies, name)}"
            )
            continue
        first = able[0]
        both = " together" if len(first.factors) > 1 else ""
        told.append(
            f"{start}, hold {first.label}{both} to {number(100 * first.scale, 0)} % of today's "
            f"spread; the table has the others."
        )
    return told


def _why_not(studies: SpecStudies, name: str) -> str:
    rows = studies.budget.get(name, ())
    known = sum(row.knowledge for row in rows)
    if known < 0.4:
        return ""
    share = percent(known) if known < _NEARLY_ALL else "As good as all"
    return (
        f" {share} of the spread is what nobody has measured yet, the same in every brew, first "
        f"of all {plain_input(rows[0].label)}: learning from batches helps there, tightening does "
        "not."
    )


def tighten_tables(problem: Problem, studies: SpecStudies, looks: Looks) -> list[Table]:
    """Return a table for every outcome that was asked to be tightened."""
    return [
        tighten_table(problem, name, found, looks)
        for name, found in studies.tightened.items()
        if any(one.best - one.now >= LEAST_GAIN for one in found)
    ]


def tighten_table(
    problem: Problem, name: str, found: tuple[Tightening, ...] | list[Tightening], looks: Looks
) -> Table:
    """Return what to tighten: how wide now, how wide needed, and what perfection would reach."""
    able = [one for one in found if one.reaches]
    rest = [one for one in found if not one.reaches and one.best - one.now >= LEAST_GAIN]
    chosen = (*able[:_ROWS], *rest[: max(2, _ROWS - len(able))])
    rows = tuple(
        (
            capital(one.label),
            _factor_span(problem, one, one.spread_now),
            _needed(problem, one),
            in_fifty(one.now),
            in_fifty(one.best),
        )
        for one in chosen
    )
    header = ("tighten", "nine in ten now", "nine in ten needed", "chance now", "best it can do")
    return Table(f"To land {looks[name].label} more often", header, rows)


def _needed(problem: Problem, one: Tightening) -> str:
    if not one.reaches:
        return "not by this alone"
    if len(one.factors) > 1:
        return f"both to {number(100 * one.scale, 0)} % of their spread"
    return _factor_span(problem, one, one.spread_then)


def _factor_span(problem: Problem, one: Tightening, span: tuple[float, float]) -> str:
    if len(one.factors) > 1:
        return "as they are"
    look = outcome_of(problem.factor(one.factors[0]).quantity)
    return with_unit(look, span_of(look, *span))


def budget_table(studies: SpecStudies, looks: Looks, name: str) -> Table | None:
    """Return the variance budget of one outcome: its largest inputs, by kind of spread."""
    rows = [row for row in studies.budget.get(name, ()) if row.total >= _LEAST_SHARE][:_ROWS]
    if not rows:
        return None
    body = tuple(_budget_row(row) for row in rows)
    header = ("input, alone", "share", "not known", "by lot", "by brew")
    return Table(f"Where the spread of {looks[name].label} comes from", header, body)


def _budget_row(row: Budget) -> tuple[str, ...]:
    parts = (row.total, row.knowledge, row.lot, row.batch)
    return (capital(row.label), *(percent(part) if part >= 0.005 else "–" for part in parts))


def worth_sentences(studies: SpecStudies, looks: Looks) -> list[str]:
    """Say what to measure first for each target, and what would lift the chance of landing."""
    worths = studies.worths
    if worths is None:
        return []
    told = []
    for name in studies.targets:
        best = [w for w in worths.for_outcome(name, 0.05) if w.measurement.uncertainty == 0][:1]
        if best and name in worths.width:
            look = looks[name]
            now, then = (
                _half(half, studies, look, name)
                for half in (worths.width[name], best[0].width[name])
            )
            told.append(
                f"For {look.label}, nothing before the brew is worth more to know than "
                f"{best[0].measurement.label}: nine in ten within {then} instead of {now}."
            )
        elif name in worths.width:
            told.append(
                f"For {looks[name].label}, no single measurement before the brew would "
                "narrow the range by more than a fortieth; readings of finished batches would."
            )
    return [*told, *(decision_sentences(worths) if studies.targets else ())]


def decision_sentences(worths: Worths) -> list[str]:
    """Say what knowing one thing before the brew adds, each knob being set by itself."""
    if not worths.best_chance > 0:
        return []
    gains = worths.for_decision()[:1]
    if not gains:
        return [
            (
                f"No single measurement would add a quarter of a batch of {DOTS} to what meets all "
                "targets."
            )
        ]
    told = (
        f"With the best setting of one knob {_count(worths.best_chance)} of {DOTS} batches meet "
        f"all targets; knowing {gains[0].measurement.label} first and then setting the knob adds "
        f"{_count(gains[0].gain)}. What a measurement costs, you know best."
    )
    return [told]


def _count(share: float) -> str:
    return fiftieths(share, 1 if share < 0.1 else 0)


def _half(half: float, studies: SpecStudies, look: Quantity, name: str) -> str:
    """Return a half width on the outcome's own scale: ± in its unit, or a factor for folds."""
    if look.fold:
        return spread(look, half)
    if name in studies.folds:
        return f"a factor {number(studies.folds[name] ** half)}"
    return f"± {with_unit(look, spread(look, half))}"


def worth_table(studies: SpecStudies, looks: Looks, name: str) -> Table | None:
    """Return what to measure for one outcome, best first; nothing that does not show."""
    worths = studies.worths
    if worths is None or name not in worths.width:
        return None
    found = worths.for_outcome(name, 0.01)[: _ROWS + 2]
    if not found:
        return None
    look = looks[name]
    rows = tuple(_worth_row(one, studies, look, name) for one in found)
    header = ("measure", "spread it takes away", "nine in ten then", f"all targets, more of {DOTS}")
    now = _half(worths.width[name], studies, look, name)
    return Table(f"What to measure for {look.label} (now {now})", header, rows)


def _worth_row(one: Worth, studies: SpecStudies, look: Quantity, name: str) -> tuple[str, ...]:
    how = "" if one.measurement.uncertainty else ", exactly"
    gain = f"+ {_count(one.gain)}" if one.gain >= 0.005 else "–"
    return (
        capital(one.measurement.label) + how,
        percent(one.explained[name]),
        _half(one.width[name], studies, look, name),
        gain,
    )
