"""Worts of a beer that ferments: arrays, and the extract at which it ends."""

from pathlib import Path

import numpy as np

from brewsim.formulas.beer import fermentation

PRIORS = Path(__file__).parents[3] / "priors"


ZERO, ONE = np.zeros(1), np.ones(1)


def a(*values):
    return np.array(values, dtype=float)


def column(*values):
    return a(*values).reshape(-1, 1)


def limit(original=12.0, base=0.78, sugar_share=0.0, fermentable=0.0, grist=1.0, soured=0.0):
    ratio = fermentation.real_extract_ratio_factor(a(original), a(base), ZERO)
    real = fermentation.real_attenuation_fraction(
        a(sugar_share), ratio, a(grist), a(base), a(fermentable), a(soured)
    )
    return fermentation.limit_extract_plato(a(original), real, ratio)[0]
