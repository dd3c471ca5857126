"""Where an answer comes from and what of it is in doubt: `made_by` in every JSON, and --strict."""

import inspect
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import wraps
from pathlib import Path
from typing import Annotated, Any

import typer

DOUBTFUL = 3
Strict = Annotated[
    bool, typer.Option("--strict", help="Leave with 3 where anything of the answer is in doubt.")
]


@dataclass
class _Answer:
    """What is known of an answer in the making."""

    seed: int | None
    priors: Path | None
    draws: int = 0
    json: bool = False
    trusted: bool = True
    doubts: list[str] = field(default_factory=list)


_open: list[_Answer] = []


def doubt(*remarks: str) -> None:
    """Note what of the answer is in doubt; whoever has it printed does that."""
    if _open:
        _open[-1].doubts += [remark for remark in remarks if remark not in _open[-1].doubts]


def drew(draws: int) -> None:
    """Note how many draws are behind the answer."""
    if _open:
        _open[-1].draws = draws


def settled(trusted: bool, why: str) -> None:
    """Note whether what was learned has settled; where it has not, `why` is a doubt.

    It is also the first line that is printed, so this comes before anything else is.
    """
    if _open and not trusted:
        if _open[-1].trusted and not _open[-1].json:
            typer.echo(f"Not to be trusted: {why}.")
        _open[-1].trusted = False
        doubt(why)


def with_origin(content: Any) -> Any:  # noqa: ANN401 - JSON holds anything
    """Return the content of an answer with where it comes from, under `made_by`."""
    if not _open or not isinstance(content, dict):
        return content
    import brewsim
    from brewsim.priors import library
    from brewsim.wording.made_by import ANSWER_VERSION

    answer = _open[-1]
    return content | {
        "made_by": {
            "brewsim": brewsim.__version__,
            "json": ANSWER_VERSION,
            "seed": answer.seed,
            "draws": answer.draws,
            "priors": library.load_priors(answer.priors).fingerprint,
            "trusted": answer.trusted,
            "doubts": answer.doubts,
        }
    }


def with_strict(command: Callable[..., None]) -> Callable[..., None]:
    """Return a command that takes --strict and says where its JSON comes from.

    Learning that is not to be trusted leaves with 3 without being asked.
    """
    signature = inspect.signature(command)
    added = inspect.Parameter(
        "strict", inspect.Parameter.KEYWORD_ONLY, default=False, annotation=Strict
    )

    @wraps(command)
    def run(*, strict: bool = False, **given: Any) -> None:  # noqa: ANN401 - the command's own
        answer = _Answer(given.get("seed"), given.get("priors", given.get("own")))
        answer.json = bool(given.get("json"))
        _open.append(answer)
        try:
            command(**given)
        finally:
            _open.remove(answer)
        if strict and answer.doubts:
            _leave(answer.doubts)
        if not answer.trusted:
            raise typer.Exit(DOUBTFUL)

    parameters = [*signature.parameters.values(), added]
    run.__signature__ = signature.replace(parameters=parameters)  # type: ignore[attr-defined]
    run.__annotations__ = {**command.__annotations__, "strict": Strict}
    return run


def _leave(doubts: list[str]) -> None:
    from brewsim.cli.encoding import printable
    from brewsim.quantities.english import counted

    typer.echo(f"brewsim: {counted(len(doubts), 'doubt')}, and --strict was asked:", err=True)
    for remark in doubts:
        typer.echo(printable(f"- {remark}"), err=True)
    raise typer.Exit(DOUBTFUL)
