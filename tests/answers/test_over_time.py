"""What changed over a log: the answers made of readings, and the lines that tell them."""

from dataclasses import replace

import numpy as np
import pytest

from brewsim.answers.over_time import over_time
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
