"""From the full kettle to the fermenter: pre-boil reading, evaporation, losses."""

import numpy as np

from brewsim.constants import EXTRACT_L_KG, WATER_KG_L, gravity_of
from brewsim.dims import FloatArray, Input, PerBatch, PerHop, PerSugar, Range

_SMALLEST = 1e-12

INPUTS = {
    "evaporation_l_h": Input((), "Water boiled off per hour (at 20 °C), as the recipe says"),
    "evaporation_factor": Input((), "Error of the stated evaporation"),
    "boil_time_min": Input((), "Length of the boil"),
    "boil_temperature_c": Input((), "Temperature of the boiling wort"),
    "topup_l": Input((), "Water added after the boil"),
    "trub_fraction": Input((), "Share of the wort that stays in the kettle with the trub"),
    "thermal_expansion_fraction": Input((), "How much more room boiling wort takes than at 20 °C"),
    "wort_ph": Input((), "pH of the wort, before any souring"),
}

_EXTRACT = (-3.0, 32.0)

VALID: dict[str, dict[str, Range]] = {
    "preboil_gravity_sg": {"preboil_extract_plato": _EXTRACT},
    "original_gravity_sg": {"original_extract_plato": _EXTRACT},
    "postboil_volume_l": {"postboil_volume_l": (0.0, np.inf)},
    "fermenter_volume_l": {"fermenter_volume_l": (0.0, np.inf)},
}


def preboil_extract_plato(kettle_extract_kg: PerBatch, preboil_volume_l: PerBatch) -> PerBatch:
    r"""Extract of the wort before the boil, before any kettle sugar.

    .. math:: P = \frac{100 E}{E + 0.9982 (V - 0.617 E)}

    Source: mass balance; 0.617 L/kg is the room extract takes in the ASBC tables (5 to 20 °P).
    Valid: within 0.004 °P of the tables to 20 °P, 0.025 at 30.
    """
    return _plato(kettle_extract_kg, preboil_volume_l)


def preboil_gravity_sg(preboil_extract_plato: PerBatch) -> PerBatch:
    r"""Gravity before the boil.

    .. math:: S = 1 + \frac{P}{258.6 - 227.1 P / 258.2}

    Source: the rational form brewers use, checked against NBS Circular C440 (Bates, 1942).
    Valid: -3 to 32 °P; within 0.006 °P of the NBS table to 25 °P, 0.017 above.
    """
    return gravity_of(preboil_extract_plato)


def boiled_extract_kg(preboil_extract_plato: PerBatch, preboil_volume_l: PerBatch) -> PerBatch:
    r"""Malt extract that is boiled, from the wort before the boil.

    .. math:: E = \frac{0.9982 \, V P}{100 - 0.38411 P}

    The exact inverse of the extract before the boil, so that a reading moves what follows.

    Source: mass balance.
    """
    displaced = 1.0 - WATER_KG_L * EXTRACT_L_KG
    whole = 100.0 - displaced * preboil_extract_plato
    return WATER_KG_L * preboil_volume_l * preboil_extract_plato / whole


def postboil_volume_l(
    preboil_volume_l: PerBatch,
    evaporation_l_h: PerBatch,
    evaporation_factor: PerBatch,
    boil_time_min: PerBatch,
    kettle_sugar_volume_l: PerBatch,
    topup_l: PerBatch,
) -> PerBatch:
    r"""Wort in the kettle after the boil, as if at 20 °C.

    .. math:: V' = V - \frac{b \, t}{60} + V_S + V_\text{top-up}

    Source: mass balance.
    """
    evaporated = evaporation_l_h * evaporation_factor * boil_time_min / 60.0
    return preboil_volume_l - evaporated + kettle_sugar_volume_l + topup_l


def hot_postboil_volume_l(
    postboil_volume_l: PerBatch, thermal_expansion_fraction: PerBatch
) -> PerBatch:
    r"""Wort in the kettle after the boil, at boiling heat.

    .. math:: V'_\text{hot} = V' (1 + \beta)

    Source: density of water at 20 and 100 °C, IAPWS-95 (1.0416).
    """
    return postboil_volume_l * (1.0 + thermal_expansion_fraction)


def cast_wort_gravity_sg(
    boiled_extract_kg: PerBatch,
    sugar_added_extract_kg: PerSugar,
    sugar_in_fermenter_share: PerSugar,
    postboil_volume_l: PerBatch,
) -> PerBatch:
    r"""Gravity of the wort as it leaves the kettle, before any sugar of the fermenter.

    .. math:: S\left(\frac{100 E}{E + 0.9982 (V' - 0.617 E)}\right), \quad
        E = E_\text{boiled} + \sum_j (1 - z_j) S_j

    Source: mass balance, as the original extract.
    """
    sugar = (sugar_added_extract_kg * (1.0 - sugar_in_fermenter_share)).sum(axis=0)
    return gravity_of(_plato(boiled_extract_kg + sugar, postboil_volume_l))


def original_extract_plato(
    boiled_extract_kg: PerBatch, sugar_extract_kg: PerBatch, whole_wort_l: PerBatch
) -> PerBatch:
    r"""Original extract, all that yeast meets counted.

    .. math:: P = \frac{100 E}{E + 0.9982 (V'' - 0.617 E)}, \quad E = E_\text{boiled} + S

    Source: mass balance; 0.617 L/kg is the room extract takes in the ASBC tables (5 to 20 °P).
    Valid: within 0.004 °P of the tables to 20 °P, 0.025 at 30.
    """
    return _plato(boiled_extract_kg + sugar_extract_kg, whole_wort_l)


def original_gravity_sg(original_extract_plato: PerBatch) -> PerBatch:
    r"""Original gravity.

    .. math:: S = 1 + \frac{P}{258.6 - 227.1 P / 258.2}

    Source: the rational form brewers use, checked against NBS Circular C440 (Bates, 1942).
    Valid: -3 to 32 °P; within 0.006 °P of the NBS table to 25 °P, 0.017 above.
    """
    return gravity_of(original_extract_plato)


def kettle_hop_absorption_l(
    hop_added_g: PerHop,
    hop_in_mash_share: PerHop,
    hop_is_pellet_share: PerHop,
    pellet_absorption_l_kg: PerBatch,
    cone_absorption_l_kg: PerBatch,
) -> PerBatch:
    r"""Wort held by hops in the kettle.

    .. math:: \sum_j \frac{h_j}{1000}\, a_j

    Source: common practice, no source (5 to 6 L/kg pellets, 8 to 10 L/kg cones).
    """
    held = (
        hop_is_pellet_share * pellet_absorption_l_kg
        + (1.0 - hop_is_pellet_share) * cone_absorption_l_kg
    )
    return (hop_added_g / 1000.0 * (1.0 - hop_in_mash_share) * held).sum(axis=0)


def fermenter_volume_l(
    postboil_volume_l: PerBatch,
    trub_fraction: PerBatch,
    kettle_hop_absorption_l: PerBatch,
    fermenter_sugar_volume_l: PerBatch,
) -> PerBatch:
    r"""Wort into the fermenter.

    .. math:: V_f = V' (1 - \tau) - H + V_z

    Source: bookkeeping; common practice, no source, for the losses.
    """
    reaches = postboil_volume_l * (1.0 - trub_fraction) - kettle_hop_absorption_l
    return reaches + fermenter_sugar_volume_l


def _plato(extract_kg: FloatArray, volume_l: FloatArray) -> FloatArray:
    water_kg = WATER_KG_L * (volume_l - EXTRACT_L_KG * extract_kg)
    return 100.0 * extract_kg / (extract_kg + water_kg)
