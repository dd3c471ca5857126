"""Bitterness of the beer: what the kettle makes and the beer keeps, and all that reads as IBU.

1 mg/L of iso-alpha acids reads as 0.7348 IBU; the two are never mixed.
"""

import numpy as np

from brewsim.dims import FloatArray, HopIndex, Input, PerBatch, PerHop, PerHopLot, Range, pick

_IBU_PER_MG_ISO = 51.2 / 69.68
_IBU_PER_MG_OXIDIZED = 0.673
_IBU_PER_MG_POLYPHENOL = 0.022
_KETTLE_POLYPHENOL_SHARE = 0.20 * 0.70
_REFERENCE_PH, _LOWEST_PH = 5.75, 4.8
_KRAUSEN_TAKES_OTHERS = 3

INPUTS = {
    "boil_retention_fraction": Input((), "Share of iso-alpha acids not lost to trub and hops"),
    "wort_clarity_factor": Input((), "Batch scatter of what trub takes out"),
    "iso_alpha_slope_per_ph": Input((), "Relative gain of iso-alpha acids per unit of wort pH"),
    "gravity_exponent_factor": Input((), "How strongly gravity lowers bitterness: 0 no, 1 fully"),
    "oxidized_alpha_fraction": Input((), "Share of dissolved alpha acids oxidised in hot wort"),
    "hop_lot_pellet_oxidized_factor": Input(
        ("hop_lot",), "Oxidised alpha acids from pellets of a hop lot over those from cones"
    ),
    "stored_oxidized_fraction": Input((), "Share of alpha acids lost in storage that dissolves"),
    "oxidized_half_ph_factor": Input((), "Oxidised alpha acids left when wort pH is 0.5 lower"),
    "fermentation_retention_fraction": Input((), "Share of bitter acids left after fermentation"),
    "krausen_kept_share": Input((), "Share of iso-alpha acids that handling the krausen leaves"),
    "dry_hop_iso_loss_per_g_l": Input((), "Rate at which dry hops take out iso-alpha acids"),
    "bitterness_age_plateau_fraction": Input((), "Share of bitterness that ageing never takes"),
    "bitterness_age_per_week": Input((), "Rate at which bitterness ages at 20 °C"),
    "bitterness_age_q10_factor": Input((), "Speed-up of bitterness ageing per 10 °C"),
    "malt_ibu_per_point": Input((), "Bitterness reading that malt brings per gravity point"),
    "hop_polyphenol_fraction": Input((), "Polyphenols in hops, share of mass"),
    "bitterness_batch_factor": Input(
        (), "Batch scatter of bitterness that no other input explains"
    ),
}

VALID: dict[str, dict[str, Range]] = {
    "iso_alpha_in_wort_mg_l": {"boiled_wort_ph": (4.8, 6.0)},
    "oxidized_alpha_in_wort_mg_l": {"boiled_wort_ph": (5.0, 6.0)},
    "bitterness_age_factor": {"storage_week": (0.0, 52.0), "storage_temperature_c": (-1.0, 30.0)},
    "gravity_bitterness_factor": {"original_gravity_sg": (1.0, 1.13)},
}


def gravity_bitterness_factor(
    preboil_gravity_sg: PerBatch,
    original_gravity_sg: PerBatch,
    late_sugar_extract_fraction: PerBatch,
) -> PerBatch:
    r"""How much less bitterness strong wort takes up, by the usual rule.

    .. math::
        1.65 \cdot 0.000125^{\bar G - 1}, \quad
        \bar G = \tfrac12 \left(G_0 + 1 + (OG - 1)(1 - s_\text{late})\right)

    A sugar added as the boil ends is not boiled with the hops: its points are left out.

    Source: Tinseth (1997), Glenn's Hop Utilization Numbers; average gravity over the boil.
    Valid: 1.000 to 1.130.
    """
    at_end = 1.0 + (original_gravity_sg - 1.0) * (1.0 - late_sugar_extract_fraction)
    gravity = 0.5 * (preboil_gravity_sg + at_end)
    return 1.65 * 0.000125 ** (gravity - 1.0)


def iso_alpha_in_wort_mg_l(
    hop_alpha_in_kettle_mg_l: PerHop,
    hop_alpha_dissolved_fraction: PerHop,
    hop_isomerized_fraction: PerHop,
    boil_retention_fraction: PerBatch,
    wort_clarity_factor: PerBatch,
    iso_alpha_slope_per_ph: PerBatch,
    boiled_wort_ph: PerBatch,
    gravity_bitterness_factor: PerBatch,
    gravity_exponent_factor: PerBatch,
) -> PerBatch:
    r"""Iso-alpha acids in the wort that goes into the fermenter.

    .. math:: \sum_i a_i \delta_i f_i \cdot R \, (1 + \lambda(\mathrm{pH} - 5.75)) \, B(G)^w

    Source: Hosom, brewing-science log, post 11 (pH, retention); Jacobsen et al. (1989),
        J. Am. Soc. Brew. Chem. 47, 62 (30 to 75 % over six breweries); exponent w between
        Jacobsen (0) and Tinseth (1).
    Valid: wort pH 4.8 to 6.0, where acid did not slow the isomerization (Malowicki 2004, thesis,
        Oregon State University); held at its value at 4.8 below.
    """
    per_hop = hop_alpha_in_kettle_mg_l * hop_alpha_dissolved_fraction * hop_isomerized_fraction
    made = per_hop.sum(axis=0)
    acidity = 1.0 + iso_alpha_slope_per_ph * (_held(boiled_wort_ph) - _REFERENCE_PH)
    kept = boil_retention_fraction * wort_clarity_factor
    return made * kept * acidity * gravity_bitterness_factor**gravity_exponent_factor


def hop_form_oxidized_factor(
    hop_lot_pellet_oxidized_factor: PerHopLot, hop_lot_of_hop: HopIndex, hop_is_pellet_share: PerHop
) -> PerHop:
    r"""Oxidised alpha acids from an addition over those from cones.

    .. math:: 1 + s (f - 1)

    Source: Hosom, brewing-science log, posts 28 and 29: pellets over cones, by lot +20 to +220 %.
    """
    pellets = pick(hop_lot_pellet_oxidized_factor, hop_lot_of_hop)
    return 1.0 + hop_is_pellet_share * (pellets - 1.0)


def oxidized_alpha_in_wort_mg_l(
    hop_alpha_in_kettle_mg_l: PerHop,
    hop_alpha_dissolved_fraction: PerHop,
    hop_alpha_lost_share: PerHop,
    hop_form_oxidized_factor: PerHop,
    oxidized_alpha_fraction: PerBatch,
    stored_oxidized_fraction: PerBatch,
    boil_retention_fraction: PerBatch,
    oxidized_half_ph_factor: PerBatch,
    boiled_wort_ph: PerBatch,
) -> PerBatch:
    r"""Oxidised alpha acids in the wort that goes into the fermenter.

    .. math:: \sum_i a_i \delta_i (\omega \, \text{form}_i + \sigma L_i) \cdot R
        \cdot m^{(5.75 - \mathrm{pH}) / 0.5}

    Source: Hosom, brewing-science log, posts 11, 23, 28, 29 and 31.
    Valid: wort pH 5.0 to 6.0; held at its value at 4.8 below.
    """
    share = (
        oxidized_alpha_fraction * hop_form_oxidized_factor
        + stored_oxidized_fraction * hop_alpha_lost_share
    )
    per_hop = hop_alpha_in_kettle_mg_l * hop_alpha_dissolved_fraction * share
    acidity = oxidized_half_ph_factor ** ((_REFERENCE_PH - _held(boiled_wort_ph)) / 0.5)
    return per_hop.sum(axis=0) * boil_retention_fraction * acidity


def bitterness_age_factor(
    bitterness_age_plateau_fraction: PerBatch,
    bitterness_age_per_week: PerBatch,
    bitterness_age_q10_factor: PerBatch,
    storage_week: PerBatch,
    storage_temperature_c: PerBatch,
) -> PerBatch:
    r"""Share of the bitterness that storage leaves.

    .. math:: p + (1 - p) e^{-r q^{(T - 20)/10} w}

    Source: fitted to the storage series of Hosom, brewing-science log, post 13; the effect of
        temperature is an assumption.
    Valid: up to 52 weeks, -1 to 30 °C.
    """
    speed = bitterness_age_q10_factor ** ((storage_temperature_c - 20.0) / 10.0)
    left = np.exp(-bitterness_age_per_week * speed * storage_week)
    return bitterness_age_plateau_fraction + (1.0 - bitterness_age_plateau_fraction) * left


def iso_alpha_in_beer_mg_l(
    iso_alpha_in_wort_mg_l: PerBatch,
    fermentation_retention_fraction: PerBatch,
    krausen_kept_share: PerBatch,
    dry_hop_iso_loss_per_g_l: PerBatch,
    dry_hop_dose_g_l: PerBatch,
    bitterness_age_factor: PerBatch,
) -> PerBatch:
    r"""Iso-alpha acids in the beer.

    .. math:: x = c F k; \quad x' = 25 + (x - 25) e^{-s \min(d, 8)} \text{ for } x > 25;
        \quad x' \cdot \text{age}

    Source: fermentation: Nielsen by way of Hosom, brewing-science log, post 11 (18 % lost);
        dry hops: direction from Parkin & Shellhammer (2017), J. Am. Soc. Brew. Chem. 75, 363,
        size an assumption.
    """
    fermented = iso_alpha_in_wort_mg_l * fermentation_retention_fraction * krausen_kept_share
    over = np.maximum(fermented - 25.0, 0.0)
    kept = np.exp(-dry_hop_iso_loss_per_g_l * np.minimum(dry_hop_dose_g_l, 8.0))
    return (np.minimum(fermented, 25.0) + over * kept) * bitterness_age_factor


def oxidized_alpha_ibu(
    oxidized_alpha_in_wort_mg_l: PerBatch,
    fermentation_retention_fraction: PerBatch,
    krausen_kept_share: PerBatch,
    bitterness_age_factor: PerBatch,
) -> PerBatch:
    r"""Bitterness reading of oxidised alpha acids from the hot side.

    .. math:: 0.673 \, c \, F \, k^3 \cdot \text{age}

    Source: Maye et al. (2016), MBAA Tech. Quart. 53: absorbance 8.5 % below iso-alpha acids. What
        leaves with the krausen goes three times as fast as iso-alpha acids: Hosom,
        brewing-science log, post 22.
    """
    fermented = fermentation_retention_fraction * krausen_kept_share**_KRAUSEN_TAKES_OTHERS
    return _IBU_PER_MG_OXIDIZED * oxidized_alpha_in_wort_mg_l * fermented * bitterness_age_factor


def malt_ibu(malt_ibu_per_point: PerBatch, original_gravity_sg: PerBatch) -> PerBatch:
    r"""Bitterness reading of unhopped beer.

    .. math:: 0.025 \cdot 1000 (OG - 1)

    Source: Hosom, brewing-science log, post 13, table 2.
    """
    return malt_ibu_per_point * 1000.0 * (original_gravity_sg - 1.0)


def polyphenol_ibu(
    hop_added_g: PerHop,
    hop_polyphenol_fraction: PerBatch,
    whole_wort_l: PerBatch,
    dry_hop_polyphenol_ibu: PerBatch,
) -> PerBatch:
    r"""Bitterness reading of hop polyphenols.

    .. math:: 0.022 \cdot 1000 \, m \, p / V \cdot 0.20 \cdot 0.70 + \text{dry hops}

    Source: Parkin (2014), thesis, Oregon State University, p. 28 (2.2 IBU per 100 mg/L);
        20 % survives the boil and 70 % of that fermentation: Hosom, brewing-science log, post 11.
    """
    dosed = 1000.0 * hop_added_g.sum(axis=0) * hop_polyphenol_fraction / whole_wort_l
    return _IBU_PER_MG_POLYPHENOL * _KETTLE_POLYPHENOL_SHARE * dosed + dry_hop_polyphenol_ibu


def bitterness_ibu__kinetic(
    iso_alpha_in_beer_mg_l: PerBatch,
    oxidized_alpha_ibu: PerBatch,
    humulinone_ibu: PerBatch,
    carried_alpha_ibu: PerBatch,
    malt_ibu: PerBatch,
    polyphenol_ibu: PerBatch,
    kit_bitterness_ibu: PerBatch,
    bitterness_batch_factor: PerBatch,
) -> PerBatch:
    r"""Bitterness of the beer.

    .. math:: (0.7348 \, \text{iso} + \text{oxidised} + \text{humulinones} + \text{alpha}
        + \text{malt} + \text{polyphenols} + \text{kit}) \cdot \epsilon

    Source: 51.2/69.68 IBU per mg/L of iso-alpha acids: Peacock by way of Hosom,
        brewing-science log, post 11.
    """
    others = humulinone_ibu + carried_alpha_ibu + malt_ibu + polyphenol_ibu + kit_bitterness_ibu
    total = _IBU_PER_MG_ISO * iso_alpha_in_beer_mg_l + oxidized_alpha_ibu + others
    return total * bitterness_batch_factor


def _held(ph: FloatArray) -> FloatArray:
    return np.maximum(ph, _LOWEST_PH)
