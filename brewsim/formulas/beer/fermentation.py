"""From wort to beer: attenuation, a stall, the extract that is left."""

import numpy as np

from brewsim.dims import FloatArray, Input, PerBatch, PerMalt, PerSugar, Range

_SMALLEST = 1e-12
_COOLEST_C, _HOT_C, _WARMEST_C = 63.0, 70.0, 82.0
_MOST_REAL_ATTENUATION = 0.98

INPUTS = {
    "strain_attenuation_fraction": Input((), "Apparent attenuation of the yeast in all-malt wort"),
    "attenuation_slope_per_c": Input((), "Change of attenuation per degree of mash temperature"),
    "attenuation_hot_slope_per_c": Input((), "The same above 70 °C"),
    "attenuation_reference_temperature_c": Input((), "Mash temperature the attenuation is for"),
    "malt_lot_attenuation_fraction": Input((), "Shift of attenuation with the malt lots"),
    "batch_attenuation_fraction": Input((), "Shift of attenuation from brew to brew"),
    "malt_fermentability_factor": Input(
        ("malt",), "Fermentability of a malt's extract over that of base malt"
    ),
    "sugar_fermentable_fraction": Input(("sugar",), "Fermentable part of a kettle sugar's extract"),
    "real_attenuation_error_fraction": Input(
        (), "Error of the formula from apparent to real attenuation"
    ),
    "stall_share": Input((), "1 when fermentation stalls, else 0"),
    "stall_loss_fraction": Input((), "Apparent attenuation lost to a stall"),
    "stall_restart_fraction": Input((), "Share of a stall's leftover that ferments in the bottle"),
    "creep_after_removal_fraction": Input(
        (), "Share of the creep left over that goes on once the hops are out"
    ),
    "residual_extract_plato": Input((), "Extract left unfinished when bottling (apparent)"),
    "diastatic_factor": Input((), "Unfinished extract of diastatic over ordinary yeast"),
    "live_yeast_share": Input((), "Live yeast in the package"),
}

VALID: dict[str, dict[str, Range]] = {
    "malt_attenuation_fraction": {
        "sugar_mash_temperature_c": (61.0, 82.0),
        "malt_attenuation_fraction": (0.2, 1.0),
    },
    "real_extract_ratio_factor": {"original_extract_plato": (6.0, 20.0)},
}


def malt_attenuation_fraction(
    strain_attenuation_fraction: PerBatch,
    attenuation_slope_per_c: PerBatch,
    attenuation_hot_slope_per_c: PerBatch,
    sugar_mash_temperature_c: PerBatch,
    attenuation_reference_temperature_c: PerBatch,
    malt_lot_attenuation_fraction: PerBatch,
    batch_attenuation_fraction: PerBatch,
    mash_time_gain_fraction: PerBatch,
) -> PerBatch:
    r"""Apparent attenuation this yeast would reach on base malt alone.

    .. math:: A_m = A_s + h(T) - h(T_0) + g + \ell + \beta, \quad
        h(T) = b\,\text{clip}(T, 63, 70) + b_h\,(\text{clip}(T, 70, 82) - 70)

    Source: slopes after J. Chandrasekhar (single-temperature mashes: 82, 70, 50 and 30 % at 65, 70,
        75 and 80 °C; secondary) and recipe-book regressions; flat in small sets of home batches,
        hence its width.
    Valid: 63 to 82 °C; held at its end values outside, which is told from 61 °C down.
        Attenuation from 20 % on (sense check).
    """

    def reached(celsius: FloatArray) -> FloatArray:
        mild = np.clip(celsius, _COOLEST_C, _HOT_C)
        hot = np.clip(celsius, _HOT_C, _WARMEST_C) - _HOT_C
        return attenuation_slope_per_c * mild + attenuation_hot_slope_per_c * hot

    warmer = reached(sugar_mash_temperature_c) - reached(attenuation_reference_temperature_c)
    shifts = malt_lot_attenuation_fraction + batch_attenuation_fraction + mash_time_gain_fraction
    return np.clip(strain_attenuation_fraction + warmer + shifts, 0.05, 1.05)


def grist_fermentability_factor(
    malt_added_kg: PerMalt, malt_fermentability_factor: PerMalt
) -> PerBatch:
    r"""Fermentability of the grist over that of base malt.

    .. math:: \varphi_g = \frac{\sum_i m_i \varphi_i}{\sum_i m_i}

    Source: from memory for the sizes; weighted by mass.
    """
    weight = malt_added_kg.sum(axis=0)
    mean = (malt_added_kg * malt_fermentability_factor).sum(axis=0) / np.maximum(weight, _SMALLEST)
    return np.where(weight > 0.0, mean, 1.0)


def sugar_share_of_extract_fraction(
    sugar_counted_extract_kg: PerSugar, boiled_extract_kg: PerBatch, sugar_extract_kg: PerBatch
) -> PerSugar:
    r"""Share of the wort's extract that each kettle sugar makes up.

    .. math:: s_j = \frac{S_j}{E_\text{boiled} + S}

    Source: bookkeeping.
    """
    whole = boiled_extract_kg + sugar_extract_kg
    return sugar_counted_extract_kg / np.maximum(whole, _SMALLEST)


def fermentable_sugar_fraction(
    sugar_share_of_extract_fraction: PerSugar, sugar_fermentable_fraction: PerSugar
) -> PerBatch:
    r"""Share of the wort's extract that is fermentable kettle sugar.

    .. math:: \sum_j s_j \varphi_j

    Source: bookkeeping.
    """
    return (sugar_share_of_extract_fraction * sugar_fermentable_fraction).sum(axis=0)


def sugar_extract_share(sugar_share_of_extract_fraction: PerSugar) -> PerBatch:
    r"""Share of the wort's extract that is kettle sugar.

    .. math:: s = \sum_j s_j

    Source: bookkeeping.
    """
    return sugar_share_of_extract_fraction.sum(axis=0)


def real_extract_ratio_factor(
    original_extract_plato: PerBatch,
    malt_attenuation_fraction: PerBatch,
    real_attenuation_error_fraction: PerBatch,
) -> PerBatch:
    r"""Real over apparent loss of extract.

    .. math::
        A = (0.814 + 0.000862\,OE + \varepsilon) A_m, \quad
        RE = \frac{OE (1 - A)}{1 - 0.005161\,OE\,A}, \quad q = \frac{OE - RE}{OE \, A_m}

    The line relates the ASBC form of real attenuation, hence the step over RE.

    Source: A. J. Cutaia, A.-J. Reid & R. A. Speers, J. Inst. Brew. 115(4), 318, 2009 (532 brews,
        standard error 0.0048).
    Valid: 9.4 to 18 °P in the paper; used from 6 to 20.
    """
    line = 0.814 + 0.000862 * original_extract_plato + real_attenuation_error_fraction
    real = line * malt_attenuation_fraction
    left = (1.0 - real) / (1.0 - 0.005161 * original_extract_plato * real)
    return (1.0 - left) / malt_attenuation_fraction


def real_attenuation_fraction(
    sugar_extract_share: PerBatch,
    real_extract_ratio_factor: PerBatch,
    grist_fermentability_factor: PerBatch,
    malt_attenuation_fraction: PerBatch,
    fermentable_sugar_fraction: PerBatch,
    soured_extract_fraction: PerBatch,
) -> PerBatch:
    r"""Share of the wort's extract that ferments in the end.

    .. math:: D = \text{clip}\left((1 - s) \, q \, \varphi_g A_m + \sum_j s_j \varphi_j - a,
        0.02, 0.98\right)

    Source: bookkeeping over malt, sugars and what lactic bacteria took.
    """
    malt = real_extract_ratio_factor * grist_fermentability_factor * malt_attenuation_fraction
    fermented = (
        (1.0 - sugar_extract_share) * malt + fermentable_sugar_fraction - soured_extract_fraction
    )
    return np.clip(fermented, 0.02, _MOST_REAL_ATTENUATION)


def limit_extract_plato(
    original_extract_plato: PerBatch,
    real_attenuation_fraction: PerBatch,
    real_extract_ratio_factor: PerBatch,
) -> PerBatch:
    r"""Apparent extract when all that can ferment has fermented, without hop creep.

    .. math:: AE_\infty = OE \left(1 - \frac{D}{q}\right)

    Source: Cutaia et al. 2009, solved for the apparent extract.
    """
    return original_extract_plato * (1.0 - real_attenuation_fraction / real_extract_ratio_factor)


def stalled_extract_plato(
    stall_share: PerBatch, stall_loss_fraction: PerBatch, original_extract_plato: PerBatch
) -> PerBatch:
    r"""Extract a stalled fermentation leaves behind (apparent).

    .. math:: OE \cdot z \cdot \max(\text{loss}, 0)

    Source: assumption; off unless the recipe asks.
    """
    return original_extract_plato * stall_share * np.maximum(stall_loss_fraction, 0.0)


def pack_extract_plato(
    original_extract_plato: PerBatch,
    limit_extract_plato: PerBatch,
    real_extract_ratio_factor: PerBatch,
    residual_extract_plato: PerBatch,
    diastatic_factor: PerBatch,
    live_yeast_share: PerBatch,
    stalled_extract_plato: PerBatch,
    hop_creep_plato: PerBatch,
) -> PerBatch:
    r"""Apparent extract when the beer is packaged.

    .. math:: AE_p = AE_\infty + e \, f \, y - c_d h + \text{stall leftover}

    The unfinished part :math:`e` counts where live yeast can go on with it (:math:`y`).

    Source: extract balance; common practice, no source, for what is left unfinished.
    """
    unfinished = residual_extract_plato * diastatic_factor * live_yeast_share
    left = limit_extract_plato + unfinished - hop_creep_plato + stalled_extract_plato
    return _kept_real(left, original_extract_plato, real_extract_ratio_factor)


def refermented_extract_plato(
    original_extract_plato: PerBatch,
    limit_extract_plato: PerBatch,
    real_extract_ratio_factor: PerBatch,
    pack_extract_plato: PerBatch,
    live_yeast_share: PerBatch,
    stalled_extract_plato: PerBatch,
    stall_restart_fraction: PerBatch,
    creep_limit_plato: PerBatch,
    creep_done_fraction: PerBatch,
    creep_after_removal_fraction: PerBatch,
) -> PerBatch:
    r"""Extract (apparent) that live yeast still ferments in the package.

    .. math::
        \Delta = y \max(AE_p - AE_b,\, 0), \quad
        AE_b = AE_\infty - c_d \left[h + \lambda (1 - h)\right] + (1 - \rho)\,\text{stall leftover}

    Never below 0: what yeast ferments it does not give back.

    Source: extract balance; assumption for what goes on after the hops are out.
    """
    creep = creep_done_fraction + creep_after_removal_fraction * (1.0 - creep_done_fraction)
    stuck = stalled_extract_plato * (1.0 - stall_restart_fraction)
    bottle = limit_extract_plato - creep_limit_plato * creep + stuck
    bottle = _kept_real(bottle, original_extract_plato, real_extract_ratio_factor)
    return live_yeast_share * np.maximum(pack_extract_plato - bottle, 0.0)


def final_extract_plato(
    pack_extract_plato: PerBatch, refermented_extract_plato: PerBatch
) -> PerBatch:
    r"""Final extract (apparent), of the beer as it is drunk.

    .. math:: AE_e = AE_p - \Delta

    Source: extract balance.
    """
    return pack_extract_plato - refermented_extract_plato


def _kept_real(apparent: FloatArray, original: FloatArray, ratio: FloatArray) -> FloatArray:
    lowest = original * (1.0 - _MOST_REAL_ATTENUATION / ratio)
    return np.clip(apparent, lowest, original)
