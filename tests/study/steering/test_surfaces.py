"""All dials at once: what is fitted, what misses, and what is said of the error."""

import numpy as np
import pytest

from brewsim.distributions.constructors import lognormal, normal
from brewsim.study.model.common_random_numbers import CommonDraws, Evaluator
from brewsim.study.model.knob import Choice, Knob
from brewsim.study.model.problem import Problem
from brewsim.study.model.sampling import Plan
from brewsim.study.model.targets import Target
from brewsim.study.steering.surface_basis import polynomials, terms_of
from brewsim.study.steering.surface_fit import surfaces
from brewsim.study.steering.surfaces import MOST_POINTS, MOST_SD, Ratio


def straight(dose, content, malt, base):
    """Straight in both dials."""
    return base + content * dose + 0.3 * malt * content


def top(dose, content, lead):
    """One side, bent by another dial."""
    return lead * content * dose * (1 + 0.1 * np.tanh(lead * dose / 20))


def bottom(malt, base):
    """The other side."""
    return base * malt


def lead_of(top, bottom):
    """How many times, in doublings."""
    return np.log2((1 + top) / (1 + bottom))


def kinked(malt, edge):
    """A kink at a place of its own in every draw."""
    return np.maximum(malt, edge)


def stepped(dose, malt, edge):
    """A step that no smooth surface follows."""
    return edge + 3.0 * np.floor(4 * dose * malt / 5)


def idle(base):
    """What no dial moves."""
    return 2 * base


FACTORS = {
    "content": lognormal(2.0, 0.4),
    "base": normal(5.0, 0.5),
    "edge": normal(3.0, 0.5),
    "lead": lognormal(1.0, 0.3),
}
KNOBS = (
    Knob("dose", "dose", "dose", None, 0.0, 4.0, 0.1, "g/L", today=2.5),
    Knob("malt", "malt", "malt", None, 1.0, 5.0, 0.0, "kg", today=2.0),
)


def _problem(formulas, targets=None, knobs=KNOBS):
    asked = [f.__name__ for f in formulas]
    needed = {n for f in formulas for n in f.__code__.co_varnames[: f.__code__.co_argcount]}
    return Problem.of(
        formulas,
        {n: d for n, d in FACTORS.items() if n in needed},
        fixed={n: v for n, v in {"dose": 2.5, "malt": 2.0}.items() if n in needed},
        targets=targets or {asked[-1]: Target(0, 5)},
        knobs=tuple(k for k in knobs if k.quantity in needed),
    )


def _error(found, name, true):
    """Errors at places that the fit has not seen, in standard deviations of today."""
    rng = np.random.default_rng(99)
    places = rng.random((40, len(found.dials)))
    settings = [[d.setting(x) for d, x in zip(found.dials, p, strict=True)] for p in places]
    expected = np.array([true(*row) for row in settings])
    apart = np.abs(found.surfaces[name].at(places) - expected) / found.today[name].std()
    return float(np.quantile(apart, 0.95))


def _inputs(problem):
    names = [f.quantity for f in problem.factors]
    return Evaluator(problem, CommonDraws([problem], Plan(8, 128, 1)), names).at({})


def test_a_straight_outcome_is_exact_but_for_rounding():
    problem = _problem([straight])
    found = surfaces(problem, ["straight"])
    x = _inputs(problem)
    error = _error(found, "straight", lambda d, m: straight(d, x["content"], m, x["base"]))
    assert error < 2e-4
    assert len(found.surfaces["straight"].basis.terms) == 3
    assert found.errors["straight"].worst < 1e-3


def test_a_ratio_is_made_of_its_two_sides():
    problem = _problem([top, bottom, lead_of], {"lead_of": Target(-1, 1)})
    found = surfaces(problem, ["lead_of"], {"lead_of": Ratio("top", "bottom")})
    assert set(found.surfaces) == {"top", "bottom"}
    assert found.errors["lead_of"].most <= MOST_SD
    assert max(found.points) <= MOST_POINTS
    assert not found.snapped


def test_a_kink_in_every_draw_is_followed():
    problem = _problem([kinked])
    found = surfaces(problem, ["kinked"])
    x = _inputs(problem)
    assert _error(found, "kinked", lambda m: kinked(m, x["edge"])) <= MOST_SD
    assert not found.snapped


def test_what_misses_stops_only_at_computed_settings():
    problem = _problem([stepped])
    found = surfaces(problem, ["stepped"])
    assert found.snapped == ("stepped",)
    assert found.errors["stepped"].most > MOST_SD
    stops = [found.stops(i) for i in range(2)]
    x = _inputs(problem)
    for dial, at in enumerate(stops):
        assert found.dials[dial].place in [pytest.approx(a) for a in at]
    places = np.array([[a, b] for a in stops[0] for b in stops[1]])
    settings = [[d.setting(p) for d, p in zip(found.dials, row, strict=True)] for row in places]
    expected = np.array([stepped(*row, x["edge"]) for row in settings])
    apart = np.abs(found.surfaces["stepped"].at(places) - expected)
    assert apart.max() < 1e-2 * x["edge"].std()


def test_a_choice_has_a_surface_of_its_own():
    strong = lognormal(4.0, 0.4)
    choices = (
        Choice("weak", {}, {"content": FACTORS["content"]}),
        Choice("strong", {}, {"content": strong}),
    )
    chooser = Knob("powder", "powder", choices=choices, current="weak")
    problem = Problem.of(
        [straight],
        {n: FACTORS[n] for n in ("content", "base")},
        fixed={"dose": 2.5, "malt": 2.0},
        targets={"straight": Target(0, 5)},
        knobs=(*KNOBS, chooser),
    )
    found = surfaces(problem, ["straight"])
    assert found.surfaces["straight"].choices == ("powder",)
    place = np.array([[d.place for d in found.dials]])
    weak, strong_one = (found.surfaces["straight"].at(place, block)[0] for block in (0, 1))
    assert np.median(strong_one) > 1.5 * np.median(weak)
    assert np.abs(weak - found.today["straight"]).max() < 1e-3 * weak.std()


def test_without_knobs_there_is_nothing_to_turn():
    assert surfaces(_problem([idle]), ["idle"]) is None


def test_today_outside_a_knob_s_range_is_still_on_the_dial():
    away = (Knob("dose", "dose", "dose", None, 3.0, 4.0, 0.1, "g/L", today=2.5), KNOBS[1])
    found = surfaces(_problem([straight], knobs=away), ["straight"])
    assert found.dials[0].low == 2.5
    assert found.dials[0].place == 0


def test_degrees_are_counted_before_they_are_written_out():
    """C(n + k, k) products of total degree k of n dials; forty dials do not take 3^40 steps."""
    assert len(polynomials(range(40), 2).terms) == terms_of(40, 2) == 861
    assert terms_of(40, 6) == 9_366_819
    assert polynomials([0, 1], 2).terms == ((0, 0), (0, 1), (0, 2), (1, 0), (1, 1), (2, 0))
