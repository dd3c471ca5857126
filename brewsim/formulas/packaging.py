"""From fermenter to package: volume, carbonation, pressure, gravity, alcohol, energy."""

import numpy as np

from brewsim.dims import Input, PerBatch, PerDryHop, Range

_CO2_G_PER_L_VOLUME = 1.977
_CO2_G_PER_G_EXTRACT = 0.4629
_EXTRACT_L_KG = 0.617
_ETHANOL_G_L = 789.24
_ETHANOL_G_PER_G_CO2 = 46.07 / 44.01
_EQUILIBRIUM_VOL_20C = 0.839
_ATMOSPHERE_BAR = 1.01325

INPUTS = {
    "fermenter_loss_fraction": Input((), "Share of the beer left behind in the fermenter"),
    "dry_hop_absorption_l_kg": Input((), "Beer held by dry hops"),
    "warmest_temperature_c": Input((), "Warmest the beer has been since fermentation ended"),
    "residual_carbonation_error_vol": Input((), "Error of the carbonation left from fermentation"),
    "priming_sugar_g_l": Input((), "Priming sugar per litre of beer, as the recipe says"),
    "priming_volume_l": Input(
        (), "Volume of beer the priming sugar was weighed for; 0 when it was measured that day"
    ),
    "priming_mixing_factor": Input((), "Priming sugar in this package over the mean"),
    "priming_yield_g_g": Input((), "Carbon dioxide from priming glucose"),
    "priming_sugar_factor": Input(
        (), "Carbon dioxide from this priming sugar over that from as much glucose"
    ),
    "priming_syrup_fraction": Input((), "Water of the priming syrup per volume of beer"),
    "headspace_fraction": Input((), "Headspace of a bottle over its beer"),
    "keg_carbonation_vol": Input((), "Carbonation the keg is set to"),
    "keg_carbonation_factor": Input((), "Error of the keg's pressure and rest"),
    "carbonation_solubility_factor": Input(
        (), "How much carbon dioxide this beer holds over the charts"
    ),
    "bottle_rating_vol": Input((), "Carbonation the bottle is rated for"),
    "alcohol_line_error_fraction": Input((), "Error of the alcohol formula"),
    "storage_week": Input((), "Weeks the packaged beer is stored"),
    "storage_temperature_c": Input((), "Temperature the packaged beer is stored at"),
}

VALID: dict[str, dict[str, Range]] = {
    "final_gravity_sg": {"final_extract_plato": (-3.0, 32.0)},
    "alcohol_by_weight_fraction__line": {"original_extract_plato": (6.0, 20.0)},
    "packaged_volume_l": {"packaged_volume_l": (0.0, np.inf)},
    "residual_carbonation_vol": {"warmest_temperature_c": (-1.0, 30.0)},
    "carbonation_vol__bottle": {"carbonation_vol": (0.0, 10.0)},
    "carbonation_vol__keg": {"carbonation_vol": (0.0, 10.0)},
    "bottle_pressure_bar": {"storage_temperature_c": (-2.0, 45.0)},
}


def packaged_volume_l(
    fermenter_volume_l: PerBatch,
    fermenter_loss_fraction: PerBatch,
    dry_hop_added_g: PerDryHop,
    dry_hop_absorption_l_kg: PerBatch,
) -> PerBatch:
    r"""Beer that reaches the package.

    .. math:: V_p = V_f (1 - \lambda) - a \sum_i h_i / 1000

    Source: bookkeeping; dry hops hold 7.0 to 8.3 L/kg (trade figures, secondary).
    """
    held = dry_hop_absorption_l_kg * dry_hop_added_g.sum(axis=0) / 1000.0
    return fermenter_volume_l * (1.0 - fermenter_loss_fraction) - held


def residual_carbonation_vol(
    warmest_temperature_c: PerBatch, residual_carbonation_error_vol: PerBatch
) -> PerBatch:
    r"""Carbonation left from fermentation.

    .. math:: 3.0378 - 0.050062\,T + 0.00026555\,T^2 + \delta \quad (T \text{ in °F})

    Source: the quadratic brewers use (secondary); 0.86 at 20 °C beside 0.88 of D. Draper's table;
        solubility charts lie 5 to 8 % lower.
    Valid: 0 to 30 °C, open to the air until packaging.
    """
    warm = warmest_temperature_c * 1.8 + 32.0
    table = 3.0378 - 0.050062 * warm + 0.00026555 * warm**2
    return np.maximum(table + residual_carbonation_error_vol, 0.0)


def priming_dose_g_l(
    priming_sugar_g_l: PerBatch,
    priming_volume_l: PerBatch,
    packaged_volume_l: PerBatch,
    priming_mixing_factor: PerBatch,
) -> PerBatch:
    r"""Priming sugar per litre in this package.

    .. math:: m = m_\text{stated} \frac{V_\text{planned}}{V_p}\, \mu

    The sugar is weighed for a planned volume, so an error of volume acts on the carbonation.

    Source: bookkeeping.
    """
    planned = np.where(priming_volume_l > 0.0, priming_volume_l, packaged_volume_l)
    return priming_sugar_g_l * planned / packaged_volume_l * priming_mixing_factor


def priming_gas_g_l(
    priming_dose_g_l: PerBatch, priming_yield_g_g: PerBatch, priming_sugar_factor: PerBatch
) -> PerBatch:
    r"""Carbon dioxide from the priming sugar.

    .. math:: m \, y \, s, \quad s = 1 \text{ glucose},\ 0.909 \text{ monohydrate},\
        1.0526 \text{ sucrose}

    Source: stoichiometry 0.4886 g/g; Balling's yield 0.4629 g/g with yeast growth.
    """
    return priming_dose_g_l * priming_yield_g_g * priming_sugar_factor


def refermented_gas_g_l(
    pack_extract_plato: PerBatch,
    final_extract_plato: PerBatch,
    final_gravity_sg: PerBatch,
    real_extract_ratio_factor: PerBatch,
) -> PerBatch:
    r"""Carbon dioxide from extract that ferments in the package.

    .. math:: 9.982 \, S \, q \, (AE_p - AE_e) \cdot 0.4629

    Source: C. J. N. Balling (0.9565 g of carbon dioxide from 2.0665 g of extract); mass balance.
    """
    fermented = pack_extract_plato - final_extract_plato
    real_g_l = 9.982 * final_gravity_sg * real_extract_ratio_factor * fermented
    return real_g_l * _CO2_G_PER_G_EXTRACT


def carbonation_vol__keg(
    keg_carbonation_vol: PerBatch,
    keg_carbonation_factor: PerBatch,
    carbonation_solubility_factor: PerBatch,
) -> PerBatch:
    r"""Carbonation.

    .. math:: C = C_\text{set} \, k \, s

    A keg is set by pressure and temperature off a chart, so this beer's own solubility acts.

    Source: R. A. Speers & A. J. MacIntosh, J. Am. Soc. Brew. Chem. 71, 242, 2013, for the spread
        of solubility; common practice, no source, for the pressure.
    """
    return keg_carbonation_vol * keg_carbonation_factor * carbonation_solubility_factor


def carbonation_vol__bottle(
    residual_carbonation_vol: PerBatch,
    priming_gas_g_l: PerBatch,
    refermented_gas_g_l: PerBatch,
    headspace_fraction: PerBatch,
) -> PerBatch:
    r"""Carbonation.

    .. math:: C = \frac{C_0 + (g_\text{priming} + g_\text{extract}) / 1.977}{1 + h / 0.90}

    Source: stoichiometry; 1.977 g/L carbon dioxide at 0 °C and 1 atm; the headspace takes its
        share at the solubility near 20 °C.
    """
    made = (priming_gas_g_l + refermented_gas_g_l) / _CO2_G_PER_L_VOLUME
    return (residual_carbonation_vol + made) / (1.0 + headspace_fraction / 0.90)


def rating_excess_vol(carbonation_vol: PerBatch, bottle_rating_vol: PerBatch) -> PerBatch:
    r"""Carbonation above the bottle's rating; below 0 is under the rating.

    .. math:: C - C_\text{rated}

    Source: definition.
    """
    return carbonation_vol - bottle_rating_vol


def bottle_pressure_bar(
    carbonation_vol: PerBatch,
    storage_temperature_c: PerBatch,
    carbonation_solubility_factor: PerBatch,
) -> PerBatch:
    r"""Pressure in the package at its storage temperature, above the air's.

    .. math::
        p = 1.01325 \left(\frac{C}{0.839\, s \,
        e^{2617.25 (1/T_K - 1/293.15)}} - 1\right)

    Source: solubility of carbon dioxide as K. Troester prints it (1.658 g/L at 20 °C, 1 atm).
    Valid: equilibrium; within 1.5 % of two other forms from 0 to 20 °C.
    """
    warmth = 1.0 / (storage_temperature_c + 273.15) - 1.0 / 293.15
    held = _EQUILIBRIUM_VOL_20C * carbonation_solubility_factor * np.exp(2617.25 * warmth)
    return (carbonation_vol / held - 1.0) * _ATMOSPHERE_BAR


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
    return 1.0 + final_extract_plato / (258.6 - 227.1 * final_extract_plato / 258.2)


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


def priming_dilution_factor(
    priming_dose_g_l: PerBatch, priming_syrup_fraction: PerBatch
) -> PerBatch:
    r"""Volume of beer before priming over volume after.

    .. math:: \frac{1}{1 + w + 0.000617\,m}

    Source: bookkeeping; extract takes 0.617 L/kg (ASBC tables).
    """
    return 1.0 / (1.0 + priming_syrup_fraction + _EXTRACT_L_KG * priming_dose_g_l / 1000.0)


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
    fermented = alcohol_by_weight_fraction * final_gravity_sg * 998.2 / _ETHANOL_G_L
    primed = priming_gas_g_l * _ETHANOL_G_PER_G_CO2 / _ETHANOL_G_L
    return (fermented + primed) * priming_dilution_factor


def energy_kcal_l(
    alcohol_by_weight_fraction: PerBatch,
    real_extract_plato: PerBatch,
    final_gravity_sg: PerBatch,
) -> PerBatch:
    r"""Energy of the beer.

    .. math:: 10\,S \left(6.9 \cdot 100\,ABW + 4 (RE - 0.1)\right)

    Source: ASBC, Calories in beer (as in The Oxford Companion to Beer): ash 0.1 %.
    """
    per_100_g = 690.0 * alcohol_by_weight_fraction + 4.0 * (real_extract_plato - 0.1)
    return 10.0 * final_gravity_sg * per_100_g
