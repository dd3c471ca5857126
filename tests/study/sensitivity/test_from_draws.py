"""First-order indices from draws already made, against closed forms."""

import numpy as np
import pytest

from brewsim.errors import StudyError
from brewsim.study.propagation.simulate import simulate
from brewsim.study.sensitivity.from_draws import first_order_from_draws
from tests.study.models import ishigami_problem, within


def test_ishigamis_first_order_indices():
    """a = 7, b = 0.1: .313905, .442411, 0 (Ishigami & Homma 1990, closed form)."""
    found = first_order_from_draws(simulate(ishigami_problem(), 16_384, keep_scores=True))

    share = found["first_order"].to_numpy()[0]
    error = found["first_order_high"].to_numpy()[0] - share
    for value, exact, half in zip(share, (0.313905, 0.442411, 0.0), error, strict=True):
        assert within(value, exact, max(half, 1e-3))


def test_draws_in_another_order_give_the_same():
    draws = simulate(ishigami_problem(), 4096, keep_scores=True)
    order = np.random.default_rng(2).permutation(4096)

    one = first_order_from_draws(draws)["first_order"]
    other = first_order_from_draws(draws.isel(draw=order))["first_order"]

    np.testing.assert_allclose(one, other, atol=1e-9)


def test_draws_without_scores_are_refused_in_words():
    with pytest.raises(StudyError, match="keep_scores=True"):
        first_order_from_draws(simulate(ishigami_problem(), 128))
