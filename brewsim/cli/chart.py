"""brewsim chart: the readings of a log in time, and what breaks which rule."""

from enum import StrEnum
from pathlib import Path
from typing import Annotated, Any

import typer

from brewsim.cli import console as say
from brewsim.cli.explain import BatchFile, plain_content
from brewsim.cli.loading import NOT_SETTLED, load, read_files
from brewsim.cli.made_by import drew, settled
from brewsim.cli.options import AsJson, PriorsFile, Quiet, RecipeFile, Seed


class Rules(StrEnum):
    """Which published rules a chart is held against."""

    LIMITS = "limits"
    WESTERN_ELECTRIC = "western-electric"
    NELSON = "nelson"


def chart(
    recipe: RecipeFile,
    batches: BatchFile,
    rules: Annotated[
        Rules,
        typer.Option(help="Control limits alone, Western Electric's four tests or Nelson's eight."),
    ] = Rules.WESTERN_ELECTRIC,
    by: Annotated[
        str,
        typer.Option(help="Subgroups for Cpk: day, tank, brewer or another tag; else successive."),
    ] = "",
    band: Annotated[
        bool, typer.Option("--band/--no-band", help="Learn from the log and draw its house's band.")
    ] = True,
    out: Annotated[
        Path | None,
        typer.Option(help="Draw the charts: .svg or .html; .csv writes the tables, - prints them."),
    ] = None,
    seed: Seed = 1,
    priors: PriorsFile = None,
    json: AsJson = False,
    quiet: Quiet = False,
) -> None:
    """Chart every reading of a log by date: control limits, rules, level, capability.

    Example: brewsim chart demo-recipes/quillhaven-lager.toml
    demo-recipes/quillhaven-lager-six-batches.toml --no-band
    """
    from brewsim.answers.log_in_time import with_bands
    from brewsim.answers.odd_causes import odd_causes
    from brewsim.answers.run_charts import run_charts
    from brewsim.beer.display_units import rows_of
    from brewsim.logbook.brew import read_batches
    from brewsim.study.tolerance.run_rules import RULES
    from brewsim.wording import run_charts as words
    from brewsim.wording.odd_causes import odd_cause_sentences

    _refuse_out(out, read_files(recipe, priors, None, batches), json=json)
    loaded = load(recipe, priors)
    log = read_batches(batches, recipe, loaded.priors)
    _refuse_by(by, log)
    problem, learned = loaded.problem, None
    if band:
        problem, learned = _learned(loaded, log, seed, silent=quiet or json)
    named = RULES[rules.value.replace("-", " ")]  # type: ignore[index]
    charts = run_charts(problem, log, rules=named, by=by, seed=seed)
    if learned is not None:
        charts = with_bands(charts, learned)
    plain = odd_causes(problem, log, charts, seed=seed)
    if json:
        content = {"charts": [_content(one) for one in charts]}
        say.as_json(content | {"plain_causes": plain_content(plain)})
        return
    looks = rows_of(problem, [one.quantity for one in charts])
    sentences = [
        *odd_cause_sentences(plain, looks),
        *words.chart_sentences(charts, looks),
        *words.capability_notes(charts, learned=learned is not None),
    ]
    found = (words.limits_table(charts, looks), words.charted_capability(charts, looks))
    tables = [one for one in found if one is not None]
    if out is not None and out.suffix.lower() in (".svg", ".html"):
        _draw(out, f"{loaded.recipe.name}: run charts", [charts, looks, sentences, tables])
    if str(out) == "-":
        typer.echo(_as_csv(tables), nl=False)
        return
    say.lines(f"{loaded.recipe.name}: {len(log.entries)} batches")
    for one in tables:
        say.lines("")
        say.table(one.caption, one.header, one.rows)
    say.lines("", *sentences)
    if band and learned is None:
        say.lines("No band of this house: what was learned from this log is not settled.")
    if out is not None:
        if out.suffix.lower() == ".csv":
            from brewsim.files.text_files import write_whole

            write_whole(out, _as_csv(tables).encode())
        say.lines(f"{out} written.")


def _refuse_out(out: Path | None, inputs: list[Path], *, json: bool) -> None:
    from brewsim.errors import InputError
    from brewsim.files.text_files import refuse_to_replace

    if out is None:
        return
    if json:
        raise InputError("--out", ["it takes charts and tables; with --json there are none"])
    if str(out) == "-":
        return
    if out.suffix.lower() not in (".svg", ".html", ".csv"):
        raise InputError("--out", [f"{out}: write a name that ends in .svg, .html or .csv"])
    refuse_to_replace(out, "--out", inputs, texts=out.suffix.lower() == ".csv")


def _refuse_by(by: str, log: Any) -> None:  # noqa: ANN401 - Batches
    from brewsim.errors import InputError, did_you_mean

    known = ["day", *dict.fromkeys(name for entry in log.entries for name in entry.tags)]
    if by and by not in known:
        near = did_you_mean(by, known) or f" There is: {', '.join(known)}."
        raise InputError("--by", [f"no batch of the log has a {by!r}.{near}"])


def _learned(loaded: Any, log: Any, seed: int, *, silent: bool) -> tuple[Any, Any]:  # noqa: ANN401
    """Return the problem after the log and what was learned; as it was where that is unsettled."""
    from brewsim.answers.from_log import after_log, from_log
    from brewsim.logbook.learning import learned_from

    problem = loaded.problem
    with say.progress("learning from the batches", quiet=silent) as progress:
        learned = learned_from(problem, log.batches, seed=seed, progress=progress)
        drew(learned.replicate.size)
        settled(learned.trusted, NOT_SETTLED)
        if not learned.trusted:
            return problem, None
        found = from_log(learned, seed=seed)
    return after_log(problem, found), found


def _draw(out: Path, title: str, parts: list[Any]) -> None:
    from brewsim.files.text_files import write_whole
    from brewsim.page.run_sheet import sheet_html, sheet_svg
    from brewsim.wording.run_charts import run_panel

    charts, looks, sentences, tables = parts
    panels = [run_panel(one, looks[one.quantity]) for one in charts]
    if out.suffix.lower() == ".svg":
        text = sheet_svg(title, panels)
    else:
        text = sheet_html(title, panels, sentences, tables)
    write_whole(out, text.encode())


def _as_csv(tables: list[Any]) -> str:
    from brewsim.cli.table_file import csv_text

    return csv_text([(one.caption, one.header, one.rows) for one in tables])


def _content(one: Any) -> dict[str, Any]:  # noqa: ANN401 - a RunChart
    from dataclasses import asdict

    low, middle, high = one.limits
    drawn = one.chart
    return {
        "quantity": one.quantity,
        "batches": list(one.batches),
        "dates": list(one.dates),
        "measured": one.measured,
        "as_the_recipe": one.values,
        "lower_limit": low,
        "centre": middle,
        "upper_limit": high,
        "sigma": None if drawn is None else drawn.sigma,
        "scale": one.scale,
        "level": None if drawn is None else [one.back(v) for v in drawn.level],
        "band": one.band,
        "signals": [
            {
                "rule": s.rule.name,
                "what": s.rule.words,
                "first": one.batches[s.first],
                "last": one.batches[s.last],
                "side": s.side,
            }
            for s in one.signals
        ],
        "capability": None if one.capability is None else asdict(one.capability),
        "model_capability": None if one.model is None else asdict(one.model),
    }
