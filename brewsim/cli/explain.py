"""brewsim explain: why measured batches came out as they did."""

from pathlib import Path
from typing import Annotated, Any

import typer

from brewsim.cli import console as say
from brewsim.cli.loading import NOT_SETTLED
from brewsim.cli.made_by import doubt, drew, settled
from brewsim.cli.options import (
    AsJson,
    Outliers,
    PriorsFile,
    Quiet,
    RecipeFile,
    Seed,
    Time,
    readable_or_dash,
)

BatchFile = Annotated[
    Path,
    typer.Argument(
        help="Log of brewed batches, TOML or CSV; - reads TOML from standard input.",
        callback=readable_or_dash,
    ),
]


def explain(
    recipe: RecipeFile,
    batches: BatchFile,
    outliers: Outliers = False,
    seed: Seed = 1,
    time: Time = None,
    priors: PriorsFile = None,
    json: AsJson = False,
    quiet: Quiet = False,
) -> None:
    """Say what was expected and measured, batch by batch, and which causes explain it.

    Example: brewsim explain demo-recipes/quillhaven-lager.toml
    demo-recipes/quillhaven-lager-six-batches.toml
    """
    import brewsim
    from brewsim.answers.explanation import explained
    from brewsim.answers.odd_causes import odd_causes
    from brewsim.answers.second_batches import second_batches
    from brewsim.logbook.brew import read_batches
    from brewsim.logbook.learning import learned_from
    from brewsim.priors.library import load_priors
    from brewsim.wording.second_batch import second_batch_sentences

    shelf = load_priors(priors)
    problem = brewsim.pose(brewsim.read_recipe(recipe), priors=shelf)
    log = read_batches(batches, recipe, shelf)
    plain = odd_causes(problem, log, seed=seed)
    with say.progress("learning from the batches", quiet=quiet or json) as progress:
        learned = learned_from(
            problem,
            log.batches,
            seed=seed,
            time_limit_s=time,
            outliers=outliers,
            progress=progress,
        )
        explanation = explained(learned, log, shelf, seed=seed)
        tasted = second_batches(learned, log.batches, seed=seed)
    drew(learned.replicate.size)
    doubt(*explanation.remarks)
    settled(learned.trusted, NOT_SETTLED)
    if json:
        more = {"tasted": [_tasted(one) for one in tasted], "plain_causes": plain_content(plain)}
        more["over_time"] = over_time_content(learned)
        say.as_json(_content(explanation) | more)
        return
    say_plain(problem, plain, outliers=outliers)
    for one in tasted:
        say.lines(*second_batch_sentences(one))
        typer.echo("")
    _print(explanation, plain)


def say_plain(problem: Any, plain: Any, *, outliers: bool) -> None:  # noqa: ANN401 - OddCauses
    """Say what is plainly odd in a log, before any cause that was learned."""
    from brewsim.beer.display_units import rows_of
    from brewsim.wording.odd_causes import odd_cause_sentences

    if not plain:
        return
    looks = rows_of(problem, dict.fromkeys(name for one in plain for name in one.quantities))
    say.lines(*odd_cause_sentences(plain, looks))
    if any(one.kind == "slip" for one in plain) and not outliers:
        say.lines("Mend what was written, or add --outliers: then it moves little.")
    say.lines("")


def plain_content(plain: Any) -> list[dict[str, Any]]:  # noqa: ANN401 - OddCauses
    """Return plain causes as JSON has them."""
    from dataclasses import asdict

    return [asdict(one) for one in plain]


def say_over_time(learned: Any) -> None:  # noqa: ANN401 - a Learned
    """Say what changed over a long log, and what the next batch in each place will read."""
    from brewsim.answers.over_time import over_time
    from brewsim.quantities.catalogue import outcome_of
    from brewsim.wording.over_time import over_time_sentences

    for one in over_time(learned):
        say.lines(*over_time_sentences(one, outcome_of(one.quantity, learned.problem.units)), "")


def over_time_content(learned: Any) -> list[dict[str, Any]]:  # noqa: ANN401 - a Learned
    """Return what changed over a long log as JSON has it."""
    from dataclasses import asdict

    from brewsim.answers.over_time import over_time

    return [asdict(one) for one in over_time(learned)]


def _tasted(one: Any) -> dict[str, Any]:  # noqa: ANN401 - a SecondBatch
    from dataclasses import asdict

    parts = ("change", "settings", "brew", "ordinary")
    folds = {part: asdict(getattr(one, part)) for part in parts}
    return {"batch": one.second, "against": one.first, "chance": one.chance} | folds


def _print(explanation: Any, plain: Any) -> None:  # noqa: ANN401 - an Explanation, OddCauses
    from brewsim.quantities.catalogue import outcome_of
    from brewsim.quantities.format import step
    from brewsim.wording import explanation as e

    units = explanation.learned.problem.units
    slips = {
        (b, q) for one in plain if one.kind == "slip" for b in one.batches for q in one.quantities
    }
    for one in explanation.readings:
        slipped = (one.house.batch, one.house.outcome) in slips
        sentences = e.sentences(one, units)
        say.lines(*(sentences[:1] if slipped else sentences))
        if slipped:
            say.lines("A slip is likelier than any cause: see above.")
        if one.odd:
            typer.echo("")
    say.lines(*e.count_sentences(explanation))
    for quantity in dict.fromkeys(one.house.outcome for one in explanation.readings):
        row = outcome_of(quantity, units)
        rows = [
            (
                one.house.batch,
                *[step(row, part) for part in one.by_kind().values()],
                step(row, one.recipe.deviation),
            )
            for one in explanation.readings
            if one.house.outcome == quantity
        ]
        title = f"{row.label}: measured less promised, and where it comes from"
        say.table(title, ("batch", *e.KIND_TITLES.values(), "in all"), rows)
        typer.echo("")
    for spread in explanation.spreads:
        say.lines(e.spread_sentence(spread, units))
    if explanation.spreads:
        typer.echo("")
    say_over_time(explanation.learned)
    say.lines("What one further reading per batch would leave of the next forecast's spread:")
    say.lines(*e.teaching_sentences(explanation), *explanation.remarks)


def _content(explanation: Any) -> dict[str, Any]:  # noqa: ANN401 - an Explanation
    from brewsim.wording import explanation as e

    learned = explanation.learned
    return {
        "precision": learned.precision,
        "trusted": learned.trusted,
        "remarks": list(explanation.remarks),
        "readings": [_reading(one) for one in explanation.readings],
        "scatter": [
            {
                "quantity": s.quantity,
                "batches": s.count,
                "observed": s.observed,
                "expected": s.expected,
                "brew": s.brew,
                "reading": s.reading,
                "not_known": s.known,
                "chance": s.chance,
            }
            for s in explanation.spreads
        ],
        "next_reading": [
            {"outcome": outcome, "reading": g.candidate.quantity, "spread_left": g.left}
            for outcome, g in explanation.teaching
        ],
        "sentences": [
            *[t for one in explanation.readings for t in e.sentences(one, learned.problem.units)],
            *e.count_sentences(explanation),
        ],
    }


def _reading(one: Any) -> dict[str, Any]:  # noqa: ANN401 - an Explained
    seen = one.seen.surprise
    return {
        "batch": seen.batch,
        "quantity": one.house.outcome,
        "measured": seen.value,
        "expected": {"low": seen.low, "middle": seen.expected, "high": seen.high},
        "chance": seen.chance,
        "chance_in_house": one.seen.in_house,
        "ordinary": one.house.reference,
        "promised": one.recipe.reference,
        "by_kind": one.by_kind(),
        "returns": one.returns(),
        "causes": [
            {
                "cause": s.label,
                "id": s.factor,
                "kind": s.kind,
                "share": s.estimate,
                "low": s.low,
                "high": s.high,
                "largest": s.largest,
            }
            for s in one.house.shares
        ],
        "not_told_apart": [
            {
                "causes": [first, second],
                "reading": None if gain is None else gain.candidate.quantity,
            }
            for first, second, gain in one.apart
        ],
    }
