"""brewsim turn: outcomes along one knob, or what each knob does."""

import math
from typing import Annotated, Any

import typer

from brewsim.cli import console as say
from brewsim.cli.loading import drawn, load, planned
from brewsim.cli.made_by import drew
from brewsim.cli.options import AsJson, HouseFile, LookDraws, PriorsFile, RecipeFile, Seed
from brewsim.constants import WANTED_CHANCE

KnobName = Annotated[
    str | None,
    typer.Argument(
        help='A knob by name, such as "precursor 1 dose"; or "yeast name", "hop 1 variety",'
        ' "bitterness formula". Without it: every knob.'
    ),
]
_TENTH = {False: "A tenth more of it", True: "A tenth of its range more"}

Options = Annotated[
    list[str] | None,
    typer.Option("--choice", help="What to choose from, for a yeast or a hop; repeat for several."),
]


def turn(
    recipe: RecipeFile,
    knob: KnobName = None,
    choice: Options = None,
    draws: LookDraws = 4096,
    seed: Seed = 1,
    house: HouseFile = None,
    priors: PriorsFile = None,
    json: AsJson = False,
) -> None:
    """Show every outcome along one knob, and between which settings the targets are met.

    Example: brewsim turn demo-recipes/quillhaven-lager.toml "precursor 1 dose"
    """
    import brewsim
    from brewsim.beer.scenarios import is_alternative
    from brewsim.errors import InputError
    from brewsim.study.propagation.sweep import turn_all

    loaded = load(recipe, priors, house)
    if choice and (knob is None or not is_alternative(knob)):
        told = f"{knob or 'every knob'} has its own settings; --choice is for a yeast or a hop"
        raise InputError("--choice", [told])
    drew(planned(draws))
    if knob is None:
        found = turn_all(loaded.problem, draws=draws, seed=seed)
        if json:
            say.as_json({"knobs": [_plain(data) for data in found]})
        else:
            _every(loaded.problem, found)
            say.lines(_draws(found, draws, seed))
        return
    if is_alternative(knob):
        along = _between(loaded, knob, choice or [], draws, seed)
    else:
        along = brewsim.turn(loaded.problem, knob, draws=draws, seed=seed)
    if json:
        say.as_json(_plain(along))
        return
    _one(loaded.problem, along)
    say.lines(_draws([along], draws, seed))


def _plain(data: Any) -> Any:  # noqa: ANN401 - a Dataset
    return data.drop_vars("dots").to_dict()


def _between(loaded: Any, what: str, options: list[str], draws: int, seed: int) -> Any:  # noqa: ANN401
    from brewsim.beer.scenarios import alternatives
    from brewsim.study.steering.scenario_comparison import turn_between

    found = alternatives(loaded.recipe, what, options, loaded.priors)
    return turn_between(found, current=next(iter(found)), label=what, draws=draws, seed=seed)


def _names(problem: Any, along: Any) -> list[str]:  # noqa: ANN401 - a Problem and a Dataset
    targets = [name for name in problem.targets if name in along["outcome"].values]
    return targets or list(problem.outcomes[:4])


def _one(problem: Any, along: Any) -> None:  # noqa: ANN401 - a Problem and a Dataset
    from brewsim.beer.display_units import rows_of
    from brewsim.quantities.chances import in_fifty
    from brewsim.quantities.format import heading, span
    from brewsim.wording.knob_curves import knob_curves
    from brewsim.wording.knobs import beside_lines

    names = _names(problem, along)
    looks = rows_of(problem, names)
    rows = []
    for place, setting in enumerate(along["setting"].to_numpy().tolist()):
        at = along.isel(setting=place)
        cells = [
            span(row, float(at["low"].sel(outcome=n)), float(at["high"].sel(outcome=n)))
            + _against_today(problem, row, at.sel(outcome=n))
            for n, row in looks.items()
        ]
        rows.append((_setting(problem, along, setting), *cells, in_fifty(float(at["joint"]))))
    header = ("setting", *[heading(row) for row in looks.values()], "all targets")
    say.table(f"{along.attrs['label']}: nine chances in ten", header, rows)
    curves = knob_curves(problem, [along], rows_of(problem))
    say.lines("Second line: what it does to a batch in which all else is as today, nine in ten.")
    say.lines(*(curve.sentence for curve in curves))
    notes = [knob.note for knob in problem.knobs if knob.id == along.attrs["knob"]]
    beside = beside_lines(problem, [knob.id for knob in problem.knobs if knob.note in notes])
    say.lines(*_tenth(along, looks), *filter(None, notes), *beside)


def _against_today(problem: Any, row: Any, at: Any) -> str:  # noqa: ANN401 - a Problem, a Dataset
    """Return a second line with the paired change, empty at today's setting."""
    from brewsim.study.propagation.sweep import CHANGES
    from brewsim.wording.paired import change_words

    low, middle, high = (float(at[key]) for key in CHANGES)
    scale = problem.scales.get(row.quantity, "linear")
    none = 1.0 if scale != "linear" else 0.0
    if (low, middle, high) == (none, none, none):
        return ""
    return f"\n{change_words(row, scale, (low, middle, high))}"


def _setting(problem: Any, along: Any, setting: float | str) -> str:  # noqa: ANN401 - a Problem
    if isinstance(setting, str):
        return setting
    from brewsim.wording.knobs import knob_words

    return knob_words(problem.knob(along.attrs["knob"]), setting)


def _tenth(along: Any, looks: Any) -> list[str]:  # noqa: ANN401 - a Dataset, Outcomes by name
    told = [
        words for name, row in looks.items() if (words := _change(row, along.sel(outcome=name)))
    ]
    return [f"{_TENTH[_is_warmth(along)]}: {'; '.join(told)}."] if told else []


def _is_warmth(along: Any) -> bool:  # noqa: ANN401 - a Dataset
    """Whether a knob is a temperature: a tenth of it means nothing."""
    from brewsim.study.propagation.sweep import NO_ZERO

    return str(along.attrs["unit"]) in NO_ZERO


def _change(row: Any, along: Any) -> str:  # noqa: ANN401 - an Outcome and its Dataset
    """Return what a tenth more does to the median; empty where it is next to nothing."""
    from brewsim.quantities.format import heading, slight, step, times

    change = float(along["per_tenth"])
    least = slight(row, float(abs(along["middle"]).max()))
    size = abs(2**change - 1) if row.scale != "linear" or row.fold else abs(change)
    if not math.isfinite(change) or size < least:
        return ""
    if row.scale != "linear" or row.fold:
        return f"{row.label} {times(change, 3)}"
    return f"{heading(row)} {step(row, change)}"


def _draws(found: list[Any], draws: int, seed: int) -> str:
    """Return how many draws were taken and how far a count of 50 may be off by chance."""
    told = drawn(draws, seed)
    errors = [
        float(error)
        for along in found
        for key in ("in_target_error", "joint_error")
        for error in along[key].to_numpy().flat
        if math.isfinite(error)
    ]
    if not any(errors):
        return f"{told}."
    return f"{told}: a count of 50 may be off by {math.ceil(50 * max(errors))}."


def _every(problem: Any, found: list[Any]) -> None:  # noqa: ANN401 - a Problem and Datasets
    """Print a row for each knob and targeted outcome it moves: effect, and where it lands."""
    from brewsim.beer.display_units import rows_of
    from brewsim.quantities.chances import in_fifty
    from brewsim.quantities.format import heading, value
    from brewsim.study.propagation.landing import landing, own_settings
    from brewsim.wording.knobs import chances_wanted, knob_words

    rows = []
    for turned in found:
        knob = problem.knob(turned.attrs["knob"])
        own = own_settings(knob, turned["setting"].to_numpy().tolist())
        along = turned.isel(setting=own)
        settings = along["setting"].to_numpy().tolist()
        for name, row in rows_of(problem, _names(problem, along)).items():
            at = along.sel(outcome=name)
            middle, chance = at["middle"].to_numpy(), at["in_target"].to_numpy()
            ends = [value(row, float(end)) for end in (middle.min(), middle.max())]
            if ends[0] == ends[1]:
                continue
            lands = ""
            if name in problem.targets:
                span = landing(knob, settings, chance, WANTED_CHANCE)
                best = int(chance.argmax())
                lands = f"best {knob_words(knob, settings[best])}: {in_fifty(chance[best])}"
                if span is not None:
                    where = [knob_words(knob, end) for end in (span.low, span.high)]
                    lands = " to ".join(dict.fromkeys(where))
            tenth = _change(row, at).removeprefix(heading(row)).removeprefix(row.label).strip()
            rows.append(
                (
                    str(along.attrs["label"]),
                    heading(row),
                    tenth or "–",
                    " to ".join(ends),
                    lands or "–",
                )
            )
    wanted = chances_wanted(WANTED_CHANCE)
    header = ("knob", "moves", "a tenth more", "median, over its range", wanted)
    say.table("What each knob does", header, rows)
    if any(map(_is_warmth, found)):
        say.lines("A tenth more: of a temperature, a tenth of its range.")
