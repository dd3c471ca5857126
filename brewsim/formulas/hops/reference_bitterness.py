"""Bitterness by the formulas brewers usually use: side figures, and one of them as a variant.

Their utilization already holds losses and non-iso material, so nothing of the kinetic chain is
applied to them. All take the dose per litre after the boil.
"""

import numpy as np

from brewsim.constants import STILL_AIR_LIMIT_C
from brewsim.dims import FloatArray, Input, PerBatch, PerHop, Range

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(5)

INPUTS = {
    "usual_formula_error_unit": Input(
        (), "Error of the usual bitterness formula, in standard deviations"
    ),
}

VALID: dict[str, dict[str, Range]] = {
    "tinseth_ibu": {"tinseth_ibu": (0.0, 70.0)},
    "bitterness_ibu__empirical": {"bitterness_ibu": (0.0, 75.0)},
}


def tinseth_ibu(
    hop_alpha_in_kettle_mg_l: PerHop,
    hop_heat_time_min: PerHop,
    gravity_bitterness_factor: PerBatch,
) -> PerBatch:
    r"""Bitterness as the formula of Tinseth would have it.

    .. math:: \sum a_i \, B(\bar G) \, (1 - e^{-0.04 t_i}) / 4.15

    Source: Tinseth (1997), Glenn's Hop Utilization Numbers.
    Valid: below 70 IBU (about 310 mg/L of alpha acids), above which it reads far too high.
    """
    curve = -np.expm1(-0.04 * np.maximum(hop_heat_time_min, 0.0)) / 4.15
    return (hop_alpha_in_kettle_mg_l * curve).sum(axis=0) * gravity_bitterness_factor


def rager_ibu(
    hop_alpha_in_kettle_mg_l: PerHop,
    hop_heat_time_min: PerHop,
    preboil_gravity_sg: PerBatch,
    original_gravity_sg: PerBatch,
) -> PerBatch:
    r"""Bitterness as the formula of Rager would have it.

    .. math:: \sum a_i \frac{0.1811 + 0.1386 \tanh((t_i - 31.32)/18.27)}{1 + \max(G - 1.050, 0)/0.2}

    Source: Rager (1990), Zymurgy 13(4), 53, in its usual smooth form; 31.32 fits his table better
        than the 32.32 also in print.
    """
    time = np.maximum(hop_heat_time_min, 0.0)
    curve = 0.1811 + 0.1386 * np.tanh((time - 31.32) / 18.27)
    total = (hop_alpha_in_kettle_mg_l * curve).sum(axis=0)
    return total / _strong_wort(preboil_gravity_sg, original_gravity_sg)


def garetz_ibu(
    hop_alpha_in_kettle_mg_l: PerHop,
    hop_heat_time_min: PerHop,
    preboil_gravity_sg: PerBatch,
    original_gravity_sg: PerBatch,
) -> PerBatch:
    r"""Bitterness as the formula of Garetz would have it, by a stand-in for his table.

    .. math:: 130 \left(-1 + \sqrt{1 + 4X/260}\right), \quad X = \sum a_i
        \frac{7.2994 + 15.0746 \arctan((t_i - 21.86)/24.71)}{100 (1 + \max(G - 1.050, 0)/0.2)}

    Source: Garetz (1994), Using Hops, p. 137 for the hopping-rate factor; the curve is from memory
        and gives nothing below 10 minutes.
    """
    time = np.maximum(hop_heat_time_min, 0.0)
    percent = 7.2994 + 15.0746 * np.arctan((time - 21.86) / 24.71)
    curve = np.where(time >= 10.0, np.maximum(percent, 0.0), 0.0) / 100.0
    total = (hop_alpha_in_kettle_mg_l * curve).sum(axis=0)
    plain = total / _strong_wort(preboil_gravity_sg, original_gravity_sg)
    return 130.0 * (np.sqrt(1.0 + 4.0 * plain / 260.0) - 1.0)


def hop_stand_equivalent_min(
    hop_stand_start_min: PerHop,
    stand_temperature_c: PerBatch,
    stand_actual_min: PerBatch,
    stand_drift_per_min: PerBatch,
) -> PerHop:
    r"""Boil minutes that bring as much bitterness reading as the hop stand.

    .. math:: \int 0.15642 \, e^{0.01856 T(t)} \, dt

    Source: Hosom, brewing-science log, post 10: measured IBU, not iso-alpha acids.
    """
    offset, drift = stand_temperature_c - STILL_AIR_LIMIT_C, stand_drift_per_min
    minutes = np.maximum(stand_actual_min - hop_stand_start_min, 0.0)
    total = np.zeros_like(minutes)
    for node, weight in zip(_NODES, _WEIGHTS, strict=True):
        moment = hop_stand_start_min + 0.5 * minutes * (1.0 + node)
        celsius = STILL_AIR_LIMIT_C + offset * np.exp(-drift * moment)
        total = total + 0.5 * weight * minutes * 0.15642 * np.exp(0.01856 * celsius)
    return total


def bitterness_ibu__empirical(
    hop_alpha_in_kettle_mg_l: PerHop,
    hop_heat_time_min: PerHop,
    hop_stand_equivalent_min: PerHop,
    gravity_bitterness_factor: PerBatch,
    usual_formula_error_unit: PerBatch,
    malt_ibu: PerBatch,
    humulinone_ibu: PerBatch,
    carried_alpha_ibu: PerBatch,
    dry_hop_polyphenol_ibu: PerBatch,
    kit_bitterness_ibu: PerBatch,
    bitterness_batch_factor: PerBatch,
) -> PerBatch:
    r"""Bitterness of the beer, by the usual formula with the hop stand added.

    .. math:: \sum a_i \frac{B(\bar G)}{4.15} (1 - e^{-0.04 (t_i + \theta_i)}) e^{s(t_i) z}
        + \text{malt} + \text{dry hops} + \text{kit}

    s is 0.67, 0.28 and 0.17 at 15, 30 and 60 minutes, straight lines in ln t between.

    Source: Tinseth (1997); spread from the disagreement of four published formulas.
    Valid: below 75 IBU (about 310 mg/L of alpha acids); the spread is not a measured error.
    """
    time = np.maximum(hop_heat_time_min, 0.0)
    spread = np.interp(
        np.log(np.maximum(time, 1.0)), np.log([15.0, 30.0, 60.0]), [0.67, 0.28, 0.17]
    )
    curve = -np.expm1(-0.04 * (time + hop_stand_equivalent_min)) / 4.15
    hop = hop_alpha_in_kettle_mg_l * curve * np.exp(spread * usual_formula_error_unit)
    hot_side = hop.sum(axis=0) * gravity_bitterness_factor
    cold_side = humulinone_ibu + carried_alpha_ibu + dry_hop_polyphenol_ibu
    return (hot_side + malt_ibu + cold_side + kit_bitterness_ibu) * bitterness_batch_factor


def _strong_wort(preboil: FloatArray, original: FloatArray) -> FloatArray:
    return 1.0 + np.maximum(0.5 * (preboil + original) - 1.050, 0.0) / 0.2
