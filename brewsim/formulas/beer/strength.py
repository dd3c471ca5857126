"""Gravity, attenuation, alcohol and energy of the finished beer."""

from brewsim.constants import WATER_KG_L, gravity_of
from brewsim.dims import Input, PerBatch, Range

_ETHANOL_G_L = 789.24
_ETHANOL_G_PER_G_CO2 = 46.07 / 44.01
_KCAL_PER_G = 6.9

INPUTS = {
    "alcohol_line_error_fraction": Input((), "Error of the alcohol formula"),
}

VALID: dict[str, dict[str, Range]] = {
    "final_gravity_sg": {"final_extract_plato": (-3.0, 32.0)},
    "alcohol_by_weight_fraction__line": {"original_extract_plato": (6.0, 20.0)},
}


def apparent_attenuation_fraction(
    original_extract_plato: PerBatch, final_extract_plato: PerBatch
) -> PerBatch:
    r"""Apparent attenuation.

    .. math:: 1 - AE_e / OE

    Source: definition.
    """
    return 1.0 - final_extract_plato / original_extract_plato


def final_gravity_sg(final_extract_plato: PerBatch) -> PerBatch:
    r"""Final gravity.

    .. math:: S = 1 + \frac{P}{258.6 - 227.1 P / 258.2}

    Source: the rational form brewers use, checked against NBS Circular C440 (Bates, 1942).
    Valid: -3 to 32 °P; within 0.007 °P of the NBS form below 0.
    """
    return gravity_of(final_extract_plato)


def real_extract_plato(
    original_extract_plato: PerBatch,
    final_extract_plato: PerBatch,
    real_extract_ratio_factor: PerBatch,
) -> PerBatch:
    r"""Real extract of the beer.

    .. math:: RE = OE - q (OE - AE)

    Source: Cutaia et al. 2009.
    """
    fermented = original_extract_plato - final_extract_plato
    return original_extract_plato - real_extract_ratio_factor * fermented


def alcohol_by_weight_fraction__line(
    original_extract_plato: PerBatch,
    final_extract_plato: PerBatch,
    alcohol_line_error_fraction: PerBatch,
) -> PerBatch:
    r"""Alcohol by weight, priming left out.

    .. math:: 100\,ABW = (0.372 + 0.00357\,OE + \varepsilon)(OE - AE)

    Source: Cutaia et al., J. Inst. Brew. 115(4), 318, 2009 (532 brews, standard error 0.0100).
    Valid: 9.4 to 18 °P in the paper; used from 6 to 20.
    """
    value = 0.372 + 0.00357 * original_extract_plato + alcohol_line_error_fraction
    return value * (original_extract_plato - final_extract_plato) / 100.0


def alcohol_by_weight_fraction__balling(
    original_extract_plato: PerBatch, final_extract_plato: PerBatch
) -> PerBatch:
    r"""Alcohol by weight, priming left out.

    .. math:: 100\,ABW = \frac{0.8192 (OE - AE)}{2.0665 - 0.010665\,OE}

    Source: C. J. N. Balling, in the form of the ASBC, as printed by Ensminger.
    Valid: without an error term; the line of Cutaia et al. is the better default.
    """
    fermented = 0.8192 * (original_extract_plato - final_extract_plato)
    return fermented / (2.0665 - 0.010665 * original_extract_plato) / 100.0


def alcohol_by_volume_fraction(
    alcohol_by_weight_fraction: PerBatch,
    final_gravity_sg: PerBatch,
    priming_gas_g_l: PerBatch,
    priming_dilution_factor: PerBatch,
) -> PerBatch:
    r"""Alcohol by volume.

    .. math::
        \left(ABW \cdot S \, \frac{0.9982}{0.78924}
        + \frac{g_\text{priming}}{789.24}\,\frac{46.07}{44.01}\right) v

    Source: OIML R22 (ethanol 789.24 kg/m³ at 20 °C); stoichiometry for the priming.
    """
    fermented = alcohol_by_weight_fraction * final_gravity_sg * 1000.0 * WATER_KG_L / _ETHANOL_G_L
    primed = priming_gas_g_l * _ETHANOL_G_PER_G_CO2 / _ETHANOL_G_L
    return (fermented + primed) * priming_dilution_factor


def energy_kcal_l(
    alcohol_by_weight_fraction: PerBatch,
    real_extract_plato: PerBatch,
    final_gravity_sg: PerBatch,
    priming_gas_g_l: PerBatch,
    priming_dilution_factor: PerBatch,
) -> PerBatch:
    r"""Energy of the beer.

    .. math::
        \left(10\,S \left(6.9 \cdot 100\,ABW + 4 (RE - 0.1)\right)
        + 6.9\,g_\text{priming}\,\frac{46.07}{44.01}\right) v

    Source: ASBC, Calories in beer (as in The Oxford Companion to Beer): 6.9 kcal per gram of
        alcohol, ash 0.1 %; stoichiometry for the alcohol from priming.
    """
    per_100_g = 100.0 * _KCAL_PER_G * alcohol_by_weight_fraction + 4.0 * (real_extract_plato - 0.1)
    primed = _KCAL_PER_G * priming_gas_g_l * _ETHANOL_G_PER_G_CO2
    return (10.0 * final_gravity_sg * per_100_g + primed) * priming_dilution_factor
