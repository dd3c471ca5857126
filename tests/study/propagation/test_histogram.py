"""Histograms and streamed sums, counted by hand."""

import json
from dataclasses import replace

import numpy as np
import pytest

from brewsim.distributions.constructors import bernoulli, normal, uniform
from brewsim.study.model.problem import Problem
from brewsim.study.model.targets import Target
from brewsim.study.propagation.histogram import BINS_AT_FIRST, MOST_BINS, Histogram, _coarser
from brewsim.study.propagation.simulate import simulate
from brewsim.study.propagation.streaming import summarise_large
from brewsim.study.propagation.summary import summarise


def filled(*values, width=1.0):
    histogram = Histogram(0.0, width)
    histogram.add(np.array(values, dtype=float))
    return histogram


def test_a_bin_holds_what_is_from_its_lower_end_up_to_the_next():
    found = filled(0.0, 0.99, 1.0, 3.5, -0.5)

    assert (found.first, found.level) == (-1, 0)
    assert found.counts.tolist() == [1, 2, 1, 0, 1]
    assert (found.low, found.high, found.total) == (-0.5, 3.5, 5)


def test_pairs_of_bins_join_from_an_even_bin_on():
    """Bins 0 and 1 make bin 0; an odd first or a missing last bin has an empty partner."""
    at, found = _coarser(0, np.array([1, 2, 3, 4]), 1)
    odd_at, odd = _coarser(3, np.array([1, 2, 4]), 1)
    below, left = _coarser(-3, np.array([1, 2, 4]), 1)
    twice, small = _coarser(1, np.array([1, 2, 4]), 2)

    assert (at, found.tolist()) == (0, [3, 7])
    assert (odd_at, odd.tolist()) == (1, [1, 6])
    assert (below, left.tolist()) == (-2, [1, 6])
    assert (twice, small.tolist()) == (0, [7])
    assert _coarser(5, np.array([9]), 0)[0] == 5


def test_the_grid_gets_as_coarse_as_it_must_and_no_coarser():
    just = filled(0.0, MOST_BINS - 0.5)
    over = filled(0.0, MOST_BINS + 0.5)

    assert (just.level, len(just.counts)) == (0, MOST_BINS)
    assert (over.level, len(over.counts)) == (1, MOST_BINS // 2 + 1)
    assert over.counts[[0, -1]].tolist() == [1, 1]


def test_a_grid_suits_the_values_it_is_made_for():
    wide, still = Histogram.around(np.array([2.0, 6.0])), Histogram.around(np.array([7.0, 7.0]))
    nothing = Histogram.around(np.zeros(3))

    assert (wide.origin, wide.width, wide.total) == (2.0, 4.0 / BINS_AT_FIRST, 0)
    assert still.width == pytest.approx(7e-9 / BINS_AT_FIRST)
    assert nothing.width == pytest.approx(1e-9 / BINS_AT_FIRST)
    assert (wide.empty().origin, wide.empty().width) == (wide.origin, wide.width)


@pytest.mark.parametrize(
    ("probability", "value"),
    [(0.0, 0.5), (0.1875, 0.75), (0.25, 1.0), (0.5, 5 + 2 / 6), (0.625, 5 + 3 / 6), (1.0, 5.9)],
)
def test_a_quantile_lies_straight_inside_its_bin_and_never_beyond_the_extremes(probability, value):
    """Two values in the bin from 0 and six in that from 5; the least is 0.5, the most 5.9."""
    found = filled(0.5, 0.6, 5.1, 5.9, 5.2, 5.3, 5.4, 5.5)

    assert found.counts.tolist() == [2, 0, 0, 0, 0, 6]
    assert found.quantile(probability) == pytest.approx(value)


def test_merging_nothing_or_into_nothing_keeps_what_there_is():
    one = filled(1.5, 2.5)
    empty = Histogram(0.0, 1.0)

    one.merge(Histogram(0.0, 1.0))
    empty.merge(one)

    assert (empty.first, empty.counts.tolist()) == (one.first, one.counts.tolist()) == (1, [1, 1])
    assert (empty.low, empty.high) == (1.5, 2.5)


def test_a_coarser_histogram_takes_a_finer_one_in():
    coarse, fine = filled(0.0, MOST_BINS + 0.5), filled(3.5, 4.5, 5.5, -0.5)

    coarse.merge(fine)

    assert (coarse.level, coarse.first, coarse.total) == (1, -1, 6)
    assert coarse.counts[:5].tolist() == [1, 1, 1, 2, 0]


def stalled(x, stall_share):
    return x + 10 * stall_share


def other(x):
    return -1.0 * x


def eventful():
    base = Problem.of(
        [stalled, other],
        {"x": normal(0, 1), "stall_share": bernoulli(0.25)},
        targets={"stalled": Target(-1.0, 11.0), "other": Target(0.0, None)},
    )
    factors = tuple(replace(f, event=f.id == "stall_share") for f in base.factors)
    return replace(base, factors=factors)


def test_events_are_left_out_of_streamed_chances_and_kept_beside_them():
    """Usual: x in (-1, 0); with a quarter of events x in (-9, 0) as well, by Phi."""
    kept, found = summarise(simulate(eventful(), 2**14)), summarise_large(eventful(), 2**14)

    assert found.attrs["joint_in_target"] == pytest.approx(0.34134, abs=0.003)
    exact = 0.75 * 0.34134 + 0.25 * 0.5
    assert found.attrs["joint_in_target_with_events"] == pytest.approx(exact, abs=0.003)
    assert found.attrs["event_chance"] == pytest.approx(0.25, abs=0.003)
    for name in ("joint_in_target", "joint_in_target_with_events", "event_chance"):
        assert found.attrs[name] == pytest.approx(kept.attrs[name], rel=1e-12)
        assert found.attrs[f"{name}_error"] == pytest.approx(kept.attrs[f"{name}_error"], rel=1e-9)
    for name in ("in_target", "in_target_with_events", "in_target_with_events_error"):
        np.testing.assert_allclose(found[name], kept[name], rtol=1e-9)


def test_streamed_counts_of_what_went_odd_are_those_of_kept_draws():
    def broken(x):
        return np.log(x)

    problem = Problem.of([broken], {"x": uniform(-1, 99)}, scales={"broken": "log2"})
    kept, found = simulate(problem, 2**14), summarise_large(problem, 2**14)

    assert json.loads(found.attrs["not_finite"]) == json.loads(kept.attrs["not_finite"])
    assert np.isnan(found.attrs["joint_in_target"])


def test_an_outcome_without_any_value_has_no_streamed_figure():
    def never(x):
        return np.log(-1.0 - x * x)

    with np.errstate(invalid="ignore"):
        found = summarise_large(Problem.of([never], {"x": normal(0, 1)}), 1024)

    assert int(found["bad_draws"][0]) == 1024
    assert np.isnan([float(found[k][0]) for k in ("estimate", "median", "low", "high")]).all()


@pytest.mark.parametrize("scale", ["linear", "log", "log2"])
def test_streamed_figures_of_any_scale_are_those_of_kept_draws(scale):
    def spread(x):
        return np.exp(x)

    problem = Problem.of([spread], {"x": normal(1, 0.5)}, scales={"spread": scale})
    kept, found = summarise(simulate(problem, 2**14), 0.8), summarise_large(problem, 2**14, 1, 0.8)

    for name in ("estimate", "median", "low", "high", "standard_uncertainty"):
        np.testing.assert_allclose(found[name], kept[name], rtol=2e-3)


@pytest.mark.parametrize("start", [-MOST_BINS, -MOST_BINS // 2, 0, 10 * MOST_BINS])
def test_the_grid_is_judged_by_how_many_bins_it_spans_wherever_they_lie(start):
    just = filled(start + 0.5, start + MOST_BINS - 0.5)
    over = filled(start + 0.5, start + MOST_BINS + 0.5)

    assert (just.level, just.first, len(just.counts)) == (0, start, MOST_BINS)
    assert (over.level, over.first) == (1, start // 2)
