"""Twelve classic beers: the middle of each figure lies where a style guideline has it.

Ranges: Beer Judge Certification Program, Style Guidelines, 2021 (from memory). The recipes are this
project's own and state no efficiency and no attenuation: what is held here is what brewsim assumes.
"""

from pathlib import Path

import numpy as np
import pytest

from brewsim import pose, read_recipe, simulate
from brewsim.recipe.read import parse_recipe

CLASSICS = Path(__file__).parent / "classics"
FIGURES = (
    "original_gravity_sg",
    "final_gravity_sg",
    "alcohol_by_volume_fraction",
    "bitterness_ibu",
    "beer_color_srm",
)
SRM_PER_EBC = 12.7 / 25
# OG, FG, ABV in %, IBU, SRM
RANGES = {
    "pale-lager": ((1.044, 1.050), (1.008, 1.013), (4.4, 5.2), (22, 40), (2, 4)),
    "ordinary-bitter": ((1.030, 1.039), (1.007, 1.011), (3.2, 3.8), (25, 35), (8, 14)),
    "american-pale-ale": ((1.045, 1.060), (1.010, 1.015), (4.5, 6.2), (30, 50), (5, 10)),
    "american-ipa": ((1.056, 1.070), (1.008, 1.014), (5.5, 7.5), (40, 70), (6, 14)),
    "irish-stout": ((1.036, 1.044), (1.007, 1.011), (3.8, 5.0), (25, 45), (25, 40)),
    "weissbier": ((1.044, 1.053), (1.008, 1.014), (4.3, 5.6), (8, 15), (2, 6)),
    "english-barley-wine": ((1.080, 1.120), (1.018, 1.030), (8.0, 12.0), (35, 70), (8, 22)),
    "dark-mild": ((1.030, 1.038), (1.008, 1.013), (3.0, 3.8), (10, 25), (14, 25)),
    "saison": ((1.048, 1.065), (1.002, 1.008), (5.0, 7.0), (20, 35), (5, 14)),
    "sweet-stout": ((1.044, 1.060), (1.012, 1.024), (4.0, 6.0), (20, 40), (30, 40)),
    "british-brown-ale": ((1.040, 1.052), (1.008, 1.013), (4.2, 5.9), (20, 30), (12, 22)),
    "berliner-weisse": ((1.028, 1.032), (1.003, 1.006), (2.8, 3.8), (3, 8), (2, 3)),
}
ROUNDING = {
    "original_gravity_sg": 0.0005,
    "final_gravity_sg": 0.0005,
    "alcohol_by_volume_fraction": 0.05,
    "bitterness_ibu": 0.5,
    "beer_color_srm": 0.5,
}
"""Half the last digit a guideline prints: a middle is held as it would be printed."""


def middles(name):
    drawn = simulate(pose(read_recipe(CLASSICS / f"{name}.toml")), draws=2048, seed=1)
    found = {q: float(np.median(drawn[q])) for q in FIGURES if q in drawn}
    found["alcohol_by_volume_fraction"] *= 100
    found["beer_color_srm"] = float(np.median(drawn["beer_color_ebc"])) * SRM_PER_EBC
    return found


def test_every_classic_has_its_recipe_and_its_range():
    assert {path.stem for path in CLASSICS.glob("*.toml")} == set(RANGES)
    assert len(RANGES) == 12


@pytest.mark.parametrize("name", RANGES)
def test_the_middles_of_a_classic_lie_in_its_guideline(name):
    found = middles(name)
    outside = {
        figure
        for figure, (low, high) in zip(FIGURES, RANGES[name], strict=True)
        if not low - ROUNDING[figure] <= found[figure] <= high + ROUNDING[figure]
    }

    assert outside == set(), found


def test_a_barley_wine_with_seventy_grams_of_strong_hops_is_brewed():
    text = (CLASSICS / "english-barley-wine.toml").read_text(encoding="utf-8")
    problem = pose(parse_recipe(text.replace('mass = "44 g"', 'mass = "70 g"')))

    assert problem.fixed["hop_mass_g"].max() == 70.0
