"""A batch log on the page: each reading beside its house, the odd ones first."""

import math
from collections.abc import Sequence

import xarray as xr

from brewsim.answers.from_log import FromLog, ReadingInHouse
from brewsim.answers.odd_causes import OddCause
from brewsim.quantities.catalogue import Quantity
from brewsim.quantities.chances import DOTS, deviating
from brewsim.quantities.english import capital, counted, lower
from brewsim.quantities.format import printed, reading, with_unit
from brewsim.wording.explanation import against_house, pair_sentences
from brewsim.wording.odd_causes import advised, headline, odd_cause_sentences
from brewsim.wording.outcomes import Looks
from brewsim.wording.page_parts import (
    Action,
    FirstScreen,
    HouseLog,
    HousePanel,
    HousePoint,
    Pictures,
)
from brewsim.wording.parts import Danger
from brewsim.wording.run_charts import run_panel
from brewsim.wording.sentences import of_fifty

_MOST_ODD = 3
MOST_ROWS = 8
"""A log of more batches is drawn in time, one of fewer with a row for each batch."""
_NARROWED = 0.95
"""Part of its width below which an interval counts as narrowed."""


def house_log(
    log: FromLog, looks: Looks, before: xr.Dataset, after: xr.Dataset, order: Sequence[str]
) -> HouseLog:
    """Return a learned log as the page shows it; `order` are the outcomes aimed at."""
    odd = tuple(
        (_headline(one, looks[one.cause.outcome]), _causes(one, looks[one.cause.outcome]))
        for one in log.odd
        if one.cause.outcome in looks
    )
    return HouseLog(
        tuple(house_panels(log, looks).values()),
        odd,
        tuple(_before_after(before, after, looks, order)),
        _narrowed(before, after, looks, order),
        plain=tuple(odd_cause_sentences(_plain(log, looks), looks)),
    )


def _plain(log: FromLog, looks: Looks) -> list[OddCause]:
    return [one for one in log.plain if all(name in looks for name in one.quantities)]


def house_panels(log: FromLog, looks: Looks) -> dict[str, HousePanel]:
    """Return the readings of each quantity beside the band of their house.

    A long log is in time; what is plainly odd comes first.
    """
    if log.batches > MOST_ROWS and log.charts:
        first = [name for one in log.plain for name in one.quantities]
        charts = {one.quantity: one for one in log.charts if one.quantity in looks}
        order = sorted(charts, key=lambda name: name not in first)
        return {name: run_panel(charts[name], looks[name]) for name in order}
    points: dict[str, list[HousePoint]] = {}
    for one in log.readings:
        name = one.cause.outcome
        if name in looks:
            points.setdefault(name, []).append(house_point(one, looks[name]))
    return {
        name: HousePanel(looks[name].title, looks[name].unit, tuple(found), outcome=name)
        for name, found in points.items()
    }


def house_point(one: ReadingInHouse, look: Quantity) -> HousePoint:
    """Return a reading beside its house, shown units."""
    seen, per = one.surprise, look.per_model
    return HousePoint(
        batch=seen.batch,
        value=seen.value * per,
        text=with_unit(look, reading(look, seen.value)),
        odd=one.odd,
        low=one.low * per,
        high=one.high * per,
        first_low=seen.low * per,
        first_high=seen.high * per,
    )


def _causes(one: ReadingInHouse, look: Quantity) -> tuple[str, ...]:
    return against_house(one.cause, look, one.in_house), *pair_sentences(one.cause)


def _headline(one: ReadingInHouse, look: Quantity) -> str:
    value = reading(look, one.surprise.value)
    ordinary = printed(look, one.ordinary * look.per_model)
    return (
        f"{one.surprise.batch}: {look.label} {with_unit(look, value)} where this house "
        f"makes {ordinary}: {deviating(one.chance)}."
    )


def _before_after(
    before: xr.Dataset, after: xr.Dataset, looks: Looks, order: Sequence[str]
) -> list[tuple[str, str, str]]:
    rows = []
    for name in _told_of(before, looks, order):
        look = looks[name]
        cells = []
        for summary in (before, after):
            row = summary.sel(outcome=name)
            landed = float(row["in_target"])
            told = f", {of_fifty(landed)} of {DOTS}" if math.isfinite(landed) else ""
            cells.append(f"{_interval(look, row)}{told}")
        rows.append((look.title, cells[0], cells[1]))
    joint = [summary.attrs.get("joint_in_target") for summary in (before, after)]
    if len(rows) > 1 and None not in joint:
        counts = [f"{of_fifty(float(j))} of {DOTS}" for j in joint if j is not None]
        rows.append(("All targets", counts[0], counts[1]))
    return rows


def _told_of(before: xr.Dataset, looks: Looks, order: Sequence[str]) -> list[str]:
    return [name for name in order if name in looks and name in before["outcome"].to_numpy()]


def _interval(look: Quantity, row: xr.Dataset) -> str:
    low, high = (printed(look, float(row[k]) * look.per_model) for k in ("low", "high"))
    return f"{low} to {with_unit(look, high)}"


def _narrowed(before: xr.Dataset, after: xr.Dataset, looks: Looks, order: Sequence[str]) -> str:
    """Tell the interval that the log narrows most, as it is and as it was."""
    widths = {}
    for name in _told_of(before, looks, order):
        old, new = (float((s["high"] - s["low"]).sel(outcome=name)) for s in (before, after))
        widths[name] = new / old if old > 0 else 1.0
    if not widths or min(widths.values()) > _NARROWED:
        return ""
    name = min(widths, key=widths.__getitem__)
    now, then = (_interval(looks[name], s.sel(outcome=name)) for s in (after, before))
    return f"{looks[name].title}: {now} instead of {then}."


def log_screen(
    log: FromLog,
    told: HouseLog,
    looks: Looks,
    forecast: FirstScreen,
    caution: Danger | None,
) -> FirstScreen:
    """Return the first screen of a page with a log: the odd reading, what to do, what is next."""
    odd = [one for one in log.odd if one.cause.outcome in looks]
    plain = _plain(log, looks)
    batches = f"After {counted(log.batches, 'batch')}"
    joint = next((row for row in told.before_after if row[0] == "All targets"), None)
    after = f"{batches}: {forecast.verdict[:1].lower()}{forecast.verdict[1:]}"
    if joint is not None:
        after = f"{batches} {joint[2]} meet all targets, {joint[1].split()[0]} before them."
    next_up = [after, *filter(None, (told.narrowed,))]
    if plain:
        return _plain_screen(plain, looks, (forecast, tuple(next_up), caution))
    if not odd:
        verdict = f"Every reading of {counted(log.batches, 'batch')} is as this house makes it."
        return FirstScreen(
            verdict, "", "", Pictures(), forecast.actions, (*next_up, *forecast.why), caution
        )
    first = odd[0]
    return FirstScreen(
        verdict=told.odd[0][0],
        figure=first.surprise.batch,
        beside=_others(told),
        pictures=Pictures(),
        actions=(
            Action(
                f"Read {first.surprise.batch} again",
                f"Either the reading is off, or: {_cause(first)}.",
            ),
            *(action for action in forecast.actions[:1] if action.settings),
        ),
        why=tuple(next_up),
        caution=caution,
    )


def _plain_screen(
    plain: Sequence[OddCause],
    looks: Looks,
    rest: tuple[FirstScreen, tuple[str, ...], Danger | None],
) -> FirstScreen:
    """Return a screen that begins with what is plainly odd."""
    forecast, why, caution = rest
    verdict = headline(plain[0], looks)
    others = " ".join(headline(one, looks) for one in plain[1:3])
    title, text = advised(plain[0], looks)
    return FirstScreen(
        verdict=verdict,
        figure=plain[0].batches[0] if plain[0].batches[0] in verdict else "",
        beside=f"Also: {others}" if others else "",
        pictures=Pictures(),
        actions=(
            Action(title, text),
            *(action for action in forecast.actions[:1] if action.settings),
        ),
        why=why,
        caution=caution,
    )


def _others(told: HouseLog) -> str:
    rest = [head.partition(":")[0] for head, _ in told.odd[1:]]
    if not rest:
        return ""
    names = ", ".join(dict.fromkeys(rest[:_MOST_ODD]))
    return f"Also odd: {names}; see “Your batches”."


def _cause(one: ReadingInHouse) -> str:
    own = [s for s in one.cause.shares if s.kind in ("lot", "batch")]
    largest = max(own, key=lambda s: abs(s.estimate), default=None)
    return lower(capital(largest.label)) if largest is not None else "something nobody wrote down"
