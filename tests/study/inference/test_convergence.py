"""Whether a run has settled: the error of its means, its chains, its halves."""

import numpy as np
import pytest

from brewsim.study.inference.convergence import reached_by


def kept_draws(steps=64, latents=20, chains=256):
    return np.random.default_rng(5).standard_normal((steps, latents, chains))


def test_independent_draws_are_known_to_one_over_the_root_of_their_number():
    """64 x 256 independent draws: a mean has a standard error of 1/128 of their spread.

    The largest of twenty half widths (t with 7 degrees, 2.36) lies above it and not far above.
    """
    reached = reached_by(3.0 + 10.0 * kept_draws())

    assert reached.precision == pytest.approx(1 / 128, rel=0.15)
    assert 2.36 / 128 < reached.worst < 2.5 * 2.36 / 128
    assert reached.settled


def test_chains_that_stay_apart_are_not_settled():
    """Groups of chains whose middles differ by one spread: the error is 1/sqrt(2 x 8)."""
    middles = np.repeat([-1.0, 1.0] * 4, 32)

    reached = reached_by(kept_draws() + middles)

    exact = np.std([-1.0, 1.0] * 4, ddof=1) / np.sqrt(8) / np.sqrt(2)
    assert reached.precision == pytest.approx(exact, rel=0.02)
    assert not reached.settled


def test_a_run_that_still_wanders_shows_it_by_its_halves():
    still = kept_draws()
    wandering = still + np.linspace(-0.2, 0.2, len(still))[:, None, None]

    assert reached_by(still).drift < 3.0
    assert reached_by(wandering).drift > 3.0


@pytest.mark.parametrize(("latents", "limit"), [(2, 3.0), (50, 3.0), (500, 4.27), (1000, 4.74)])
def test_the_worst_of_many_latents_may_drift_further_by_chance(latents, limit):
    """Quantiles of Student's t with 7 degrees, 1 - 0.005 / latents, over the one at 0.975."""
    rng = np.random.default_rng(latents)
    found = [reached_by(rng.standard_normal((8, latents, 16))) for _ in range(60)]

    assert found[0].drift_limit == pytest.approx(limit, abs=0.02)
    assert sum(one.drift > one.drift_limit for one in found) <= 3


def test_drift_is_half_the_change_between_halves_over_the_half_width():
    """One latent: a step of 0.3 between the halves takes each from the mean of all by 0.15."""
    kept = kept_draws(latents=1)
    kept[len(kept) // 2 :] += 0.3
    halves = kept[: len(kept) // 2].mean(), kept[len(kept) // 2 :].mean()
    moved = abs(halves[1] - halves[0]) / 2 / kept.std()

    found = reached_by(kept)

    assert found.drift == pytest.approx(moved / found.worst, rel=1e-6)
