"""Shares of a variance that few draws carry, or that an input does not have, are told as rough."""

import json
import warnings

import numpy as np
import pytest
import xarray as xr

from brewsim.distributions.constructors import lognormal, normal, student_t
from brewsim.errors import StudyError
from brewsim.study.model.problem import Problem
from brewsim.study.model.replicates import half_width
from brewsim.study.propagation.simulate import simulate
from brewsim.study.propagation.summary import summarise
from brewsim.study.sensitivity.far_draws import lumps, with_shares_that_can_be
from brewsim.study.sensitivity.from_draws import first_order_from_draws
from brewsim.study.sensitivity.shapley import shapley
from brewsim.study.sensitivity.sobol import _ratio, rank


def product(a, b):
    return a * b


def notes(study, law, **options):
    problem = Problem.of([product], {"a": law, "b": normal(1, 0.1)}, **options)
    return json.loads(study(problem, base=256).attrs["notes"])


@pytest.mark.parametrize("study", [rank, shapley])
def test_far_draws_are_told_and_a_log_scale_settles_them(study):
    rough = "product: a few far draws carry its variance: take its shares as rough"

    assert notes(study, normal(0, 1)) == []
    assert notes(study, lognormal(1, 0.2)) == []
    assert notes(study, lognormal(1, 1.5)) == [rough]
    assert notes(study, lognormal(1, 1.5), scales={"product": "log"}) == []


@pytest.mark.parametrize("study", [rank, shapley])
def test_an_input_without_variance_is_named(study):
    told = notes(study, student_t(0, 1, 2))

    assert told[0].startswith("a: without a variance")


def test_lumps_are_those_of_a_normals_square():
    """E z^2 = 1, E z^4 = 3, E z^6 = 15; what is not finite is left out."""
    values = np.random.default_rng(3).standard_normal((1, 2**20))
    values[0, :5] = np.nan

    assert lumps(values)[0] == pytest.approx([1, 3, 15], rel=0.02)


def test_a_constant_has_no_lumps():
    assert not lumps(np.full((1, 64), 0.1)).any()


def table(total, high, first=0.2):
    """A ranking of one input for two outcomes, the second as it should be."""
    values = {
        "first_order": [first, 0.3],
        "first_order_low": [0.1, 0.2],
        "first_order_high": [0.3, 0.4],
        "total_order": [total, 0.4],
        "total_order_low": [0.1, 0.3],
        "total_order_high": [high, 0.5],
        "distinguishable": [True, True],
    }
    columns = {key: (("outcome", "factor"), [[x] for x in pair]) for key, pair in values.items()}
    told = json.dumps(["y: rough", "z: rough"])
    return xr.Dataset(columns, {"outcome": ["y", "z"], "factor": ["a"]}, {"notes": told})


@pytest.mark.parametrize(("total", "first"), [(10.0, 0.2), (-1e200, 0.2), (0.5, 11.0)])
def test_a_share_of_ten_times_the_whole_is_none_and_told(total, first):
    found = with_shares_that_can_be(table(total, 0.9, first))

    for key in ("first_order", "total_order", "first_order_low", "total_order_high"):
        assert np.isnan(found[key].sel(outcome="y").item())
        assert found[key].sel(outcome="z").item() < 1
    assert found["distinguishable"].to_numpy().ravel().tolist() == [False, True]
    told = "y: no share can be told where single draws carry its variance"
    assert json.loads(found.attrs["notes"]) == ["z: rough", told]


def test_an_interval_that_cannot_be_is_none_and_the_share_stays():
    usual = table(9.9, 9.9)
    found = with_shares_that_can_be(table(0.5, 10.0))

    assert with_shares_that_can_be(usual).identical(usual)
    assert found["total_order"].sel(outcome="y").item() == 0.5
    assert np.isnan(found["total_order_low"].sel(outcome="y").item())
    assert found["first_order_low"].sel(outcome="y").item() == 0.1
    assert json.loads(found.attrs["notes"]) == ["y: rough", "z: rough"]


@pytest.mark.parametrize("unit", [1e-300, 1e-170, 1e200])
@pytest.mark.parametrize("study", [rank, shapley])
def test_values_without_squares_have_no_shares_and_it_is_said(study, unit):
    def amount(a, b):
        return unit * (a + 2 * b)

    table = study(Problem.of([amount], {"a": normal(1, 0.3), "b": normal(2, 0.4)}), base=64)
    share = "first_order" if study is rank else "shapley"

    assert np.isnan(table[share]).all()
    assert "amount: values this large or small have no squares" in table.attrs["notes"]


@pytest.mark.parametrize("unit", [1e-300, 1e200])
def test_a_summary_of_values_without_squares_keeps_its_quantiles_alone(unit):
    def amount(a):
        return unit * a

    draws = simulate(Problem.of([amount], {"a": normal(1, 0.3)}), 1024, keep_scores=True)
    table = summarise(draws).sel(outcome="amount")

    assert float(table["median"]) == pytest.approx(unit, rel=0.01)
    assert np.isnan(table["standard_uncertainty"])
    assert np.isnan(table["estimate_error"])
    assert "give the outcome another unit" in table.attrs["notes"]
    assert np.isnan(first_order_from_draws(draws)["first_order"]).all()


def test_a_ranking_takes_sixteen_rows_a_replicate_or_more():
    problem = Problem.of([product], {"a": normal(1, 0.1), "b": normal(1, 0.1)})

    assert float(rank(problem, base=16)["total_order"].sum()) == pytest.approx(1.0, abs=0.1)
    with pytest.raises(StudyError, match="at least 16, not 8"):
        rank(problem, base=8)


def test_figures_that_are_infinite_in_a_replicate_warn_of_nothing():
    with warnings.catch_warnings():
        warnings.simplefilter("error")

        assert np.isnan(half_width(np.array([1.0, np.inf, 2.0])))
        assert np.isnan(_ratio(np.array([np.inf]), np.array([np.inf])))
