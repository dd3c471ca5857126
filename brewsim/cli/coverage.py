"""brewsim coverage: how often published brews lie inside the promised intervals."""

from typing import Annotated

import typer

from brewsim.cli import console as say
from brewsim.cli.made_by import drew
from brewsim.cli.options import AsJson, PriorsFile, Quiet, Seed


def coverage(
    draws: Annotated[
        int, typer.Option(min=256, max=2**16, help="Simulated batches behind each brew.")
    ] = 4096,
    seed: Seed = 1,
    priors: PriorsFile = None,
    json: AsJson = False,
    quiet: Quiet = False,
) -> None:
    """Say how well brewsim does on published beers that it did not see.

    Example: brewsim coverage
    """
    from dataclasses import asdict

    from brewsim.answers.coverage import coverage_table, judge, kept_coverage
    from brewsim.priors.library import load_priors
    from brewsim.wording import coverage as words

    with say.progress("brewing published recipes", quiet=quiet or json) as progress:
        series, judged = judge(load_priors(priors), draws, seed, progress)
    table, kept = coverage_table(judged), kept_coverage()
    drew(draws)
    if json:
        sources = [{"name": one.name, "source": one.source, "note": one.note} for one in series]
        tables = {"coverage": [asdict(r) for r in table], "first": [asdict(r) for r in kept.first]}
        say.as_json({**tables, "sources": sources, "draws": draws, "seed": seed})
        return
    say.lines(words.verdict(table), words.RULE, words.READ)
    say.table("Now", words.HEADER, words.coverage_rows(table))
    say.table(words.FIRST, words.HEADER, words.coverage_rows(kept.first))
    say.lines(*words.COLUMNS, words.far_sentence(judged))
    say.lines(words.kettle_sentence(kept), words.one_kettle_sentence(kept))
    say.lines("Sources:", *words.source_lines(series))
