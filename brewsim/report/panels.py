"""Knobs, limits and batches: what those studies found, as curves, sentences and tables."""

from collections.abc import Iterable, Mapping, Sequence

import numpy as np
import xarray as xr

from brewsim.report.build import Looks, limits_of
from brewsim.report.content import (
    Batches,
    BatchPoint,
    KnobCurve,
    Look,
    Outcome,
    Panel,
    Table,
)
from brewsim.report.words import (
    in_hundred,
    listed,
    number,
    percent,
    shown,
    target_words,
    times,
    with_unit,
)
from brewsim.study.attribution import Attribution
from brewsim.study.knobs import bracket
from brewsim.study.problem import Knob, Problem
from brewsim.study.readings import Reading
from brewsim.study.specification import Tightening
from brewsim.study.steering import Move, SingleKnob, Steered
from brewsim.study.update import Learned

WANTED = 0.8
_EU, _EU_STRONG, _US = 0.5, 1.0, 0.3


def knob_curves(
    problem: Problem, turned: Iterable[xr.Dataset], looks: Looks, wanted: float = WANTED
) -> tuple[KnobCurve, ...]:
    """Return a curve for each knob and each targeted outcome that the knob moves."""
    return tuple(
        _curve(problem, data, name, looks[name], wanted)
        for data in turned
        for name in problem.targets
        if name in looks and _moves(data, name)
    )


def _moves(data: xr.Dataset, name: str) -> bool:
    row = data.sel(outcome=name)
    middle = row["middle"].to_numpy()
    reach = float((row["high"] - row["low"]).max())
    return bool(np.ptp(middle) > 0.02 * reach)


def _curve(problem: Problem, data: xr.Dataset, name: str, look: Look, wanted: float) -> KnobCurve:
    row = data.sel(outcome=name)
    target = problem.targets[name]
    per_shown = float(data.attrs["per_shown"]) or 1.0
    settings, choices, current = _along(data, per_shown)
    chance = row["in_target"].to_numpy()
    found = bracket(settings, chance, wanted) if not choices else None
    low, middle, high = (
        tuple((row[key].to_numpy() * look.per_model).tolist()) for key in ("low", "middle", "high")
    )
    curve = KnobCurve(
        knob=str(data.attrs["label"]),
        unit=str(data.attrs["unit"]),
        outcome=name,
        look=look,
        scale=problem.scales.get(name, "linear"),
        settings=settings,
        low=low,
        middle=middle,
        high=high,
        target=limits_of((target.lower, target.upper), look),
        chance=tuple(chance.tolist()),
        bracket=(found.low, found.high) if found else None,
        current=current,
        choices=choices,
    )
    return _with_sentence(curve, wanted)


def _along(data: xr.Dataset, per_shown: float) -> tuple[tuple[float, ...], tuple[str, ...], float]:
    settings, current = data["setting"].to_numpy().tolist(), data.attrs["current"]
    if isinstance(current, str):
        places = tuple(float(i) for i in range(len(settings)))
        return places, tuple(map(str, settings)), places[settings.index(current)]
    return tuple(value / per_shown for value in settings), (), float(current) / per_shown


def _with_sentence(curve: KnobCurve, wanted: float) -> KnobCurve:
    chance = np.array(curve.chance)
    best = int(np.nanargmax(chance))
    name, at_best = curve.knob, setting_words(curve, curve.settings[best])
    aim = target_words(curve.target, curve.look) if curve.target else ""
    if curve.bracket:
        low, high = (setting_words(curve, end) for end in curve.bracket)
        sentence = f"{name} from {low} to {high} lands {aim} in at least {_tenths(wanted)}."
    elif chance[best] >= wanted:
        sentence = f"{name} {at_best} lands {aim}: {in_hundred(float(chance[best]), 0.0)}."
    else:
        sentence = (
            f"{name} alone does not reach {_tenths(wanted)} for {aim}. "
            f"Its best is {in_hundred(float(chance[best]), 0.0)}, at {at_best}."
        )
    fields = {key: getattr(curve, key) for key in curve.__dataclass_fields__}
    return KnobCurve(**{**fields, "sentence": sentence})


def _tenths(chance: float) -> str:
    return f"{number(10 * chance, 0)} chances in 10"


def setting_words(curve: KnobCurve, value: float) -> str:
    """Return a setting of a curve's knob with its unit, or the choice."""
    if curve.choices:
        return curve.choices[round(value)]
    return _amount(value, curve.unit, curve.settings[-1] - curve.settings[0])


def _amount(value: float, unit: str, span: float) -> str:
    decimals = 0 if span > 20 else 1 if span > 2 else 2
    return f"{number(value, decimals)} {unit}".strip()


def steered_sentences(problem: Problem, steered: Steered, looks: Looks) -> tuple[str, ...]:
    """Say what the knobs can do for all targets: today, each alone, together, and what stops it."""
    wanted = _tenths(steered.wanted)
    now = in_hundred(steered.now.chance, steered.now.chance_error)
    sentences = [f"As the recipe stands, all targets are met together with {now}."]
    if steered.now.chance >= steered.wanted:
        return (*sentences, f"That is at or above {wanted}: no knob has to move.")
    sentences += [_single(problem, single, wanted) for single in steered.singles]
    if len(steered.singles) > 1:
        sentences.append(_together(problem, steered, wanted))
    if not steered.reaches:
        sentences += _in_the_way(problem, steered, looks)
    return (*sentences, *steered.remarks)


def _single(problem: Problem, single: SingleKnob, wanted: str) -> str:
    knob = problem.knob(single.knob)
    where = _settings(problem, single.move)
    share = in_hundred(single.move.chance, single.move.chance_error)
    if not single.reaches:
        return f"{single.label} alone cannot get there: its best is {share}, at {where}."
    if single.bracket is None:
        return f"{single.label} alone can: {where} gives {share}."
    low, high = (_knob_words(knob, end) for end in (single.bracket.low, single.bracket.high))
    return f"{single.label} alone can: between {low} and {high} it reaches {wanted} or more."


def _together(problem: Problem, steered: Steered, wanted: str) -> str:
    move = steered.smallest or steered.best
    share = in_hundred(move.chance, move.chance_error)
    where = _settings(problem, move) or "the recipe as it stands"
    if steered.reaches:
        return f"The smallest change that reaches {wanted}: {where}, with {share}."
    return f"All knobs together do not reach {wanted}. The best is {where}, with {share}."


def _settings(problem: Problem, move: Move) -> str:
    return listed(
        [
            f"{problem.knob(key).label} {_knob_words(problem.knob(key), value)}"
            for key, value in move.settings.items()
        ]
    )


def _knob_words(knob: Knob, value: float | str) -> str:
    if isinstance(value, str):
        return value
    per_shown = knob.per_shown or 1.0
    return _amount(value / per_shown, knob.unit, (knob.high - knob.low) / per_shown)


def _in_the_way(problem: Problem, steered: Steered, looks: Looks) -> list[str]:
    ways, sentences = steered.obstacles, []
    for place in ways.locations:
        look = looks[place.outcome]
        low, high, limit = (
            shown(value * look.per_model, look) for value in (place.low, place.high, place.limit)
        )
        if place.low <= place.limit <= place.high:
            continue
        sentences.append(
            f"Range: {problem.knob(place.knob).label} alone moves the middle of "
            f"{look.label.lower()} from {low} to {high}; the target begins at {limit}."
        )
    if ways.gives_way:
        one, other = (looks[name].label.lower() for name in ways.gives_way)
        sentences.append(
            f"Conflict: {one} and {other} each have a setting that suits them, and no setting "
            "suits both."
        )
    for name, share in ways.spread.items():
        if share < steered.wanted:
            sentences.append(
                f"Spread: wherever the middle of {looks[name].label.lower()} is put, at most "
                f"{number(100 * share, 0)} in 100 batches would land. Knobs cannot mend that; "
                "knowing more can."
            )
    return sentences


def spec_panel(
    specified: xr.Dataset,
    looks: Looks,
    outcomes: Sequence[Outcome] = (),
    tightened: Mapping[str, Sequence[Tightening]] | None = None,
) -> Panel:
    """Return the limits each outcome can keep, label tolerances, and what to tighten."""
    content = number(100 * float(specified.attrs["content"]), 0)
    sure = number(100 * float(specified.attrs["confidence"]), 0)
    scopes = specified["scope"].to_numpy().tolist()
    rows = []
    for name in specified["outcome"].to_numpy().tolist():
        if name in looks:
            rows.append(_limits_row(specified.sel(outcome=name), looks[name], scopes))
    header = ("outcome", *scopes, "promise in the long run")
    limits = Table(f"Limits that hold {content} of 100 batches", header, tuple(rows))
    sentences = [
        f"Each column holds {content} of 100 batches: of the very next brew with all that is not "
        "known, and of brews in one brewery that sits in the middle of what is not known. The "
        f"last column is what to promise: limits that hold {content} of 100 of your own brews, "
        f"with {sure} chances in 100, whatever turns out to be true of your brewery."
    ]
    sentences += label_sentences(outcomes)
    tables = [limits, *(_tighten_table(k, t, looks) for k, t in (tightened or {}).items() if t)]
    return Panel(tuple(sentences), tuple(tables))


def _limits_row(row: xr.Dataset, look: Look, scopes: Sequence[str]) -> tuple[str, ...]:
    cells = [
        _span(row["low"].sel(scope=s).item(), row["high"].sel(scope=s).item(), look) for s in scopes
    ]
    promise = _span(row["long_run_low"].item(), row["long_run_high"].item(), look)
    return (look.label, *cells, with_unit(promise, look))


def _span(low: float, high: float, look: Look) -> str:
    return f"{shown(low * look.per_model, look)} to {shown(high * look.per_model, look)}"


def label_sentences(outcomes: Sequence[Outcome]) -> list[str]:
    """Say how often a label with the middle strength would be off by more than a tolerance.

    Counted in the 50 dots. EU: Regulation 1169/2011, Annex XII; US: 27 CFR part 7.
    """
    strong = [o for o in outcomes if o.name == "alcohol_by_volume_fraction"]
    if not strong:
        return []
    label = round(strong[0].middle, 1)
    eu = _EU_STRONG if label > 5.5 else _EU
    off = [
        f"more than {number(tolerance, 1)} points from it in "
        f"{sum(abs(dot - label) > tolerance for dot in strong[0].dots)} of the 50 dots ({rule})"
        for tolerance, rule in ((eu, "EU"), (_US, "US"))
    ]
    return [
        f"A label of {number(label, 1)} % ABV, printed before the beer is measured, would be "
        f"{listed(off)}."
    ]


def _tighten_table(name: str, found: Sequence[Tightening], looks: Looks) -> Table:
    rows = tuple(
        (
            one.label,
            _plain_span(one.spread_now),
            _plain_span(one.spread_then) if one.reaches else "not enough alone",
            percent(one.now),
            percent(one.best),
        )
        for one in found[:6]
    )
    header = ("tighten", "nine in ten now", "nine in ten needed", "chance now", "best it can do")
    return Table(f"To land {looks[name].label} more often", header, rows)


def _plain_span(span: tuple[float, float]) -> str:
    return " to ".join(number(value, None) for value in span)


def batches_of(learned: Learned, explained: Sequence[Attribution], looks: Looks) -> Batches:
    """Return expected against measured for every reading, and each batch's causes."""
    readings = [(batch, reading) for batch in learned.batches for reading in batch.readings]
    points = []
    for (batch, reading), seen in zip(readings, learned.surprises, strict=True):
        if reading.quantity not in looks or reading.trials or seen.batch != batch.id:
            continue
        look = looks[reading.quantity]
        points.append(
            BatchPoint(
                batch=batch.id,
                outcome=reading.quantity,
                look=look,
                scale=_scale(learned.problem, reading),
                low=seen.low * look.per_model,
                middle=seen.expected * look.per_model,
                high=seen.high * look.per_model,
                measured=seen.value * look.per_model,
            )
        )
    sentences = [why for one in explained for why in attribution_sentences(one, looks)]
    tables = tuple(_cause_table(one, looks) for one in explained)
    return Batches(tuple(points), Panel((*sentences, *learned.remarks), tables))


def _scale(problem: Problem, reading: Reading) -> str:
    return problem.scales.get(reading.quantity, "linear")


def attribution_sentences(one: Attribution, looks: Looks) -> list[str]:
    """Say what explains a batch's deviation most, and what cannot be told apart."""
    look = looks.get(one.outcome, Look(one.outcome, ""))
    reference, reached = (with_unit(shown(v * look.per_model, look), look) for v in
                          (one.reference, one.reached))  # fmt: skip
    largest = max(one.shares, key=lambda share: abs(share.estimate), default=None)
    sentence = f"{one.batch}, {look.label.lower()}: {reached} instead of {reference}."
    if largest is not None and largest.estimate:
        sentence += (
            f" {largest.label} explains most of it: {_step(largest.estimate, look)} "
            f"({_step(largest.low, look)} to {_step(largest.high, look)})."
        )
    labels = {share.factor: share.label for share in one.shares}
    return [
        sentence,
        *(
            f"{labels.get(a, a)} and {labels.get(b, b)} cannot be told apart by these readings."
            for a, b, _ in one.inseparable
        ),
    ]


def _step(value: float, look: Look) -> str:
    if look.fold:
        return times(value)
    decimals = None if look.decimals is None else look.decimals + 1
    text = number(value * look.per_model, decimals)
    return text if text.startswith("−") else f"+{text}"


def _cause_table(one: Attribution, looks: Looks) -> Table:
    look = looks.get(one.outcome, Look(one.outcome, ""))
    shares = sorted(one.shares, key=lambda share: -abs(share.estimate))[:8]
    rows = tuple(
        (
            share.label,
            share.kind,
            _step(share.estimate, look),
            f"{_step(share.low, look)} to {_step(share.high, look)}",
        )
        for share in shares
    )
    unit = f", {look.unit}" if look.unit else ""
    title = f"{one.batch}: why {look.label.lower()} came out as it did{unit}"
    return Table(title, ("cause", "kind", "share", "nine in ten"), rows)
