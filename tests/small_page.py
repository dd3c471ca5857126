"""The small beer with everything the studies say of it, as the content of a page."""

from dataclasses import dataclass, replace

from brewsim.study.inference.attribution import attribute
from brewsim.study.inference.update import update
from brewsim.study.model.batch import Batch, Reading
from brewsim.study.propagation.simulate import simulate
from brewsim.study.propagation.summary import summarise
from brewsim.study.propagation.sweep import turn
from brewsim.study.propagation.variance_by_kind import spread_by_kind
from brewsim.study.sensitivity.sobol import rank
from brewsim.study.steering.steering import steer
from brewsim.study.tolerance.specification import specify
from brewsim.study.tolerance.tightening import tighten
from brewsim.wording.batches import batches_of
from brewsim.wording.cautions import Facts, dangers
from brewsim.wording.content import Content, InputRow
from brewsim.wording.knobs import knob_curves, steered_panel
from brewsim.wording.outcomes import Extras, content_of, looks_of, outcomes_of
from brewsim.wording.specification.specification import spec_panel
from brewsim.wording.what_if import what_if
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
    turned = [turn(problem, knob.id) for knob in problem.knobs]
    learned = update(problem, _batches(problem), time_limit_s=1, keep=2, burn=2)
    facts = Facts(
        bottled=True,
        over_rating_chance=float((draws["carbonation_vol"] > 3.0).mean()),
        dry_hopped=True,
        grape_product=True,
        engineered="unknown",
    )
    extras = Extras(
        dangers=dangers(facts),
        knobs=knob_curves(problem, turned, looks),
        knob_panel=steered_panel(problem, steer(problem), looks),
        spec=spec_panel(
            problem,
            specify(problem),
            looks,
            outcomes_of(draws, summary, looks),
            {"bitterness_ibu": tighten(problem, "bitterness_ibu", chance=0.6)},
        ),
        batches=batches_of(learned, attribute(learned, "B2"), looks),
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
    tried = what_if(problem, turned, content.outcomes, content.joint_chance)
    return Made(problem, draws, summary, ranks, replace(content, what_if=tried))
