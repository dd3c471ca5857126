"""brewsim learn: keep what brewed batches teach, for the next prediction."""

from pathlib import Path
from typing import Annotated, Any

import typer

from brewsim.cli import console as say
from brewsim.cli.explain import (
    BatchFile,
    over_time_content,
    plain_content,
    say_over_time,
    say_plain,
)
from brewsim.cli.loading import NOT_SETTLED
from brewsim.cli.made_by import doubt, drew, settled
from brewsim.cli.options import AsJson, Outliers, PriorsFile, Quiet, RecipeFile, Seed, Time
from brewsim.files.text_files import refuse_to_replace

_SHOWN = 12
_WAITS = "another brewsim is writing to it; waiting"


def learn(
    recipe: RecipeFile,
    batches: BatchFile,
    house: Annotated[
        Path, typer.Option("--house", help="The house file: made if missing, else added to.")
    ],
    outliers: Outliers = False,
    seed: Seed = 1,
    time: Time = None,
    priors: PriorsFile = None,
    json: AsJson = False,
    quiet: Quiet = False,
) -> None:
    """Add batches to a house file and say what the brewery now knows.

    Example: brewsim learn demo-recipes/quillhaven-lager.toml
    demo-recipes/quillhaven-lager-six-batches.toml --house HOUSE.toml
    """
    import brewsim
    from brewsim.answers.learned_inputs import known_now
    from brewsim.answers.odd_causes import odd_causes
    from brewsim.logbook.brew import read_batches
    from brewsim.logbook.house import learn as add
    from brewsim.logbook.house import with_house
    from brewsim.logbook.log import read_log_file
    from brewsim.priors.library import load_priors
    from brewsim.quantities.format import number

    refuse_to_replace(house, "--house", [recipe, batches, priors], texts=True)
    shelf = load_priors(priors)
    problem = brewsim.pose(brewsim.read_recipe(recipe), priors=shelf)
    log = read_log_file(batches, recipe)
    with say.progress("learning from the batches", quiet=quiet or json) as progress:
        kept, learned = add(
            house,
            log,
            shelf,
            seed=seed,
            outliers=outliers,
            time_limit_s=time,
            progress=progress,
            waiting=lambda: say.aside(str(house), [_WAITS]),
        )
    plain = odd_causes(problem, read_batches(house, priors=shelf), seed=seed)
    after = with_house(problem, kept)
    summaries = [brewsim.summarise(brewsim.simulate(p, seed=seed)) for p in (problem, after)]
    known = known_now(after)
    remarks = [*kept.remarks, *getattr(after.learned, "remarks", ())]
    drew(kept.replicate.size)
    doubt(*remarks)
    settled(learned.trusted, NOT_SETTLED)
    if json:
        content = _content(kept, known, summaries, remarks)
        more = {"plain_causes": plain_content(plain), "over_time": over_time_content(learned)}
        say.as_json(content | more)
        return
    say_plain(problem, plain, outliers=outliers)
    _print(house, problem, kept, known, summaries)
    say_over_time(learned)
    if not quiet:
        say.lines(*remarks)
    say.lines(
        f"Sampling error of the means: {number(learned.precision, 2)} standard deviations."
        f"{'' if learned.trusted else ' Nothing learned was kept; give it more time with --time.'}"
    )


def _print(
    house: Path,
    problem: Any,  # noqa: ANN401 - a Problem
    kept: Any,  # noqa: ANN401 - a House
    known: list[Any],
    summaries: list[Any],
) -> None:
    from brewsim.quantities.english import counted
    from brewsim.wording.before_after import before_after_rows

    held = counted(kept.held, "batch")
    from_last = "" if kept.held == kept.batches else f", learned from the latest {kept.batches}"
    say.lines(f"{house} now holds {held}{from_last}. What is now known of the next one:")
    say.lines(*known_lines(kept, known))
    rows = before_after_rows(problem, *summaries)
    say.table("", ("the next batch, nine chances in ten", "before", "now", "spread left"), rows)


def known_lines(kept: Any, known: list[Any]) -> list[str]:  # noqa: ANN401 - a House
    """Return what a house knows of inputs and of instruments, the most telling first."""
    from brewsim.answers.learned_inputs import biases, known_sentence, scatter_sentence
    from brewsim.quantities.format import number
    from brewsim.quantities.statement import Z90

    told = [f"- {known_sentence(one, kept.batches)}." for one in known[:_SHOWN]]
    if len(known) > _SHOWN:
        told.append(f"- and {len(known) - _SHOWN} more, of which less was learned.")
    scatter = scatter_sentence(kept)
    told += [f"- {scatter}."] if scatter else []
    for name, middle, spread in biases(kept):
        side = "high" if middle > 0 else "low"
        told.append(
            f"- {name} reads {side}: {number(abs(middle), 1)} ± {number(Z90 * spread, 1)} of the "
            "usual error of its kind (one standard deviation)."
        )
    return told


def _content(
    kept: Any,  # noqa: ANN401 - a House
    known: list[Any],
    summaries: list[Any],
    remarks: list[str],
) -> dict[str, Any]:
    from brewsim.answers.learned_inputs import biases

    def ends(summary: Any, name: str) -> dict[str, float]:  # noqa: ANN401 - an xarray Dataset
        row = summary.sel(outcome=name)
        return {key: float(row[key]) for key in ("low", "median", "high")}

    names = summaries[0]["outcome"].to_numpy().tolist()
    return {
        "house": kept.path,
        "batches": kept.batches,
        "precision": kept.precision,
        "trusted": kept.trusted,
        "remarks": remarks,
        "known": [
            {"id": k.id, "label": k.label, "before": k.before, "after": k.after, "left": k.left}
            for k in known
        ],
        "instruments": [
            {"instrument": name, "middle": middle, "spread": spread}
            for name, middle, spread in biases(kept)
        ],
        "next_batch": {
            name: {"before": ends(summaries[0], name), "after": ends(summaries[1], name)}
            for name in names
        },
    }
