"""Fifty true draws stand for all of them."""

import numpy as np
import pytest

from brewsim.errors import StudyError
from brewsim.study.propagation.linked_draws import (
    HALF_A_DOT,
    MARGIN,
    Count,
    Margin,
    _Search,
    linked_draws,
)

RNG = np.random.default_rng(3)
N = 1024
FIRST = RNG.normal(20, 4, N)
SECOND = 0.6 * (FIRST - 20) / 4 + RNG.normal(0, 0.8, N)
THIRD = RNG.lognormal(0, 1, N)


def _asked():
    shares = (np.arange(50) + 0.5) / 50
    values = {"first": FIRST, "second": SECOND, "third": np.log2(THIRD)}
    inside = {"first": (FIRST > 18) & (FIRST < 26), "second": SECOND > 0}
    inside["both"] = inside["first"] & inside["second"]
    margins = {n: Margin(v, np.quantile(v, shares)) for n, v in values.items()}
    return margins, {n: Count(v, float(v.mean())) for n, v in inside.items()}


def test_margins_and_counts_are_those_of_all_draws():
    margins, counts = _asked()
    found = linked_draws(margins, counts)
    assert len(set(found.places.tolist())) == 50
    for name, margin in margins.items():
        chosen = np.sort(margin.values[found.places])
        off = np.abs(chosen - margin.quantiles).mean() / margin.values.std()
        assert off <= MARGIN, name
        assert off == pytest.approx(found.margins[name])
    for name, count in counts.items():
        off = abs(count.inside[found.places].sum() - 50 * count.chance)
        assert off <= HALF_A_DOT, name
        assert off == pytest.approx(found.counts[name])
    assert found.holds


def test_correlations_of_the_chosen_are_near_those_of_all():
    margins, counts = _asked()
    places = linked_draws(margins, counts).places
    all_of_them = np.corrcoef(FIRST, SECOND)[0, 1]
    assert abs(np.corrcoef(FIRST[places], SECOND[places])[0, 1] - all_of_them) < 0.1


def test_one_seed_gives_one_choice():
    margins, counts = _asked()
    first, again = (linked_draws(margins, counts, seed=5) for _ in range(2))
    assert (first.places == again.places).all()


def test_a_draw_without_a_value_is_never_chosen():
    margins, counts = _asked()
    hole = FIRST.copy()
    hole[:900] = np.nan
    margins["first"] = Margin(hole, margins["first"].quantiles)
    assert (linked_draws(margins, counts).places >= 900).all()


def test_too_few_draws_with_a_value_are_refused():
    margins, counts = _asked()
    margins["first"] = Margin(np.where(np.arange(N) < 49, FIRST, np.nan), FIRST[:50])
    with pytest.raises(StudyError, match="49 draws with a value"):
        linked_draws(margins, counts)


def test_an_outcome_that_never_changes_costs_nothing():
    margins, counts = _asked()
    margins["same"] = Margin(np.full(N, 2.0), np.full(50, 2.0))
    assert linked_draws(margins, counts).margins["same"] == 0


def test_an_exchange_moves_a_margin_by_the_area_that_ordering_anew_finds():
    margins, counts = _asked()
    search = _Search(margins, counts, 50)
    chosen, free = np.arange(50), np.arange(50, 130)

    moved = [line.moved(chosen, chosen[:7], free) for line in search._lines]

    anew = np.tile(chosen, (7, len(free), 1))
    for slot in range(7):
        anew[slot, :, slot] = free
    after = search._off(anew.reshape(-1, 50))[0].reshape(7, len(free), 3)
    np.testing.assert_allclose(
        np.stack(moved, axis=2), after - search._off(chosen[None])[0], atol=1e-13
    )
