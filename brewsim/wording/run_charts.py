"""Run charts in words: limits, what breaks which rule, capability beside the model's."""

import math
from collections.abc import Iterator, Sequence

from brewsim.answers.run_charts import DAY, RunChart, days_of
from brewsim.quantities.catalogue import Quantity
from brewsim.quantities.english import listed
from brewsim.quantities.format import number, reading, span, spread, value, with_unit
from brewsim.study.tolerance.control_chart import FEWEST
from brewsim.study.tolerance.run_rules import LEVEL, RANGE, Rule, Signal
from brewsim.wording.outcomes import Looks
from brewsim.wording.page_parts import HousePanel, HousePoint
from brewsim.wording.parts import Table
from brewsim.wording.specification.targets import wanted

_FEW = 20
"""Below so many batches limits are rough: common practice, no source."""
_RUN_LENGTH = 91.75
"""Ordinary batches until one of Western Electric's four tests calls (Champ & Woodall 1987)."""
_SIDES = {1: "above the centre line", -1: "below the centre line", 0: ""}


def chart_sentences(charts: Sequence[RunChart], looks: Looks) -> list[str]:
    """Say which batches break which rule, quantity by quantity, and what chance alone does."""
    told = [text for one in charts for text in _broken(one, looks[one.quantity])]
    if not told:
        told = ["No batch breaks a rule: the log shows no change but its ordinary scatter."]
    return [*told, *_chance_alone(charts), *_remarks(charts, looks)]


def _chance_alone(charts: Sequence[RunChart]) -> Iterator[str]:
    drawn = [len(one.batches) for one in charts if one.chart is not None]
    if drawn:
        yield (
            f"By chance alone about {number(max(1.0, sum(drawn) / _RUN_LENGTH), 0)} of "
            f"{sum(drawn)} readings would break one of Western Electric's four tests "
            "(Champ & Woodall 1987): one call is a reason to look, not a proof."
        )
    if drawn and min(drawn) < _FEW:
        yield (
            f"Limits from fewer than {_FEW} batches are rough (common practice, no source): the "
            f"fewest here are {min(drawn)}."
        )


def _remarks(charts: Sequence[RunChart], looks: Looks) -> Iterator[str]:
    without = [looks[one.quantity].label for one in charts if one.chart is None]
    if without:
        yield (
            f"No limits for {listed(without)}: they take {FEWEST} readings or more that are not "
            "all the same."
        )
    moved = list(dict.fromkeys(batch for one in charts for batch in one.moved))
    if moved:
        yield (
            f"Brewed otherwise than the recipe, and shown where the recipe would have had "
            f"{'it' if len(moved) == 1 else 'them'}: {listed(moved)}."
        )


def _broken(one: RunChart, look: Quantity) -> Iterator[str]:
    for together in _clusters(one.signals):
        first, last = min(s.first for s in together), max(s.last for s in together)
        where = one.batches[first]
        if last > first:
            where = f"{where} to {one.batches[last]}"
        sides = {s.side for s in together} - {0}
        side = _SIDES[sides.pop()] if len(sides) == 1 else ""
        single = first == last or all(s.rule is RANGE for s in together)
        shown = with_unit(look, reading(look, float(one.measured[last]))) if single else side
        rules = sorted({s.rule for s in together}, key=lambda r: (r.test == 0, r.test))
        calls = "; ".join(_call(one, rule, together) for rule in rules)
        yield f"{look.title}, {where}{', ' if shown else ''}{shown}: {calls} [{_sources(rules)}]."


def _sources(rules: Sequence[Rule]) -> str:
    """Return "Western Electric 1956, tests 1 and 4", and what else there is."""
    tests: dict[str, list[str]] = {}
    for rule in rules:
        tests.setdefault(rule.source, []).extend([f"{rule.test}"] if rule.test else [])
    return "; ".join(
        f"{source}, test{'s' if len(numbers) > 1 else ''} {listed(numbers)}" if numbers else source
        for source, numbers in tests.items()
    )


def _call(one: RunChart, rule: Rule, together: Sequence[Signal]) -> str:
    places = sorted(
        {p for s in together if s.rule is rule for p in range(s.first, s.last + 1)}
        if rule.length == 1
        else ()
    )
    whole = range(min(s.first for s in together), max(s.last for s in together) + 1)
    few = 0 < len(places) < len(whole) and len(places) <= 4 and rule is not LEVEL
    names = f" ({listed([one.batches[p] for p in places])})" if few else ""
    return f"{rule.words}{names}"


def _clusters(signals: Sequence[Signal]) -> list[list[Signal]]:
    """Return signals that share batches and a side together."""
    found: list[list[Signal]] = []
    for one in sorted(signals, key=lambda s: (s.first, s.last)):
        for together in found:
            sides = {s.side for s in together} - {0}
            near = one.first <= max(s.last for s in together)
            if near and (one.side == 0 or not sides or one.side in sides):
                together.append(one)
                break
        else:
            found.append([one])
    return found


def limits_table(charts: Sequence[RunChart], looks: Looks) -> Table | None:
    """Return centre line, spread from batch to batch, limits, and the smoothed level today."""
    rows = []
    for one in charts:
        if one.chart is None:
            continue
        look = looks[one.quantity]
        low, middle, high = one.limits
        sigma = one.chart.sigma
        size = (
            spread(look, sigma) if one.scale == "linear" else f"a factor {number(math.exp(sigma))}"
        )
        rows.append(
            (
                look.title,
                f"{len(one.batches)}",
                with_unit(look, value(look.finer(), middle)),
                size,
                span(look.finer(), low, high),
                value(look.finer(), one.back(float(one.chart.level[-1]))),
            )
        )
    header = ("read", "batches", "centre line", "sigma", "control limits", "level now")
    return Table(_title(charts), header, tuple(rows)) if rows else None


def _title(charts: Sequence[RunChart]) -> str:
    days = days_of(charts)
    return f"Run charts, {days[0]} to {days[1]}" if days else "Run charts"


def charted_capability(charts: Sequence[RunChart], looks: Looks) -> Table | None:
    """Return Pp, Ppk and Cpk of the log beside the model's Ppk, for what has a target."""
    rows = []
    for one in charts:
        if one.capability is None or one.model is None or one.target is None:
            continue
        found, look = one.capability, looks[one.quantity]
        ends = f"({number(found.actual_low, 2)} to {number(found.actual_high, 2)})"
        rows.append(
            (
                look.title,
                wanted(one.target, look),
                _index(found.potential),
                f"{_index(found.actual)} {ends}",
                _index(found.short_actual),
                _index(one.model.actual),
            )
        )
    header = ("target", "wanted", "Pp", "Ppk (nine in ten)", "Cpk", "model's Ppk")
    return Table("Capability of the logged batches", header, tuple(rows)) if rows else None


def _index(size: float) -> str:
    return number(size, 2) if math.isfinite(size) else "–"


def capability_notes(charts: Sequence[RunChart], *, learned: bool) -> list[str]:
    """Say what Ppk and Cpk are of, and what the model's is of."""
    judged = [one for one in charts if one.capability is not None]
    if not judged:
        return []
    by = judged[0].subgroups
    inside = "two batches in a row" if not by else "one day" if by == DAY else f"one {by}"
    told = [
        (
            f"Ppk takes the whole spread of the log, Cpk that inside {inside}: where Cpk is much "
            "the larger, something moves in between (NIST/SEMATECH e-Handbook 6.1.6)."
        )
    ]
    if any(math.isnan(one.within) for one in judged):
        told.append(f"No Cpk where no {by} has two batches.")
    whose = "after this log" if learned else "before any log, what nobody knows counted as spread"
    return [*told, f"The model's Ppk is of the next batch, {whose}."]


def run_panel(one: RunChart, look: Quantity) -> HousePanel:
    """Return a chart as it is drawn, shown units."""
    per = look.per_model
    single = {p for s in one.signals for p in _singled_out(s)}
    ends = [(math.nan, math.nan)] * len(one.batches) if one.band is None else one.band.tolist()
    points = tuple(
        HousePoint(
            batch=batch,
            value=float(one.values[place]) * per,
            text=with_unit(look, reading(look, float(one.measured[place]))),
            odd=place in single,
            low=low * per,
            high=high * per,
            first_low=math.nan,
            first_high=math.nan,
            date=one.dates[place],
        )
        for place, (batch, (low, high)) in enumerate(zip(one.batches, ends, strict=True))
    )
    low, middle, high = (end * per for end in one.limits)
    level = () if one.chart is None else tuple(one.back(float(v)) * per for v in one.chart.level)
    runs = tuple((s.first, s.last) for s in one.signals if _is_run(s))
    limits = (low, middle, high)
    return HousePanel(look.title, look.unit, points, limits, level, runs, one.quantity)


def _is_run(signal: Signal) -> bool:
    return signal.rule.length > 1 and signal.rule is not RANGE


def _singled_out(signal: Signal) -> range:
    """Return the places of batches that break a rule by themselves."""
    alone = signal.rule.length == 1 and signal.rule is not LEVEL
    return range(signal.first, signal.last + 1) if alone else range(0)
