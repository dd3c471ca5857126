"""A recipe that states no efficiency gets the usual one, wider and falling with gravity."""

import numpy as np
import pytest

from brewsim.logbook.pose import pose
from brewsim.recipe.read import parse_recipe
from brewsim.study.propagation.simulate import simulate

EFFICIENCY = "mash_efficiency_fraction"
BASE = """name = "Plain ale"
volume = "20 L"
boil = "60 min"
{more}
[[malt]]
name = "British pale ale malt"
mass = "{grain} kg"
[package]
container = "keg"
"""


@pytest.fixture
def efficiency():
    def drawn(more="", grain=4.5, priors=None):
        problem = pose(parse_recipe(BASE.format(more=more, grain=grain)), priors=priors)
        return np.asarray(simulate(problem, 1024, seed=2, keep=[EFFICIENCY])[EFFICIENCY].values)

    return drawn


def test_an_efficiency_nobody_states_is_wide_and_a_stated_one_narrow(efficiency):
    unknown, stated = efficiency(), efficiency('efficiency = "75 %"')

    assert 0.68 < np.median(unknown) < 0.78
    assert 0.08 < unknown.std() < 0.13
    assert np.median(stated) == pytest.approx(0.75, abs=0.005)
    assert stated.std() < 0.06


def test_an_efficiency_nobody_states_falls_with_the_grist(efficiency):
    light, strong = np.median(efficiency(grain=3.0)), np.median(efficiency(grain=9.0))

    assert light - strong > 0.08


def test_an_own_prior_of_the_efficiency_counts_as_stating_it(efficiency, tmp_path):
    own = tmp_path / "own.toml"
    own.write_text(
        '[stated_mash_efficiency_fraction]\nfamily = "normal"\nmean = 0.82\nsd = 0.01\n'
        'unit = ""\nkinds = { batch = 1.0 }\ngrade = "assumption"\nsource = "assumption"\n',
        encoding="utf-8",
    )
    drawn = efficiency(priors=own)

    assert np.median(drawn) == pytest.approx(0.82, abs=0.003)
    assert drawn.std() < 0.012


def test_given_and_recipe_priors_state_an_efficiency_too(efficiency):
    name = "stated_mash_efficiency_fraction"
    for table in ("given", "priors"):
        drawn = efficiency(f'[{table}]\n{name} = "70 ± 1 %"')

        assert np.median(drawn) == pytest.approx(0.70, abs=0.003), table
        assert drawn.std() < 0.01, table


def test_a_stated_attenuation_keeps_the_narrow_spread_of_an_own_figure():
    text = BASE.format(more="", grain=4.5) + '[yeast]\nname = "clean ale yeast"\n'
    stated = pose(parse_recipe(text + 'attenuation = "78 %"\n')).factor(
        "strain_attenuation_fraction"
    )
    unknown = pose(parse_recipe(text)).factor("strain_attenuation_fraction")

    assert stated.distribution.standard_deviation < 0.042
    assert unknown.distribution.standard_deviation == pytest.approx(0.055, abs=0.002)
