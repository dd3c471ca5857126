"""A small invented model with the shape of a beer, to build pages from: not real numbers."""

from dataclasses import replace

import numpy as np

from brewsim.distributions.constructors import lognormal, normal
from brewsim.study.model.factor import Kinds
from brewsim.study.model.knob import Knob
from brewsim.study.model.problem import Problem
from brewsim.study.model.targets import Target

NAME = "Quillhaven lager"


def original_gravity_sg(mash_efficiency_fraction, wort_volume_l):
    """Original gravity."""
    return 1 + 1.33 * mash_efficiency_fraction / wort_volume_l


def alcohol_by_volume_fraction(original_gravity_sg, attenuation_fraction):
    """Alcohol."""
    return 1.3125 * (original_gravity_sg - 1) * attenuation_fraction


def bitterness_ibu(hop_mass_g, alpha_fraction, utilization_factor, wort_volume_l):
    """Bitterness."""
    return hop_mass_g * alpha_fraction * 1000 * utilization_factor / wort_volume_l


def beer_color_ebc(malt_color_ebc, boil_factor):
    """Colour of the beer."""
    return malt_color_ebc * boil_factor


def free_3sh_ng_l(powder_dose_g_l, powder_content_nmol_g, release_fraction):
    """Free 3SH (grapefruit, passion fruit)."""
    return 10 + powder_dose_g_l * powder_content_nmol_g * release_fraction


def thiol_lead(free_3sh_ng_l, hop_aroma_activity):
    """Thiols over hop aroma."""
    return np.log2(free_3sh_ng_l / 40 / hop_aroma_activity)


def carbonation_vol(priming_sugar_g_l, residual_extract_plato):
    """Carbonation."""
    return 0.85 + priming_sugar_g_l / 3.9 + 1.9 * residual_extract_plato


FORMULAS = (
    original_gravity_sg,
    alcohol_by_volume_fraction,
    bitterness_ibu,
    beer_color_ebc,
    free_3sh_ng_l,
    thiol_lead,
    carbonation_vol,
)

_M = "measure"

# middle, spread, in folds, shares of knowledge, lot and batch, what it is, group, mark
_FACTORS = {
    "mash_efficiency_fraction": (0.72, 0.018, False, (0.6, 0, 0.4), "mash efficiency", "mash", ""),
    "wort_volume_l": (20.0, 0.3, False, (0.5, 0, 0.5), "wort volume", "kettle", "turn"),
    "attenuation_fraction": (0.79, 0.02, False, (0.5, 0, 0.5), "attenuation", "yeast", ""),
    "alpha_fraction": (0.05, 0.12, True, (0, 1, 0), "alpha acid of the lot", "hops", _M),
    "utilization_factor": (0.25, 0.2, True, (0.9, 0, 0.1), "hop utilization", "kettle", ""),
    "malt_color_ebc": (5.5, 0.1, True, (0, 1, 0), "malt colour", "malt", _M),
    "boil_factor": (1.3, 0.12, True, (0.7, 0, 0.3), "colour rise in the boil", "kettle", ""),
    "powder_content_nmol_g": (60.0, 0.5, True, (0.3, 0.7, 0), "powder content", "powder", _M),
    "release_fraction": (0.3, 0.6, True, (0.6, 0, 0.4), "release by the yeast", "yeast", ""),
    "hop_aroma_activity": (0.8, 0.35, True, (0.6, 0.4, 0), "hop aroma", "hops", ""),
    "residual_extract_plato": (0.05, 0.9, True, (0.2, 0, 0.8), "extract left over", "package", _M),
}  # fmt: skip


def small_problem(name=NAME):
    """A posed problem: seven formulas, eleven factors, three targets, two knobs."""
    settings = {"hop_mass_g": 35.0, "powder_dose_g_l": 2.5, "priming_sugar_g_l": 6.2}
    factors = {
        quantity: ((lognormal if folds else normal)(middle, spread), Kinds(*shares))
        for quantity, (middle, spread, folds, shares, *_) in _FACTORS.items()
    }
    problem = Problem.of(
        FORMULAS,
        factors,
        fixed=settings,
        outcomes=[formula.__name__ for formula in FORMULAS],
        targets={
            "alcohol_by_volume_fraction": Target(0.048, 0.054),
            "bitterness_ibu": Target(18, 26),
            "thiol_lead": Target(-1, 1),
        },
        scales={"free_3sh_ng_l": "log2"},
        knobs=(
            Knob("powder dose", "powder dose", "powder_dose_g_l", None, 0.0, 4.0, 0.25, "g/L"),
            Knob("hop mass", "hop mass", "hop_mass_g", None, 0.0, 80.0, 5.0, "g"),
        ),
        name=name,
    )
    named = tuple(
        replace(
            factor,
            label=_FACTORS[factor.id][4],
            group=_FACTORS[factor.id][5],
            turnable=_FACTORS[factor.id][6] == "turn",
            measurable=_FACTORS[factor.id][6] == "measure",
        )
        for factor in problem.factors
    )
    return replace(problem, factors=named)
