"""What changed over a log: the answers made of readings, and the lines that tell them."""

from dataclasses import dataclass, replace
from types import SimpleNamespace

import numpy as np
import pytest

from brewsim.answers.log_in_time import with_bands
from brewsim.answers.over_time import _days, _groups, _places, over_time
from brewsim.distributions.constructors import lognormal
from brewsim.quantities.catalogue import outcome_of
from brewsim.study.inference.update import update
from brewsim.study.model.batch import Batch, Reading
from brewsim.study.model.factor import Kinds
from brewsim.study.model.problem import Problem
from brewsim.wording.over_time import over_time_sentences

TANK, DRIFT, SCATTER = 4.0, -6.0, 0.6


def bitterness_ibu(iso):
    return 1.0 * iso


@pytest.fixture(scope="module", params=["linear", "log"])
def found(request):
    """Thirty batches around 30 IBU that fall by 6, tank T2 above T1 by 4."""
    problem = Problem.of([bitterness_ibu], {"iso": lognormal(30.0, 0.1)})
    problem = replace(problem, factors=(replace(problem.factors[0], kinds=Kinds(0.5, 0, 0.5)),))
    rng = np.random.default_rng(3)
    batches = []
    for i in range(30):
        tank = ("T1", "T2")[int(rng.integers(2))]
        value = 30.0 + DRIFT * i / 29 + TANK * (tank == "T2") + SCATTER * rng.standard_normal()
        noise = 0.5 if request.param == "linear" else 0.5 / 30
        reading = Reading("bitterness_ibu", value, noise, "lab", scale=request.param)
        notes = {"date": f"2025-{1 + i // 3:02d}-{5 + 8 * (i % 3):02d}", "tank": tank}
        batches.append(Batch(f"b{i}", problem, (reading,), notes))
    (one,) = over_time(update(problem, batches, seed=2))
    return one


def test_drift_and_tank_are_found_in_the_unit_of_the_reading(found):
    (difference,) = found.differences
    sign = 1 if difference.what[1] == "T2" else -1

    assert found.drift.low < DRIFT < found.drift.high
    assert found.drift.high - found.drift.low < 4
    assert difference.low < sign * TANK < difference.high
    assert min(found.drift.chance, difference.chance) > 0.95


def test_each_tank_has_a_forecast_of_its_own_drift_going_on(found):
    first, second = found.following

    assert (first.labels, second.labels) == ({"tank": "T1"}, {"tank": "T2"})
    assert first.low < 30 + DRIFT < first.high
    assert second.low < 30 + DRIFT + TANK < second.high
    assert second.middle - first.middle == pytest.approx(TANK, abs=1.2)


def test_the_lines_say_how_much_and_how_sure(found):
    told = over_time_sentences(found, outcome_of("bitterness_ibu"))

    assert "30 batches: it fell over the log: −" in told[0]
    assert "Tank T" in told[0]
    assert "more than 99 % sure" in told[0]
    assert [line.partition(" will")[0] for line in told[1:]] == [
        "- the next batch (tank T1)",
        "- the next batch (tank T2)",
    ]


def test_a_short_log_is_not_asked():
    problem = Problem.of([bitterness_ibu], {"iso": lognormal(30.0, 0.1)})
    batches = [
        Batch(f"b{i}", problem, (Reading("bitterness_ibu", 30.0 + i, 0.5),)) for i in range(7)
    ]

    assert over_time(update(problem, batches, seed=2)) == ()


def batch(name, **notes):
    return Batch(name, None, (), notes)


def test_days_count_from_one_calendar_and_batches_without_them_in_order():
    dated = [batch("a", date="2026-01-01"), batch("b", date="2026-02-01")]

    assert np.diff(_days(dated)).tolist() == [31.0]
    assert _days([*dated, batch("c")]).tolist() == [0.0, 1.0, 2.0]
    assert _days([*dated, batch("c", date="soon")]).tolist() == [0.0, 1.0, 2.0]


def test_groups_have_two_labels_of_two_batches_and_are_two_at_most():
    tanks, brewers = ("1", "2", "1", "2", "3"), ("A", "A", "B", "", "")
    waters, malts = ("x", "y", "x", "y", ""), ("m", "n", "m", "n", "m")
    rows = zip(tanks, brewers, waters, malts, strict=True)
    batches = [
        batch(f"b{n}", date="2026-01-01", tank=t, brewer=b, water=w, malt=m)
        for n, (t, b, w, m) in enumerate(rows)
    ]

    assert _groups(batches) == {"tank": ("1", "2", "1", "2", ""), "water": ("x", "y", "x", "y", "")}
    assert _groups(batches[:3]) == {}


def test_places_are_those_of_the_first_group_with_the_others_as_last_brewed():
    groups = {"tank": ("2", "1", "2", ""), "water": ("x", "y", "x", "")}

    assert _places(groups) == [{"tank": "1", "water": "x"}, {"tank": "2", "water": "x"}]
    assert _places({}) == [{}]


def test_of_seven_batches_nothing_is_told_and_of_eight_it_is():
    problem = Problem.of([bitterness_ibu], {"iso": lognormal(30.0, 0.1)})
    rng = np.random.default_rng(3)

    def log(count):
        values = 30 + rng.standard_normal(count)
        readings = [Reading("bitterness_ibu", value, 0.5, "lab") for value in values]
        calibration = Reading("bitterness_ibu", 20.0, 0.5, "lab", known=20.0)
        return [Batch(f"b{i}", problem, (r, calibration)) for i, r in enumerate(readings)]

    assert over_time(update(problem, log(7), seed=2)) == ()
    (one,) = over_time(update(problem, log(8), seed=2))
    assert (one.quantity, one.batches, one.differences) == ("bitterness_ibu", 8, ())
    assert [place.labels for place in one.following] == [{}]
    assert 0.5 <= one.drift.side <= 1


def test_an_effect_is_told_with_its_ends_and_the_chance_of_its_side(found):
    for effect in (found.drift, *found.differences):
        assert effect.low < effect.middle < effect.high
        assert 0.5 <= effect.side <= 1
    assert found.drift.side > 0.99
    assert found.drift.what == ()
    assert found.batches == 30


@dataclass(frozen=True)
class Chart:
    """What a band needs of a run chart."""

    quantity: str
    batches: tuple
    factor: np.ndarray
    shift: np.ndarray
    band: np.ndarray | None = None


def test_a_learned_log_gives_each_reading_the_band_of_its_house():
    chart = Chart("y", ("A", "B"), np.array([2.0, 1.0]), np.array([0.0, 1.0]))
    told = SimpleNamespace(
        surprise=SimpleNamespace(batch="A"), cause=SimpleNamespace(outcome="y"), low=3.0, high=5.0
    )
    (found,) = with_bands([chart], SimpleNamespace(readings=[told]))

    np.testing.assert_array_equal(found.band, [[6.0, 10.0], [np.nan, np.nan]])
