"""Fifty batches of every demo stand for all draws: margins and counts, by their definitions."""

import numpy as np
import pytest

import brewsim
from brewsim.answers.fifty import fifty_batches, pictured
from brewsim.answers.ratio_sides import known_ratios
from brewsim.study.model import targets
from brewsim.study.steering.surface_fit import surfaces
from tests.door import DEMOS


@pytest.mark.slow
@pytest.mark.parametrize("demo", ["lager", "bitter", "pale"])
def test_fifty_batches_have_the_margins_and_the_counts_of_all_draws(demo):
    """Quantiles within 0.05 standard deviations on average, counts within half a batch."""
    problem = brewsim.pose(brewsim.read_recipe(DEMOS / f"quillhaven-{demo}.toml"))
    drawn = brewsim.simulate(problem)
    fitted = surfaces(problem, pictured(problem), known_ratios(problem))

    found = fifty_batches(problem, drawn, fitted)

    usual = ~drawn["event"].to_numpy().astype(bool) if "event" in drawn else slice(None)
    landed = []
    for name in found.names:
        every, fifty = drawn[name].to_numpy()[usual], found.values[name]
        landed.append(targets.lands(every, problem.targets[name]))
        assert abs(found.inside[name].sum() - 50 * landed[-1].mean()) <= 0.5 + 1e-9
        if problem.scales.get(name, "linear") != "linear":
            every, fifty = np.log2(every), np.log2(fifty)
        wanted = np.quantile(every, (np.arange(50) + 0.5) / 50)
        assert np.abs(np.sort(fifty) - wanted).mean() <= 0.05 * every.std()
    together = np.logical_and.reduce(landed)
    assert abs(found.count - 50 * together.mean()) <= 0.5 + 1e-9
    assert len(set(found.places.tolist())) == 50
