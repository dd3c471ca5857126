"""brewsim house: what a house file holds, whether it is sound, and an earlier state of it."""

from pathlib import Path
from typing import Annotated, Any

import typer

from brewsim.cli import console as say
from brewsim.cli.loading import NOT_SETTLED
from brewsim.cli.made_by import doubt, drew, settled
from brewsim.cli.options import AsJson, PriorsFile
from brewsim.errors import InputError

TheHouse = Annotated[Path, typer.Argument(help="The house file that `brewsim learn` writes.")]
Check = Annotated[bool, typer.Option("--check", help="Only say whether the file is sound.")]
Restore = Annotated[
    bool, typer.Option("--restore", help="Put an earlier state of the journal in its place.")
]
Number = Annotated[
    int | None,
    typer.Option("--state", help="With --restore: its number, as --check lists it.", min=1),
]
_DRAWS = {
    "fit": "The draws beside it are of these batches.",
    "do not fit": "The draws beside it are of other batches or priors, or damaged; the next use"
    " makes them anew.",
    "are missing": "There are no draws beside it yet; the next use makes them.",
}


def house(
    house: TheHouse,
    check: Check = False,
    restore: Restore = False,
    state: Number = None,
    priors: PriorsFile = None,
    json: AsJson = False,
) -> None:
    """Say what this brewery is, against the usual one; check its file, or restore an earlier state.

    Example: brewsim house HOUSE.toml --check
    """
    from brewsim.logbook.house_check import checked_house
    from brewsim.logbook.house_store import restore as put_back
    from brewsim.priors.library import load_priors

    if state is not None and not restore:
        raise InputError("--state", ["goes with --restore"])
    if restore:
        put = put_back(house, state)
        say.lines(
            f"{house} is now as it was in state {put.number}, kept on {_day(put)}. What was there"
            " before is in the journal too."
        )
        return
    shelf = load_priors(priors)
    found = checked_house(house, shelf)
    known = None if check else _known(house, found, shelf)
    doubt(*found.log.remarks)
    if known is not None:
        drew(known[0].replicate.size)
        doubt(*known[0].remarks)
        settled(known[0].trusted, NOT_SETTLED)
    if json:
        say.as_json(_content(house, found, known))
        return
    _print(house, found)
    if known is not None:
        _print_beers(found.log, known[0])
        _print_known(*known)


def _known(house: Path, found: Any, shelf: Any) -> tuple[Any, list[Any]]:  # noqa: ANN401 - a HouseCheck
    """Return what was learned, and what of it the latest batch's recipe shows."""
    from brewsim.answers.learned_inputs import known_now
    from brewsim.logbook.house import load_house, with_house

    kept = load_house(house, shelf)
    return kept, known_now(with_house(found.log.batches[-1].problem, kept))


def _print(house: Path, found: Any) -> None:  # noqa: ANN401 - a HouseCheck
    from brewsim.logbook.journal import journal_path
    from brewsim.quantities.english import counted

    first, last = found.span
    batches = counted(len(found.log.entries), "batch")
    say.lines(
        f"{house} is sound: {batches} from {first} to {last}, {found.readings} readings,"
        f" {counted(len(found.log.recipes), 'recipe')}."
    )
    for name, counts in found.tags.items():
        told = ", ".join(f"{value} ({count})" for value, count in counts.items())
        say.lines(f"Batches by {name}: {told}.")
    say.lines(*(f"{remark[0].upper()}{remark[1:]}." for remark in found.log.remarks))
    say.lines(_DRAWS[found.draws])
    if found.states:
        rows = [(str(s.number), _day(s), f"{s.file.stat().st_size} bytes") for s in found.states]
        say.table(f"States kept in {journal_path(house)}", ("state", "kept on", "size"), rows)


def _print_beers(log: Any, kept: Any) -> None:  # noqa: ANN401 - Batches, a House
    """Say what is plainly odd in the log, and what the latest recipe becomes in this brewery."""
    import brewsim
    from brewsim.answers.odd_causes import odd_causes
    from brewsim.cli.explain import say_plain
    from brewsim.logbook.house import with_house
    from brewsim.wording.before_after import narrowed_rows

    problem = log.batches[-1].problem
    say.lines("")
    say_plain(problem, odd_causes(problem, log), outliers=kept.outliers)
    made = (problem, with_house(problem, kept))
    rows = narrowed_rows(problem, *(brewsim.summarise(brewsim.simulate(p)) for p in made))
    header = ("the next batch, nine in ten", "usual brewery", "this one", "spread left")
    if rows:
        say.table(f"{problem.name}, by what was brewed last", header, rows)


def _print_known(kept: Any, known: list[Any]) -> None:  # noqa: ANN401 - a House
    from brewsim.cli.learn import known_lines

    if not kept.trusted:
        say.lines("", "Not settled: what follows is not to be relied on; learn again.")
    say.lines("", "What this brewery is, against the usual one:", *known_lines(kept, known))
    say.lines(*kept.remarks)


def _day(state: Any) -> str:  # noqa: ANN401 - a State
    return f"{state.when.astimezone():%Y-%m-%d %H:%M}"


def _content(
    house: Path,
    found: Any,  # noqa: ANN401 - a HouseCheck
    known: tuple[Any, list[Any]] | None,
) -> dict[str, Any]:
    content = {
        "house": str(house),
        "batches": [{"id": e.id, "date": e.date, "tags": e.tags} for e in found.log.entries],
        "readings": found.readings,
        "recipes": len(found.log.recipes),
        "remarks": list(found.log.remarks),
        "draws": found.draws,
        "states": [{"state": s.number, "kept": s.when.isoformat()} for s in found.states],
    }
    if known is None:
        return content
    kept, inputs = known
    return content | {
        "trusted": kept.trusted,
        "known": [
            {"id": k.id, "label": k.label, "before": k.before, "after": k.after, "left": k.left}
            for k in inputs
        ],
    }
