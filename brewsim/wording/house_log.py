"""A batch log on the page: each reading beside its house, the odd ones first."""

from collections.abc import Sequence
from dataclasses import replace

import xarray as xr

from brewsim.answers.from_log import FromLog, ReadingInHouse
from brewsim.quantities.catalogue import Quantity
from brewsim.quantities.chances import DOTS, deviating
from brewsim.quantities.english import capital, counted, lower
from brewsim.quantities.format import printed, reading, with_unit
from brewsim.wording.explanation import against_house, pair_sentences
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
from brewsim.wording.sentences import of_fifty

_MOST_ODD = 3


def house_log(
    log: FromLog, looks: Looks, before: xr.Dataset, after: xr.Dataset, order: Sequence[str]
) -> HouseLog:
    """Return a learned log as the page shows it; `order` are the outcomes aimed at."""
    panels: dict[str, list[HousePoint]] = {}
    for one in log.readings:
        if one.cause.outcome in looks:
            look = looks[one.cause.outcome]
            panels.setdefault(one.cause.outcome, []).append(house_point(one, look))
    odd = tuple(
        (_headline(one, looks[one.cause.outcome]), _causes(one, looks[one.cause.outcome]))
        for one in log.odd
        if one.cause.outcome in looks
    )
    return HouseLog(
        tuple(HousePanel(looks[n].title, looks[n].unit, tuple(p)) for n, p in panels.items()),
        odd,
        tuple(_before_after(before, after, looks, order)),
    )


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
    for name in order:
        if name not in looks or name not in before["outcome"].to_numpy():
            continue
        look = looks[name]
        cells = []
        for summary in (before, after):
            row = summary.sel(outcome=name)
            low, high = (printed(look, float(row[k]) * look.per_model) for k in ("low", "high"))
            landed = float(row["in_target"])
            told = f", {of_fifty(landed)} of {DOTS}" if landed == landed else ""  # noqa: PLR0124
            cells.append(f"{low} to {with_unit(look, high)}{told}")
        rows.append((look.title, cells[0], cells[1]))
    joint = [summary.attrs.get("joint_in_target") for summary in (before, after)]
    if len(rows) > 1 and None not in joint:
        counts = [f"{of_fifty(float(j))} of {DOTS}" for j in joint if j is not None]
        rows.append(("All targets", counts[0], counts[1]))
    return rows


def log_screen(
    log: FromLog,
    told: HouseLog,
    looks: Looks,
    forecast: FirstScreen,
    caution: Danger | None,
) -> FirstScreen:
    """Return the first screen of a page with a log: the odd reading, what to do, what is next."""
    odd = [one for one in log.odd if one.cause.outcome in looks]
    batches = f"After {counted(log.batches, 'batch')}"
    joint = next((row for row in told.before_after if row[0] == "All targets"), None)
    after = f"{batches}: {forecast.verdict[:1].lower()}{forecast.verdict[1:]}"
    if joint is not None:
        after = f"{batches} {joint[2]} meet all targets, {joint[1].split()[0]} before them."
    narrowed = next((row for row in told.before_after if row[1] != row[2]), None)
    next_up = [after]
    if narrowed is not None:
        label, old, new = narrowed
        next_up.append(f"{label}: {_interval(new)} instead of {_interval(old)}.")
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
            *(replace(action, text="") for action in forecast.actions[:1] if action.settings),
        ),
        why=tuple(next_up),
        caution=caution,
    )


def _interval(cell: str) -> str:
    return cell.partition(",")[0]


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
