"""Streaming summaries say what summaries of kept draws say, whatever the order of the work."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import numpy as np
import pytest

from brewsim.distributions.constructors import bernoulli, lognormal, normal, student_t, uniform
from brewsim.study.model.problem import Problem
from brewsim.study.model.targets import Target
from brewsim.study.propagation.histogram import MOST_BINS, Histogram
from brewsim.study.propagation.simulate import simulate
from brewsim.study.propagation.streaming import summarise_large
from brewsim.study.propagation.summary import summarise
from tests.study.models import sum_of_four


def mixed(x, y, stall_share):
    return x * y + 50 * stall_share


def ratio(x, y):
    return x / y


def problem_of():
    base = Problem.of(
        [mixed, ratio],
        {"x": normal(10, 1), "y": lognormal(2, 0.4), "stall_share": bernoulli(0.02)},
        targets={"mixed": Target(15, 30), "ratio": Target(upper=9)},
        scales={"ratio": "log2"},
    )
    factors = tuple(replace(f, event=f.id == "stall_share") for f in base.factors)
    return replace(base, factors=factors)


def test_a_streamed_summary_equals_that_of_kept_draws():
    kept = summarise(simulate(problem_of(), 2**17))

    streamed = summarise_large(problem_of(), 2**17)

    u = kept["standard_uncertainty"]
    for name in ("in_target", "in_target_with_events", "in_target_error", "bad_draws"):
        np.testing.assert_allclose(streamed[name], kept[name], rtol=1e-12)
    np.testing.assert_allclose(streamed["standard_uncertainty"], u, rtol=1e-9)
    for name in ("estimate", "median", "low", "high"):
        assert float(abs((streamed[name] - kept[name]) / u).max()) < 2e-3
    for name in ("joint_in_target", "joint_in_target_error", "event_chance"):
        assert streamed.attrs[name] == pytest.approx(kept.attrs[name], rel=1e-9)
    assert streamed.attrs["draws"] == kept.attrs["draws"]


def test_threads_change_no_bit():
    with ThreadPoolExecutor(3) as threads:
        there = summarise_large(problem_of(), 2**17, executor=threads)

    assert there.identical(summarise_large(problem_of(), 2**17))


def test_draws_without_a_value_refuse_the_interval_here_too():
    problem = Problem.of([np_log], {"x": uniform(-0.5, 9.5)})

    found = summarise_large(problem, 2**14)

    assert np.isnan(found["low"][0])
    assert "no interval" in found.attrs["notes"]


def np_log(x):
    return np.log(x)


def test_a_quantity_without_spread_keeps_its_value():
    fixed = dict.fromkeys(("x1", "x2", "x3"), 1.0)

    found = summarise_large(Problem.of([sum_of_four], {"x4": normal(0, 1e-30)}, fixed=fixed), 1024)

    assert float(found["median"][0]) == 3.0
    assert float(found["standard_uncertainty"][0]) == pytest.approx(0.0, abs=1e-12)


def heavy(count=40_000):
    return student_t(0, 1, 3).from_score(np.random.default_rng(3).standard_normal(count))


def test_merged_histograms_are_the_histogram_of_everything():
    values = heavy()
    whole = Histogram.around(values[:1000])
    parts = [whole.empty() for _ in range(4)]

    whole.add(values)
    for part, own in zip(parts, np.split(values, 4), strict=True):
        part.add(own)
    merged = parts[2]
    for place in (0, 3, 1):
        merged.merge(parts[place])

    assert (merged.level, merged.first) == (whole.level, whole.first)
    np.testing.assert_array_equal(merged.counts, whole.counts)
    assert merged.total == values.size


def test_a_histogram_widens_for_what_lies_far_outside():
    values = np.concatenate([heavy(), [-1e4, 3e5]])
    histogram = Histogram.around(np.array([0.0, 1.0]))

    histogram.add(values)

    assert histogram.total == values.size
    assert len(histogram.counts) <= MOST_BINS
    assert histogram.quantile(1.0) == 3e5
    assert histogram.quantile(0.0) == -1e4


def test_quantiles_are_good_to_a_bin():
    values = heavy()
    histogram = Histogram.around(values[:1000])
    histogram.add(values)

    for probability in (0.05, 0.5, 0.95):
        step = histogram.width * 2.0**histogram.level
        assert histogram.quantile(probability) == pytest.approx(
            np.quantile(values, probability), abs=2 * step
        )


def test_an_empty_histogram_has_no_quantile():
    empty = Histogram(0.0, 1.0)
    empty.add(np.empty(0))
    empty.merge(Histogram(0.0, 1.0))

    assert np.isnan(empty.quantile(0.5))
