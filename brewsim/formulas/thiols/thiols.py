"""Free thiols in the beer: what is released and turned to acetate, what hops bring, storage."""

import numpy as np

from brewsim.constants import DAYS_PER_MONTH, MOLAR_3S4MP, MOLAR_3SH, MOLAR_3SHA, MOLAR_4MSP
from brewsim.dims import FloatArray, Input, PerBatch, Range

_WEEKS_PER_MONTH = DAYS_PER_MONTH / 7.0
_SMALL = 1e-6

INPUTS = {
    "thiol_kept_fraction": Input((), "Share of thiols not lost to yeast, trub, gas and air"),
    "acetylated_fraction": Input((), "Share of released 3SH that the yeast turns to acetate"),
    "half_life_3sh_month": Input((), "Months at 20 °C that halve the 3SH in packaged beer"),
    "half_life_3sha_month": Input((), "Months at 20 °C that halve the 3SHA in packaged beer"),
    "half_life_4msp_month": Input((), "Months at 20 °C that halve the 4MSP in packaged beer"),
    "thiol_storage_q10_factor": Input((), "How much faster thiols fade per 10 °C"),
}

VALID: dict[str, dict[str, Range]] = {
    "thiol_storage_exposure": {
        "storage_week": (0.0, 52.0),
        "storage_temperature_c": (-1.0, 30.0),
    },
}


def usable_3sh_nmol_l(
    from_malt_nmol_l: PerBatch,
    from_mash_hops_nmol_l: PerBatch,
    from_kettle_hops_nmol_l: PerBatch,
    from_whirlpool_hops_nmol_l: PerBatch,
    from_dry_hops_nmol_l: PerBatch,
    from_precursors_nmol_l: PerBatch,
) -> PerBatch:
    r"""Usable 3SH precursor from all sources.

    .. math:: \sum_i N_i

    Source: mass balance.
    """
    hops = from_mash_hops_nmol_l + from_kettle_hops_nmol_l + from_whirlpool_hops_nmol_l
    return from_malt_nmol_l + hops + from_dry_hops_nmol_l + from_precursors_nmol_l


def usable_4msp_nmol_l(
    hot_hop_4msp_precursor_nmol_l: PerBatch,
    dry_hop_4msp_precursor_nmol_l: PerBatch,
    product_4msp_precursor_nmol_l: PerBatch,
) -> PerBatch:
    r"""Usable 4MSP precursor from all sources.

    .. math:: \sum_i N_i

    Source: mass balance.
    """
    return (
        hot_hop_4msp_precursor_nmol_l
        + dry_hop_4msp_precursor_nmol_l
        + product_4msp_precursor_nmol_l
    )


def fermenter_thiol_kept_fraction(
    thiol_kept_fraction: PerBatch,
    finished_dry_hop_dose_g_l: PerBatch,
    late_hop_removal_per_g_l: PerBatch,
) -> PerBatch:
    r"""Share of released thiols left after losses and after dry hops have taken theirs.

    .. math:: k \, e^{-r L_\text{finished}}

    Source: assumption; direction of the second: common practice, no source.
    """
    return thiol_kept_fraction * np.exp(-late_hop_removal_per_g_l * finished_dry_hop_dose_g_l)


def released_3sh_nmol_l(
    usable_3sh_nmol_l: PerBatch,
    released_share_fraction: PerBatch,
    fermenter_thiol_kept_fraction: PerBatch,
) -> PerBatch:
    r"""3SH the yeast releases and the beer keeps, before it turns to acetate.

    .. math:: N r k

    Source: mass balance.
    """
    return usable_3sh_nmol_l * released_share_fraction * fermenter_thiol_kept_fraction


def released_4msp_nmol_l(
    usable_4msp_nmol_l: PerBatch,
    released_4msp_share_fraction: PerBatch,
    fermenter_thiol_kept_fraction: PerBatch,
) -> PerBatch:
    r"""4MSP the yeast releases and the beer keeps.

    .. math:: N r k

    Source: mass balance.
    """
    return usable_4msp_nmol_l * released_4msp_share_fraction * fermenter_thiol_kept_fraction


def packaged_3sh_nmol_l(
    released_3sh_nmol_l: PerBatch,
    acetylated_fraction: PerBatch,
    wort_3sh_nmol_l: PerBatch,
    dry_hop_3sh_nmol_l: PerBatch,
    fermenter_thiol_kept_fraction: PerBatch,
) -> PerBatch:
    r"""3SH in the beer when packaged.

    .. math:: (1 - f) N + k N_\text{wort} + N_\text{dry}

    Source: mass balance; what dry hops bring comes after the losses.
    """
    released = (1.0 - acetylated_fraction) * released_3sh_nmol_l
    return released + fermenter_thiol_kept_fraction * wort_3sh_nmol_l + dry_hop_3sh_nmol_l


def packaged_3sha_nmol_l(
    released_3sh_nmol_l: PerBatch, acetylated_fraction: PerBatch, dry_hop_3sha_nmol_l: PerBatch
) -> PerBatch:
    r"""3SHA in the beer when packaged.

    .. math:: f N + N_\text{dry}

    Source: wine holds 5 to 13 % as much 3SHA as 3SH: Mateo-Vivaracho et al. (2010), J. Agric. Food
        Chem. 58, 10184; acetate only forms in fermentation: Kishimoto (2009), Acta Hortic. 848;
        dry hops can bring some of their own: Kankolongo Cibaka et al. (2015).
    """
    return acetylated_fraction * released_3sh_nmol_l + dry_hop_3sha_nmol_l


def packaged_4msp_nmol_l(
    released_4msp_nmol_l: PerBatch,
    wort_4msp_nmol_l: PerBatch,
    dry_hop_4msp_nmol_l: PerBatch,
    fermenter_thiol_kept_fraction: PerBatch,
) -> PerBatch:
    r"""4MSP in the beer when packaged.

    .. math:: N + k N_\text{wort} + N_\text{dry}

    Source: mass balance; 4MSP has no acetate.
    """
    kept = fermenter_thiol_kept_fraction * wort_4msp_nmol_l
    return released_4msp_nmol_l + kept + dry_hop_4msp_nmol_l


def thiol_storage_exposure(
    storage_week: PerBatch, storage_temperature_c: PerBatch, thiol_storage_q10_factor: PerBatch
) -> PerBatch:
    r"""Storage, as months at 20 °C.

    .. math:: w \, Q^{(T - 20) / 10}

    Source: assumption; first order with a Q10.
    Valid: up to 52 weeks, -1 to 30 °C.
    """
    months = storage_week / _WEEKS_PER_MONTH
    return months * thiol_storage_q10_factor ** ((storage_temperature_c - 20.0) / 10.0)


def free_3sh_ng_l(
    packaged_3sh_nmol_l: PerBatch,
    packaged_3sha_nmol_l: PerBatch,
    thiol_storage_exposure: PerBatch,
    half_life_3sh_month: PerBatch,
    half_life_3sha_month: PerBatch,
) -> PerBatch:
    r"""3SH in the beer (grapefruit, passion fruit).

    .. math:: N_S e^{-k_S w} + N_A \frac{k_A}{k_S - k_A} (e^{-k_A w} - e^{-k_S w})

    What 3SHA loses comes back as 3SH, molecule for molecule.

    Source: direction: Herbst-Johnstone et al. (2011), wine, from memory; rates: assumption.
    """
    ester = np.log(2.0) / half_life_3sha_month * thiol_storage_exposure
    alcohol = np.log(2.0) / half_life_3sh_month * thiol_storage_exposure
    left = np.exp(-alcohol)
    from_ester = ester * left * _one_minus_exp_over(ester - alcohol)
    return MOLAR_3SH * (packaged_3sh_nmol_l * left + packaged_3sha_nmol_l * from_ester)


def free_3sha_ng_l(
    packaged_3sha_nmol_l: PerBatch,
    thiol_storage_exposure: PerBatch,
    half_life_3sha_month: PerBatch,
) -> PerBatch:
    r"""3SHA in the beer (passion fruit, guava).

    .. math:: N_A e^{-k_A w}

    Source: direction: Herbst-Johnstone et al. (2011), wine, from memory; rate: assumption.
    """
    return MOLAR_3SHA * packaged_3sha_nmol_l * _halved(thiol_storage_exposure, half_life_3sha_month)


def free_4msp_ng_l(
    packaged_4msp_nmol_l: PerBatch,
    thiol_storage_exposure: PerBatch,
    half_life_4msp_month: PerBatch,
) -> PerBatch:
    r"""4MSP in the beer (blackcurrant, box tree).

    .. math:: N e^{-k w}

    Source: direction: Reglitz et al. (2018), BrewingScience 71, 96, from memory; rate: assumption.
    """
    return MOLAR_4MSP * packaged_4msp_nmol_l * _halved(thiol_storage_exposure, half_life_4msp_month)


def free_3s4mp_ng_l(
    wort_3s4mp_nmol_l: PerBatch,
    dry_hop_3s4mp_nmol_l: PerBatch,
    released_3s4mp_nmol_l: PerBatch,
    fermenter_thiol_kept_fraction: PerBatch,
    thiol_storage_exposure: PerBatch,
    half_life_3sh_month: PerBatch,
) -> PerBatch:
    r"""3S4MP in the beer (grapefruit, rhubarb), where a hop's content is stated.

    .. math:: (N + k N_\text{wort} + N_\text{dry}) e^{-k_S w}

    Source: mass balance; fading as for 3SH is an assumption.
    """
    packaged = fermenter_thiol_kept_fraction * wort_3s4mp_nmol_l + dry_hop_3s4mp_nmol_l
    packaged = packaged + released_3s4mp_nmol_l
    return MOLAR_3S4MP * packaged * _halved(thiol_storage_exposure, half_life_3sh_month)


def _halved(exposure: FloatArray, half_life: FloatArray) -> FloatArray:
    return np.exp2(-exposure / half_life)


def _one_minus_exp_over(step: FloatArray) -> FloatArray:
    close = np.abs(step) < _SMALL
    safe = np.where(close, 1.0, step)
    return np.where(close, 1.0 - 0.5 * step, -np.expm1(-safe) / safe)
