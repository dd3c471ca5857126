"""How late hops take thiols and their precursors out again, by the load each source meets.

Hops take from what is in the wort beside them: whirlpool hops from malt and earlier hops, dry hops
in fermenting beer from those and whirlpool hops, dry hops after fermentation from free thiols.
"""

import numpy as np

from brewsim.dims import Input, PerBatch, PerDryHop, PerHop, Range

INPUTS = {
    "late_hop_removal_per_g_l": Input((), "How strongly late hops take out precursors and thiols"),
}

VALID: dict[str, dict[str, Range]] = {
    "late_hop_removal_fraction": {"late_hop_removal_fraction": (0.0, 0.9)},
}


def whirlpool_hop_dose_g_l(
    hop_added_g: PerHop, hop_in_whirlpool_share: PerHop, whole_wort_l: PerBatch
) -> PerBatch:
    r"""Whirlpool hops per litre of wort.

    .. math:: \sum_i m_i / V

    Source: bookkeeping.
    """
    return (hop_added_g * hop_in_whirlpool_share).sum(axis=0) / whole_wort_l


def fermenting_dry_hop_dose_g_l(
    dry_hop_added_g: PerDryHop,
    dry_hop_in_fermentation_share: PerDryHop,
    fermenter_volume_l: PerBatch,
) -> PerBatch:
    r"""Dry hops added while fermenting, per litre.

    .. math:: \sum_i m_i / V_f

    Source: bookkeeping.
    """
    return (dry_hop_added_g * dry_hop_in_fermentation_share).sum(axis=0) / fermenter_volume_l


def finished_dry_hop_dose_g_l(
    dry_hop_added_g: PerDryHop,
    dry_hop_in_fermentation_share: PerDryHop,
    fermenter_volume_l: PerBatch,
) -> PerBatch:
    r"""Dry hops added after fermentation, per litre.

    .. math:: \sum_i m_i / V_f

    Source: bookkeeping.
    """
    finished = dry_hop_added_g * (1.0 - dry_hop_in_fermentation_share)
    return finished.sum(axis=0) / fermenter_volume_l


def cold_hop_kept_fraction(
    fermenting_dry_hop_dose_g_l: PerBatch, late_hop_removal_per_g_l: PerBatch
) -> PerBatch:
    r"""Share of precursors that dry hops in the fermenter leave to the yeast.

    .. math:: e^{-r L_\text{cold}}

    Source: direction: common practice, no source; size: assumption.
    """
    return np.exp(-late_hop_removal_per_g_l * fermenting_dry_hop_dose_g_l)


def late_hop_kept_fraction(
    whirlpool_hop_dose_g_l: PerBatch,
    fermenting_dry_hop_dose_g_l: PerBatch,
    late_hop_removal_per_g_l: PerBatch,
) -> PerBatch:
    r"""Share of precursors from malt and earlier hops that late hops leave to the yeast.

    .. math:: e^{-r (L_\text{whirlpool} + L_\text{cold})}

    Hops take from what is in the wort beside them, never from what they bring themselves.

    Source: direction: common practice, no source; size: assumption.
    """
    load = whirlpool_hop_dose_g_l + fermenting_dry_hop_dose_g_l
    return np.exp(-late_hop_removal_per_g_l * load)


def late_hop_removal_fraction(
    whirlpool_hop_dose_g_l: PerBatch,
    fermenting_dry_hop_dose_g_l: PerBatch,
    finished_dry_hop_dose_g_l: PerBatch,
    late_hop_removal_per_g_l: PerBatch,
) -> PerBatch:
    r"""Share of malt's and mash hops' thiols that late hops take out, all together.

    .. math:: 1 - e^{-r (L_\text{whirlpool} + L_\text{cold} + L_\text{finished})}

    Source: direction: common practice, no source; size: assumption.
    Valid: up to 90 % (sense check).
    """
    load = whirlpool_hop_dose_g_l + fermenting_dry_hop_dose_g_l + finished_dry_hop_dose_g_l
    return -np.expm1(-late_hop_removal_per_g_l * load)
