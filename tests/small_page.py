"""The small beer with everything the studies say of it, as the content of a page."""

from dataclasses import dataclass, replace
from types import SimpleNamespace

from brewsim.answers.fifty import fifty_batches
from brewsim.answers.from_log import from_log
from brewsim.answers.sources import spread_sources
from brewsim.study.inference.update import update
from brewsim.study.model.batch import Batch, Reading
from brewsim.study.propagation.simulate import simulate
from brewsim.study.propagation.summary import summarise
from brewsim.study.propagation.variance_by_kind import spread_by_kind
from brewsim.study.sensitivity.sobol import rank
from brewsim.study.sensitivity.variance_budget import variance_budget
from brewsim.study.steering.steering import steer
from brewsim.study.steering.surface_fit import surfaces
from brewsim.study.tolerance.specification import specify
from brewsim.study.tolerance.tightening import tighten
from brewsim.wording.batches import batches_of
from brewsim.wording.card_parts import Blank, BrewDayCard, CardRow
from brewsim.wording.caution_lines import Facts
from brewsim.wording.cautions import dangers
from brewsim.wording.content import Content, InputRow
from brewsim.wording.dials import dials_of
from brewsim.wording.first_screen import first_screen, pictures_of, summary_figures
from brewsim.wording.house_log import house_log
from brewsim.wording.knobs import steered_panel
from brewsim.wording.outcomes import Extras, content_of, looks_of, outcomes_of
from brewsim.wording.specification.specification import spec_panel
from brewsim.wording.spread_sources import again_rows, source_bars
from tests.small_beer import small_problem

SCRIPT = "<script>alert(1)</script>"


@dataclass(frozen=True)
class Made:
    """A problem with everything the studies say about it, and the page's content."""

    problem: object
    draws: object
    summary: object
    ranks: dict
    content: Content


def _batches(problem):
    readings = [(19, 0.049), (21, 0.0515), (34, 0.047)]
    return [
        Batch(
            f"B{number}",
            problem,
            (
                Reading("bitterness_ibu", bitter, 1.5, label="Bitterness"),
                Reading("alcohol_by_volume_fraction", strong, 0.001, label="Alcohol"),
            ),
        )
        for number, (bitter, strong) in enumerate(readings)
    ]


def make(name="Quillhaven lager"):
    """Run every study of the small beer and build the content of its page."""
    problem = small_problem(name)
    draws = simulate(problem)
    summary = summarise(draws)
    ranks = {by: rank(problem, by=by) for by in ("factor", "group", "kind")}
    looks = looks_of(summary)
    learned = update(problem, _batches(problem), time_limit_s=1, keep=2, burn=2)
    log = from_log(learned)
    facts = Facts(
        bottled=True,
        over_rating_chance=float((draws["carbonation_vol"] > 3.0).mean()),
        dry_hopped=True,
        grape_product=True,
        engineered="unknown",
    )
    extras = Extras(
        dangers=dangers(facts),
        knob_panel=steered_panel(problem, steer(problem), looks),
        spec=spec_panel(
            problem,
            specify(problem),
            looks,
            outcomes_of(draws, summary, looks),
            {"bitterness_ibu": tighten(problem, "bitterness_ibu", chance=0.6)},
        ),
        batches=batches_of(learned, [one.cause for one in log.odd], looks),
        understood=(
            InputRow("Mass of hop 1", "40 g (1.4 oz)", "no spread", "recipe"),
            InputRow("Alpha of hop 1", "5.6 %", "nine in ten between 5.0 and 6.2 %", "recipe"),
        ),
        assumed=tuple(
            InputRow(f"Input {i}", "0.72", "0.66 to 0.78", "published", "J. Inst. Brew. 1999")
            for i in range(60)
        ),
        warnings=("Nobody said whether the yeast is diastatic.",),
        sources=(("grain-absorption", "An author, a title, a journal, 1999"),),
    )
    content = content_of(
        draws,
        summary,
        by_factor=ranks["factor"],
        by_group=ranks["group"],
        by_kind=ranks["kind"],
        spread=spread_by_kind(problem),
        extras=extras,
    )
    content = _with_first_parts(content, problem, draws, summary, ranks["factor"], looks, log)
    return Made(problem, draws, summary, ranks, content)


def _with_first_parts(content, problem, draws, summary, by_factor, looks, log):
    """Add verdict, dials, sources, own scatter, log and card, as a recipe's page has them."""
    response = surfaces(problem, list(problem.targets))
    fifty = fifty_batches(problem, draws, response)
    found = SimpleNamespace(
        problem=problem,
        summary=summary,
        moves=None,
        steered=steer(problem),
        surfaces=response,
        removable={},
        sources=spread_sources(by_factor, variance_budget(problem, list(problem.targets)), None),
    )
    pictures = pictures_of(problem, fifty, summary_figures(found), looks)
    order = [strip.name for strip in pictures.strips]
    screen = first_screen(found, pictures, looks, content.dangers)
    return replace(
        content,
        screen=screen,
        dials=dials_of(problem, response, fifty, pictures.strips, summary, looks),
        sources_of=source_bars(found.sources, order, looks),
        again=again_rows(content.kinds, content.outcomes, order),
        house=house_log(log, looks, summary, summary, order),
        card=BrewDayCard(
            problem.name,
            "20.0 L",
            (
                CardRow(
                    "Mash",
                    (("12.9 L at 71.2 °C", True, False), ("hops 40 g", False, True)),
                    (Blank("mash_temperature", "after 10 min", "°C"),),
                    ("64 to 66 °C.",),
                ),
            ),
            "Gravity before the boil is not 1.041",
            (("read", "1.038", "1.041"), ("boil longer", "26 min", "go")),
            2,
            "1.037 and lower: read again first.",
            ("Expect 5.1 % ABV.",),
        ),
    )
