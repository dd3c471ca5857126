"""The dials of a page after a tasting: its margins and its settings, worked out by hand."""

from types import SimpleNamespace
from typing import ClassVar

import numpy as np
import pytest

from brewsim.answers import wish_dials
from brewsim.answers.wish_dials import _margin, _written
from brewsim.distributions.constructors import normal
from brewsim.errors import StudyError
from brewsim.study.model.knob import Choice, Knob
from brewsim.study.model.problem import Problem
from brewsim.study.model.sampling import Plan
from brewsim.study.model.targets import Target
from brewsim.study.propagation.linked_draws import DOTS
from brewsim.study.steering.surfaces import DRAWS_PER_REPLICATE


def test_a_margin_is_fifty_places_of_many_draws_beside_the_few():
    many = np.array([np.nan, *np.arange(1000.0), np.inf])
    few = np.array([1.0, 2.0])
    plain = _margin(few, many, logged=False)

    assert plain.values is few
    np.testing.assert_allclose(plain.quantiles, 999 * (np.arange(DOTS) + 0.5) / DOTS)
    assert DOTS == 50


def test_a_margin_of_folds_is_in_doublings_and_none_of_nothing():
    logged = _margin(np.array([8.0, 0.0]), np.array([0.0, 0.0, 0.0]), logged=True)

    np.testing.assert_allclose(logged.values, [3.0, np.log2(1e-12)])
    np.testing.assert_allclose(logged.quantiles, np.full(DOTS, np.log2(1e-12)))


def test_a_setting_is_told_in_the_unit_of_its_knob():
    problem = SimpleNamespace(fixed_at=lambda quantity, row: {("mass_kg", 1): 0.03}[quantity, row])
    dose = Knob("dose", "dose", "mass_kg", 1, high=0.08, unit="g", per_shown=0.001)
    yeast = Knob("yeast", "yeast", choices=(Choice("a", {}), Choice("b", {})), current="b")

    assert _written(problem, dose) == pytest.approx(30.0)
    assert _written(problem, yeast) == "b"


SURFACES = object()


class Values:
    """Wished and held values of a question: a few draws, or many, of one batch as it is."""

    kinds: ClassVar = {"thiols": "fold", "ibu": "difference"}
    wished: ClassVar = ("thiols",)

    def __init__(self, _question, plan):
        self.plan = plan

    def shown(self, settings):
        assert settings == {}
        count = self.plan.replicates * self.plan.rows
        one = np.arange(count) % 4
        values = {"thiols": one, "ibu": one + 1}
        return {
            name: SimpleNamespace(
                inside=(y < 3).astype(float),
                values=y.astype(float),
                low=np.zeros(count),
                high=np.full(count, 3.0),
            )
            for name, y in values.items()
        }


def posed_wish(monkeypatch, *, surfaces=True, told=False):
    """A question with one knob that moves and one that does not; returns what was asked."""
    asked = {}

    def linked(margins, counts, seed):
        asked.update(margins=margins, counts=counts, seed=seed)
        if told:
            raise StudyError("no")
        return SimpleNamespace(places=np.arange(50))

    def fitted(turned, few, plan):
        asked.update(turned=turned, few=few, plan=plan)
        return SURFACES if surfaces else None

    monkeypatch.setattr(wish_dials, "WishValues", Values)
    monkeypatch.setattr(wish_dials, "surfaces_of", fitted)
    monkeypatch.setattr(wish_dials, "linked_draws", linked)
    knobs = (Knob("dose", "dose", "dose", high=9.0), Knob("other", "other", "other", high=9.0))
    problem = Problem.of(
        [total],
        {"error": normal(0, 1)},
        fixed={"dose": 2.0, "other": 5.0},
        knobs=knobs,
        targets={"total": Target(1.0)},
    )
    found = SimpleNamespace(
        steering=SimpleNamespace(unchanged=SimpleNamespace(all_met=(0.3, 0.01))),
        question=SimpleNamespace(problem=problem),
        knobs=knobs[:1],
    )
    return wish_dials.wish_dials(found, problem, seed=7), asked


def total(dose, other, error):
    return dose + other + error


def test_the_dials_are_of_many_draws_with_nothing_turned(monkeypatch):
    """Of four values 0 to 3 three are below 3, and of 1 to 4 two: half lie in both windows."""
    found, asked = posed_wish(monkeypatch)

    assert (asked["plan"], asked["seed"]) == (Plan(8, DRAWS_PER_REPLICATE, 7), 7)
    assert [k.id for k in asked["turned"].knobs] == ["dose"]
    assert asked["turned"].targets == {}
    assert found.chances == {"thiols": 0.75, "ibu": 0.5}
    assert {n: (c.inside.mean(), c.chance) for n, c in asked["counts"].items()} == {
        "thiols": (0.75, 0.75),
        "ibu": (0.5, 0.5),
        "all": (0.5, 0.5),
    }
    assert found.joint == 0.3
    assert found.middles == {"thiols": 1.5, "ibu": 2.5}
    assert found.written == {"dose": 2.0}
    assert (found.wished, found.kinds) == (Values.wished, Values.kinds)
    assert found.surfaces is SURFACES
    assert {n: (lo.max(), hi.min()) for n, (lo, hi) in found.ends.items()} == {
        "thiols": (0.0, 3.0),
        "ibu": (0.0, 3.0),
    }
    (margin,) = asked["margins"].values()
    assert margin.values[3] == pytest.approx(np.log2(3))
    assert len(margin.values) == 8 * DRAWS_PER_REPLICATE


def test_many_draws_are_others_than_the_few():
    assert (wish_dials._CHECK_ROWS, wish_dials._FRESH_SEED) == (2048, 104_729)


@pytest.mark.parametrize("broken", [{"surfaces": False}, {"told": True}])
def test_without_surfaces_or_draws_that_hang_together_there_are_no_dials(monkeypatch, broken):
    assert posed_wish(monkeypatch, **broken)[0] is None
