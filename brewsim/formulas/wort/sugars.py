"""Sugars and extracts that skip the mash: into the boil, after it, or into the fermenter."""

import numpy as np

from brewsim.constants import EXTRACT_L_KG
from brewsim.dims import Input, PerBatch, PerSugar, Range

_SMALLEST = 1e-12

INPUTS = {
    "sugar_mass_kg": Input(("sugar",), "Mass of a kettle sugar or extract, as the recipe says"),
    "sugar_weighing_factor": Input(("sugar",), "Weighing error of a kettle sugar"),
    "sugar_extract_fraction": Input(("sugar",), "Extract in a kettle sugar as it is"),
    "sugar_water_fraction": Input(("sugar",), "Water in a kettle sugar"),
    "sugar_is_late_share": Input(("sugar",), "1 for a sugar added after the boil, else 0"),
    "sugar_in_fermenter_share": Input(("sugar",), "1 for a sugar added in the fermenter, else 0"),
}

VALID: dict[str, dict[str, Range]] = {}


def sugar_added_extract_kg(
    sugar_mass_kg: PerSugar, sugar_weighing_factor: PerSugar, sugar_extract_fraction: PerSugar
) -> PerSugar:
    r"""Extract each kettle sugar brings.

    .. math:: m_j w_j x_j

    Source: bookkeeping.
    """
    return sugar_mass_kg * sugar_weighing_factor * sugar_extract_fraction


def kettle_sugar_volume_l(
    sugar_added_extract_kg: PerSugar,
    sugar_mass_kg: PerSugar,
    sugar_weighing_factor: PerSugar,
    sugar_water_fraction: PerSugar,
    sugar_in_fermenter_share: PerSugar,
) -> PerBatch:
    r"""Room that the sugars of the kettle take in its wort.

    .. math:: \sum_j (1 - z_j) (0.617 S_j + m_j w_j M_j)

    Source: mass balance; 1 kg of water is taken as 1 L.
    """
    water = sugar_mass_kg * sugar_weighing_factor * sugar_water_fraction
    room = EXTRACT_L_KG * sugar_added_extract_kg + water
    return (room * (1.0 - sugar_in_fermenter_share)).sum(axis=0)


def fermenter_sugar_volume_l(
    sugar_added_extract_kg: PerSugar,
    sugar_mass_kg: PerSugar,
    sugar_weighing_factor: PerSugar,
    sugar_water_fraction: PerSugar,
    sugar_in_fermenter_share: PerSugar,
) -> PerBatch:
    r"""Room that sugars added in the fermenter take there.

    .. math:: \sum_j z_j (0.617 S_j + m_j w_j M_j)

    Source: mass balance; 1 kg of water is taken as 1 L.
    """
    water = sugar_mass_kg * sugar_weighing_factor * sugar_water_fraction
    room = EXTRACT_L_KG * sugar_added_extract_kg + water
    return (room * sugar_in_fermenter_share).sum(axis=0)


def kettle_to_fermenter_factor(
    postboil_volume_l: PerBatch, trub_fraction: PerBatch, kettle_hop_absorption_l: PerBatch
) -> PerBatch:
    r"""Wort after the boil over what of it reaches the fermenter.

    .. math:: f = \frac{V'}{V' (1 - \tau) - H}

    Source: bookkeeping.
    """
    reaches = postboil_volume_l * (1.0 - trub_fraction) - kettle_hop_absorption_l
    return postboil_volume_l / np.maximum(reaches, _SMALLEST)


def sugar_counted_extract_kg(
    sugar_added_extract_kg: PerSugar,
    sugar_in_fermenter_share: PerSugar,
    kettle_to_fermenter_factor: PerBatch,
) -> PerSugar:
    r"""Extract each sugar brings, as if it had all gone through the kettle.

    .. math:: S_j (1 + z_j (f - 1))

    What goes into the fermenter loses nothing to the trub.

    Source: bookkeeping.
    """
    more = sugar_in_fermenter_share * (kettle_to_fermenter_factor - 1.0)
    return sugar_added_extract_kg * (1.0 + more)


def sugar_extract_kg(sugar_counted_extract_kg: PerSugar) -> PerBatch:
    r"""Extract from all sugars, as if it had all gone through the kettle.

    .. math:: S = \sum_j S_j (1 + z_j (f - 1))

    Source: bookkeeping.
    """
    return sugar_counted_extract_kg.sum(axis=0)


def whole_wort_l(
    postboil_volume_l: PerBatch,
    fermenter_sugar_volume_l: PerBatch,
    kettle_to_fermenter_factor: PerBatch,
) -> PerBatch:
    r"""Wort after the boil with what sugars of the fermenter would add to it.

    .. math:: V'' = V' + f V_z

    Source: bookkeeping; with no sugar in the fermenter it is the wort after the boil.
    """
    return postboil_volume_l + kettle_to_fermenter_factor * fermenter_sugar_volume_l


def late_sugar_extract_fraction(
    sugar_counted_extract_kg: PerSugar,
    sugar_is_late_share: PerSugar,
    boiled_extract_kg: PerBatch,
    sugar_extract_kg: PerBatch,
) -> PerBatch:
    r"""Share of the wort's extract that is sugar added after the boil.

    .. math:: s_\text{late} = \frac{\sum_j S_j z_j}{E_\text{boiled} + S}

    Source: bookkeeping.
    """
    late = (sugar_counted_extract_kg * sugar_is_late_share).sum(axis=0)
    return late / np.maximum(boiled_extract_kg + sugar_extract_kg, _SMALLEST)
