"""How hot the mash water must be for the mash to stand at its set temperature."""

import numpy as np

from brewsim.constants import WATER_KG_L
from brewsim.dims import Input, PerBatch, PerMalt, Range

_SMALLEST = 1e-12
_MOISTURES = (0.0, 0.01, 0.02, 0.03, 0.04, 0.06, 0.08)
_SLAKING_F = (5.5, 5.0, 4.0, 3.5, 3.0, 2.5, 2.0)

INPUTS = {
    "mash_in_step_c": Input((), "Degrees below its first sugar rest at which the mash is mixed"),
    "grain_temperature_c": Input((), "Temperature of the malt before the mash"),
    "slaking_factor": Input((), "Warming of the mash by wetting malt, over the printed table"),
    "strike_loss_c": Input((), "Degrees the mash water loses to the air and the mash tun"),
}

VALID: dict[str, dict[str, Range]] = {
    "slaking_rise_c": {"grist_moisture_fraction": (0.0, 0.08)},
    "strike_water_temperature_c": {"strike_water_temperature_c": (20.0, 100.0)},
}


def grist_moisture_fraction(
    malt_added_kg: PerMalt, malt_moisture_fraction: PerMalt, grain_mass_kg: PerBatch
) -> PerBatch:
    r"""Moisture of the grist.

    .. math:: M = \frac{\sum_i m_i M_i}{G}

    Source: bookkeeping.
    """
    return (malt_added_kg * malt_moisture_fraction).sum(axis=0) / np.maximum(
        grain_mass_kg, _SMALLEST
    )


def grist_heat_factor(grist_moisture_fraction: PerBatch) -> PerBatch:
    r"""Heat that warms the grist over the heat that warms as much water.

    .. math:: S = 0.38 + 0.5\,M

    Source: line through the table of the Brewing Room Book, 1984/85 (0.38 at 0 to 0.42 at 8 %
        moisture); within 0.005 of every printed figure.
    """
    return 0.38 + 0.5 * grist_moisture_fraction


def slaking_rise_c(grist_moisture_fraction: PerBatch, slaking_factor: PerBatch) -> PerBatch:
    r"""Degrees the mash warms up because dry malt gives off heat when it is wetted.

    .. math:: r = \sigma \, r_\text{table}(M)

    Read between the lines of the table in °F; its own °C figures are rounded by up to 0.4.

    Source: Brewing Room Book, 1984/85, table of slaking heat.
    Valid: 0 to 8 % moisture; held at its end values outside.
    """
    rise_f = np.interp(grist_moisture_fraction, _MOISTURES, _SLAKING_F)
    return slaking_factor * rise_f / 1.8


def strike_water_temperature_c(
    mash_set_temperature_c: PerBatch,
    mash_in_step_c: PerBatch,
    mash_water_l: PerBatch,
    water_measure_factor: PerBatch,
    grain_mass_kg: PerBatch,
    grist_heat_factor: PerBatch,
    grain_temperature_c: PerBatch,
    slaking_rise_c: PerBatch,
    strike_loss_c: PerBatch,
) -> PerBatch:
    r"""Temperature of the mash water that brings the mash to its set temperature.

    .. math:: T_w = T + \frac{S G}{W} (T - T_g) + \ell, \quad T = T_\text{set} - \delta - r

    Source: heat balance; the form of the Brewing Room Book, 1984/85, solved for the water.
    Valid: all mash water at once, at 20 to 100 °C.
    """
    water_kg = np.maximum(WATER_KG_L * mash_water_l * water_measure_factor, _SMALLEST)
    mixed = mash_set_temperature_c - mash_in_step_c - slaking_rise_c
    warmed = grist_heat_factor * grain_mass_kg / water_kg * (mixed - grain_temperature_c)
    return mixed + warmed + strike_loss_c
