"""From fermenter to package: volume, priming, carbonation, pressure."""

import numpy as np

from brewsim.constants import (
    ATMOSPHERE_BAR,
    CO2_G_L_PER_VOL,
    EXTRACT_L_KG,
    WATER_KG_L,
    ZERO_CELSIUS_K,
)
from brewsim.dims import Input, PerBatch, PerDryHop, Range

_CO2_G_PER_G_EXTRACT = 0.4629
_EQUILIBRIUM_VOL_20C = 0.839

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
    "storage_week": Input((), "Weeks the packaged beer is stored"),
    "storage_temperature_c": Input((), "Temperature the packaged beer is stored at"),
}

VALID: dict[str, dict[str, Range]] = {
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
    Valid: 0 to 30 °C (-1 °C is let pass), open to the air until packaging.
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
    refermented_extract_plato: PerBatch,
    final_gravity_sg: PerBatch,
    real_extract_ratio_factor: PerBatch,
) -> PerBatch:
    r"""Carbon dioxide from extract that ferments in the package.

    .. math:: 9.982 \, S \, q \, \Delta \cdot 0.4629

    Source: C. J. N. Balling (0.9565 g of carbon dioxide from 2.0665 g of extract); mass balance.
    """
    real_g_l = (
        10.0 * WATER_KG_L * final_gravity_sg * real_extract_ratio_factor * refermented_extract_plato
    )
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
    Valid: up to 10 vol (sense check).
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
    Valid: up to 10 vol (sense check).
    """
    made = (priming_gas_g_l + refermented_gas_g_l) / CO2_G_L_PER_VOL
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
    Valid: equilibrium from -2 to 45 °C; within 1.5 % of two other forms from 0 to 20 °C.
    """
    warmth = 1.0 / (storage_temperature_c + ZERO_CELSIUS_K) - 1.0 / 293.15
    held = _EQUILIBRIUM_VOL_20C * carbonation_solubility_factor * np.exp(2617.25 * warmth)
    return (carbonation_vol / held - 1.0) * ATMOSPHERE_BAR


def priming_dilution_factor(
    priming_dose_g_l: PerBatch, priming_syrup_fraction: PerBatch
) -> PerBatch:
    r"""Volume of beer before priming over volume after.

    .. math:: \frac{1}{1 + w + 0.000617\,m}

    Source: bookkeeping; extract takes 0.617 L/kg (ASBC tables).
    """
    return 1.0 / (1.0 + priming_syrup_fraction + EXTRACT_L_KG * priming_dose_g_l / 1000.0)
