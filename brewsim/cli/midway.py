"""brewsim midway: the brew day so far, what it leaves open, and what can still be done."""

from typing import Annotated, Any

import typer

from brewsim.cli import console as say
from brewsim.cli.loading import NOT_SETTLED, doubts_of
from brewsim.cli.made_by import doubt, drew, settled
from brewsim.cli.options import AsJson, HouseFile, PriorsFile, RecipeFile, Seed

Readings = Annotated[
    list[str] | None,
    typer.Option(
        "--reading",
        help='What was measured, such as "preboil_gravity = 1.038 ± 0.001"; repeat for more.',
    ),
]
Aim = Annotated[str, typer.Option(help="Outcome to bring back: original_gravity or alcohol.")]


def midway(
    recipe: RecipeFile,
    reading: Readings = None,
    aim: Aim = "original_gravity",
    seed: Seed = 1,
    house: HouseFile = None,
    priors: PriorsFile = None,
    json: AsJson = False,
) -> None:
    """Put readings in place of what was computed; show what they leave open and what helps.

    Readings in [given] of the recipe count too.

    Example: brewsim midway demo-recipes/quillhaven-bitter.toml --reading "preboil_gravity_sg =
    1.034 ± 0.001"
    """
    from dataclasses import asdict

    from brewsim.answers.brew_day import DRAWS
    from brewsim.answers.brew_day import midway as judged
    from brewsim.beer.display_units import own_units
    from brewsim.beer.statements import resolve
    from brewsim.priors.library import load_priors
    from brewsim.quantities.catalogue import outcome_of, quantity_of
    from brewsim.recipe.read import read_recipe

    brewed = read_recipe(recipe)
    shelf = load_priors(priors)
    learned = None
    if house is not None:
        from brewsim.logbook.house import load_house

        learned = load_house(house, shelf)
        say.aside(str(house), learned.remarks)
        doubt(*learned.remarks)
        settled(learned.trusted, NOT_SETTLED)
    found = judged(
        brewed,
        _pairs(reading or []),
        shelf,
        aim=quantity_of(aim),
        seed=seed,
        house=learned,
    )
    drew(DRAWS)
    doubt(*doubts_of(brewed, shelf), *found.doubts, *found.remarks)
    if json:
        say.as_json(asdict(found))
        return
    units = own_units(resolve(brewed))
    _print(found, {name: outcome_of(name, units) for name in found.shown})


def _pairs(readings: list[str]) -> dict[str, str]:
    """Return the readings by name; one without a value is read, and refused, as having none."""
    from brewsim.errors import InputError

    pairs = [(text.partition("=")[0].strip(), text.partition("=")[2].strip()) for text in readings]
    names = [name for name, _ in pairs]
    twice = dict.fromkeys(name for name in names if names.count(name) > 1)
    if twice:
        raise InputError("--reading", [f"{name} is there twice; keep one" for name in twice])
    return dict(pairs)


def _print(found: Any, looks: Any) -> None:  # noqa: ANN401 - a Midway, Outcomes by name
    from brewsim.quantities.chances import percent
    from brewsim.quantities.format import heading, span, value

    say.lines(*_sentences(found.doubts))
    header = (
        "",
        *[heading(o) for o in looks.values()],
    )

    def row(title: str, bands: Any) -> tuple[str, ...]:  # noqa: ANN401 - a table of bands
        cells = [
            f"{value(o, bands[n].middle)}\n{span(o, bands[n].low, bands[n].high)}"
            for n, o in looks.items()
        ]
        return (title, *cells)

    left = [percent(found.spread_left[name]) for name in looks]
    say.table(
        "The brew day so far: the median, then nine chances in ten",
        header,
        [
            row("as planned", found.plan),
            row("as measured", found.now),
            ("spread left", *left),
        ],
    )
    can = [c for c in found.corrections if c.reaches]
    if can:
        say.table(
            f"Back to the planned {heading(looks[found.aim])}",
            header,
            [row(f"{c.name}: {_told(c)}{_mark(can, c)}", c.outcomes) for c in can],
        )
        say.lines(*[f"{_mark(can, c).strip()} {c.remark}" for c in can if c.remark])
    for correction in found.corrections:
        if not correction.reaches:
            say.lines(_cannot(correction, found.aim, looks[found.aim]))
    say.lines(*_sentences(found.remarks))
    if found.corrections:
        say.lines("Amounts put the median back; the spread around it is what the readings leave.")


def _sentences(texts: tuple[str, ...]) -> list[str]:
    return [f"{text[0].upper()}{text[1:]}." for text in texts]


def _told(correction: Any) -> str:  # noqa: ANN401 - a Correction
    from brewsim.quantities.format import shown

    decimals = {"min": 0, "kg": 2, "L": 1}[correction.unit]
    told = shown(round(correction.amount, decimals), correction.unit)
    if correction.unit != "min" or correction.amount == 0:
        return told
    return f"{told} {'more' if correction.name == 'boil longer' else 'less'}"


def _mark(corrections: list[Any], correction: Any) -> str:  # noqa: ANN401 - Corrections
    remarks = [c.remark for c in corrections if c.remark]
    return " " + "*" * (1 + remarks.index(correction.remark)) if correction.remark else ""


def _cannot(correction: Any, aim: str, look: Any) -> str:  # noqa: ANN401 - a Correction, an Outcome
    from brewsim.quantities.format import heading, value

    name = correction.name[0].upper() + correction.name[1:]
    best = value(look, correction.outcomes[aim].middle)
    if not correction.moves:
        return f"{name}: does not help here; it does not move {heading(look)}."
    if correction.amount == 0:
        return f"{name}: does not help here; it moves {heading(look)} the wrong way."
    return f"{name}: not enough; {_told(correction)} brings the median to {best}."
