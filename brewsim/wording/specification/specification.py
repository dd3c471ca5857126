"""Limits a process can keep, label tolerances and what to tighten, as sentences and tables."""

from collections.abc import Mapping, Sequence

import xarray as xr

from brewsim.answers.specification import SpecStudies
from brewsim.quantities.catalogue import Quantity
from brewsim.quantities.english import listed
from brewsim.quantities.format import number, span, with_unit
from brewsim.study.model.problem import Problem
from brewsim.study.tolerance.tightening import Tightening
from brewsim.wording.content import Outcome, Panel
from brewsim.wording.outcomes import Looks
from brewsim.wording.parts import Table
from brewsim.wording.specification.label_rules import rule_sentences, rule_table, source_table
from brewsim.wording.specification.log import log_sentences, log_table, spread_table
from brewsim.wording.specification.targets import (
    capability_sentences,
    capability_table,
    reading_sentences,
    reading_table,
    target_sentences,
    verdict_sentences,
)
from brewsim.wording.specification.worth import (
    budget_table,
    tighten_sentences,
    tighten_table,
    tighten_tables,
    worth_sentences,
    worth_table,
)

_EU, _EU_STRONG, _US = 0.5, 1.0, 0.3
_PROMISES = 4


def spec_panel(
    problem: Problem,
    specified: xr.Dataset,
    looks: Looks,
    outcomes: Sequence[Outcome] = (),
    tightened: Mapping[str, Sequence[Tightening]] | None = None,
    studies: SpecStudies | None = None,
) -> Panel:
    """Return the limits each outcome can keep, label tolerances, and what to tighten.

    With `studies` also capability, readings, a log of batches, rules by place and what to measure;
    without them, labels are counted in the 50 dots of `outcomes`.
    """
    next_brew, own = limits_tables(specified, looks)
    given = [
        tighten_table(problem, name, list(found), looks)
        for name, found in (tightened or {}).items()
        if found
    ]
    if studies is None:
        told = [*_limit_sentences(specified, looks, studies), *label_sentences(outcomes)]
        return Panel(tuple(told), (next_brew, own, *given))
    (_, first), *groups = spec_sentences(specified, looks, studies)
    sentences = (*first, *(" ".join(group) for _, group in groups))
    heads = (*("" for _ in first), *(heading for heading, _ in groups))
    more = (next_brew, *_kept(_detail_tables(studies, looks)))
    tables = (own, *_kept(_studied_tables(problem, studies, looks)), *given)
    return Panel(sentences, tables, heads, more)


def spec_sentences(
    specified: xr.Dataset, looks: Looks, studies: SpecStudies
) -> list[tuple[str, list[str]]]:
    """Return what there is to say, under short headings, without empty ones."""
    groups = [
        ("What the brewery can hold", _limit_sentences(specified, looks, studies)),
        ("Does it land", target_sentences(studies, looks)),
        ("What was measured", verdict_sentences(studies, looks)),
        ("What the log says", log_sentences(studies, looks)),
        ("What to tighten", tighten_sentences(studies, looks)),
        ("What to measure", worth_sentences(studies, looks)),
        ("On the label", rule_sentences(studies.places, studies.label)),
        (
            "How to read the tables",
            [*capability_sentences(studies), *reading_sentences(studies)],
        ),
    ]
    return [(heading, told) for heading, told in groups if told]


def _asked_for(studies: SpecStudies) -> list[str]:
    return list(studies.tightened) or list(studies.targets)[:1]


def _studied_tables(problem: Problem, studies: SpecStudies, looks: Looks) -> list[Table | None]:
    """Return the tables that say what can be held and what to do about it."""
    return [
        capability_table(studies, looks),
        log_table(studies, looks),
        spread_table(studies, looks),
        *tighten_tables(problem, studies, looks),
        *(worth_table(studies, looks, name) for name in _asked_for(studies)),
        rule_table(studies.places),
    ]


def _detail_tables(studies: SpecStudies, looks: Looks) -> list[Table | None]:
    """Return the tables behind those: shares, readings, the rules as they were read."""
    return [
        *(budget_table(studies, looks, name) for name in _asked_for(studies)),
        reading_table(studies, looks),
        source_table(studies.places),
    ]


def _kept(tables: Sequence[Table | None]) -> list[Table]:
    return [table for table in tables if table is not None]


def _limit_sentences(specified: xr.Dataset, looks: Looks, studies: SpecStudies | None) -> list[str]:
    content = number(100 * float(specified.attrs["content"]), 1)
    content = content.removesuffix(".0")
    sure = number(100 * float(specified.attrs["confidence"]), 0)
    names = [n for n in specified["outcome"].to_numpy().tolist() if n in looks]
    aimed = [n for n in names if studies is not None and n in studies.targets][:_PROMISES]
    return [
        *(_promise(specified.sel(outcome=n), looks[n], content, sure) for n in aimed),
        (
            f"The tables of limits hold {content} % of batches: of the very next brew with all "
            "that is not known, and of brews in one brewery for which all that is at its median. "
            f"What to promise are limits that hold {content} % of your own brews, "
            f"{sure} % sure, whatever turns out to be true of your brewery."
        ),
    ]


def _promise(row: xr.Dataset, look: Quantity, content: str, sure: str) -> str:
    first, last = str(row["scope"].to_numpy()[0]), str(row["scope"].to_numpy()[-1])
    one = row.sel(scope=first)
    next_brew = with_unit(look, span(look, one["low"].item(), one["high"].item()))
    same = row.sel(scope=last)
    own = span(look, same["low"].item(), same["high"].item())
    promise = with_unit(look, span(look, row["long_run_low"].item(), row["long_run_high"].item()))
    return (
        f"{look.title}: {content} % of next brews lie in {next_brew}; repeat brews of a "
        f"brewery at the median, with the same lots, in {own}. Promise {promise} ({sure} % sure)."
    )


def limits_tables(specified: xr.Dataset, looks: Looks) -> tuple[Table, Table]:
    """Return the limits of the next brew, both kinds, with errors; and those of one brewery."""
    content = number(100 * float(specified.attrs["content"]), 1).removesuffix(".0")
    scopes = specified["scope"].to_numpy().tolist()
    names = [n for n in specified["outcome"].to_numpy().tolist() if n in looks]
    rows = [(specified.sel(outcome=name), looks[name]) for name in names]
    first = tuple(_next_row(row.sel(scope=scopes[0]), look) for row, look in rows)
    second = tuple(_own_row(row, look, scopes[1:]) for row, look in rows)
    return (
        Table(
            f"Limits that hold {content} % of next brews",
            ("outcome", "equal tails", "shortest", "ends known to"),
            first,
        ),
        Table(
            f"Limits that hold {content} % of brews of one brewery",
            ("outcome", *scopes[1:], "promise in the long run"),
            second,
        ),
    )


def _next_row(row: xr.Dataset, look: Quantity) -> tuple[str, ...]:
    error = max(row["low_error"].item(), row["high_error"].item())
    return (
        look.title,
        with_unit(look, span(look, row["low"].item(), row["high"].item())),
        span(look, row["shortest_low"].item(), row["shortest_high"].item()),
        f"a factor {number(2.0**error, 2)}"
        if look.fold
        else f"± {number(error * look.per_model, figures=1)}",
    )


def _own_row(row: xr.Dataset, look: Quantity, scopes: Sequence[str]) -> tuple[str, ...]:
    cells = [
        span(look, row["low"].sel(scope=s).item(), row["high"].sel(scope=s).item()) for s in scopes
    ]
    promise = span(look, row["long_run_low"].item(), row["long_run_high"].item())
    return (look.title, *cells, with_unit(look, promise))


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
        f"by more than {number(tolerance, 1)} points ({rule}) in "
        f"{sum(abs(dot - label) > tolerance for dot in strong[0].dots) or 'none'} of the 50 dots"
        for tolerance, rule in ((eu, "EU"), (_US, "US"))
    ]
    printed = f"A label of {number(label, 1)} % ABV, printed before the beer is measured,"
    return [f"{printed} would be off {listed(off)}."]
