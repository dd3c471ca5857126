"""What a study says of its figures: verdicts on a log, ends without a logarithm, own errors."""

import numpy as np
import pytest

from brewsim.distributions.constructors import lognormal, normal, uniform
from brewsim.study.model.factor import Kinds
from brewsim.study.model.problem import Problem
from brewsim.study.model.targets import Target
from brewsim.study.propagation.coverage import coverage_interval
from brewsim.study.steering.compare import compare
from brewsim.study.tolerance.log_against_model import against_log
from brewsim.study.tolerance.specification import specify


def alcohol(known, lots, brews):
    return 5.0 + known + lots + brews


def brewery():
    """Standard deviations: 0.1 by brew, and with new lots sqrt(0.1^2 + 0.49) = 0.707."""
    return Problem.of(
        [alcohol],
        {
            "known": normal(0, 0.2),
            "lots": (normal(0, 0.7), Kinds(0, 1, 0)),
            "brews": (normal(0, 0.1), Kinds(0, 0, 1)),
        },
    )


def values_that_scatter_by(sd, count=200):
    values = np.random.default_rng(3).standard_normal(count)
    return 5.0 + sd * (values - values.mean()) / values.std(ddof=1)


@pytest.mark.parametrize(
    ("sd", "verdict"),
    [
        (0.05, "too wide"),
        (0.1, "agrees"),
        (0.3, "between"),
        (0.707, "agrees"),
        (1.2, "too narrow"),
    ],
)
def test_a_logs_scatter_is_held_against_same_lots_and_new_lots(sd, verdict):
    """200 values know their scatter to a tenth: 0.91 to 1.11 times it, by chi-square."""
    (found,) = against_log(brewery(), {"alcohol": values_that_scatter_by(sd)})

    assert found.scatter == verdict


def test_a_log_counts_its_batches_beyond_the_target_and_leaves_gaps_out():
    """Three of five lie outside 4.8 to 5.2; one on the limit is inside, a gap is no batch."""
    values = np.array([4.7, 4.8, 5.0, 5.3, np.nan, 6.0])
    wanted = {"alcohol": Target(4.8, 5.2)}

    (both,) = against_log(brewery(), {"alcohol": values}, targets=wanted)
    (upper,) = against_log(brewery(), {"alcohol": values}, targets={"alcohol": Target(None, 5.2)})
    (none,) = against_log(brewery(), {"alcohol": values})

    assert (both.counted, upper.counted, none.counted) == (3, 2, 0)
    assert both.summary.count == 5
    assert upper.outside < both.outside < 1
    assert np.isnan(none.outside)


def oil(amount, dose):
    return amount * dose


def dosed(dose):
    return Problem.of(
        [oil], {"amount": lognormal(8.0, 0.5)}, fixed={"dose": dose}, scales={"oil": "log2"}
    )


def test_a_fold_from_nothing_is_infinite_and_to_nothing_zero():
    none, some = dosed(0.0), dosed(1.0)

    up = compare(none, some, draws=1024).sel(outcome="oil")
    down = compare(some, none, draws=1024).sel(outcome="oil")

    assert [float(up[key]) for key in ("low", "difference", "high")] == [np.inf] * 3
    assert [float(down[key]) for key in ("low", "difference", "high")] == [0.0] * 3
    assert (float(up["higher"]), float(down["lower"])) == (1.0, 1.0)
    assert int(up["not_finite"]) == up.attrs["draws"] == 1024


def switched(place, edge):
    def haze(place, edge, side):
        return np.where((place < edge) == (side > 0.5), 1.0, 0.0)

    return [
        Problem.of(
            [haze],
            {"place": uniform(0.0, 1.0)},
            fixed={"edge": edge, "side": side},
            scales={"haze": "log2"},
        )
        for side in place
    ]


@pytest.mark.parametrize(
    ("edge", "ends"),
    [(0.3, [0.0, np.inf, np.inf]), (0.7, [0.0, 0.0, np.inf]), (0.02, [np.inf] * 3)],
)
def test_folds_that_are_all_infinite_or_zero_keep_their_order(edge, ends):
    """A share `edge` of the batches goes from something to nothing, the rest the other way."""
    first, second = switched((1.0, 0.0), edge)

    found = compare(first, second, draws=1024).sel(outcome="haze")

    assert [float(found[key]) for key in ("low", "difference", "high")] == ends
    assert float(found["lower"]) == pytest.approx(edge, abs=0.01)
    assert float(found["tied"]) == 0.0


def strong(a, b, c, d, e, f):
    return a * b * c * d * e * f


def test_limits_scatter_from_seed_to_seed_by_the_sampling_error_they_show():
    """Half widths are 2.36 standard errors (t, 7); 60 seeds know a scatter to a tenth.

    The shortest interval's low end is left out: it settles with the cube root of the draws, so
    replicates say too little of it, 0.7 of its scatter.
    """
    problem = Problem.of([strong], dict.fromkeys("abcdef", lognormal(1.0, 0.4)))
    runs = [specify(problem, draws=2048, seed=seed) for seed in range(60)]
    row = [run.sel(outcome="strong", scope="next brew") for run in runs]

    for name in ("low", "high", "shortest_high"):
        scatter = np.std([float(r[name]) for r in row], ddof=1)
        told = np.sqrt(np.mean([float(r[f"{name}_error"]) ** 2 for r in row])) / 2.3646

        assert told == pytest.approx(scatter, rel=0.3)
    assert float(row[0].shortest_low) < float(row[0].low)
    assert float(row[0].shortest_high) < float(row[0].high)


def test_an_interval_of_equal_values_is_that_value():
    assert coverage_interval(np.full(50, 3.0), 0.9, "shortest") == (3.0, 3.0)
