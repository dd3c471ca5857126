"""What of each source's thiol precursors yeast can use: mash enzymes, late hops, heat, in nmol/L.

Usable means counted as cysteinylated: a glutathionylated molecule counts for the share of it that
yeast releases compared with a cysteinylated one. Sources stay apart to the end.
"""

from brewsim.dims import (
    DryHopIndex,
    HopIndex,
    Input,
    PerBatch,
    PerDryHop,
    PerHop,
    PerHopLot,
    PerPrecursor,
    pick,
)

INPUTS = {
    "heat_release_fraction": Input((), "Share of the boiled precursors that heat frees as 3SH"),
    "hop_lot_conjugated_4msp_ratio_factor": Input(
        ("hop_lot",), "4MSP precursor over 3SH precursor in a hop lot, by molecules"
    ),
    "precursor_conjugated_4msp_ratio_factor": Input(
        ("precursor",), "4MSP precursor over 3SH precursor in a precursor product, by molecules"
    ),
}


def mashed_usable_fraction(
    conversion_glutathionylated_to_cysteinylated_fraction: PerBatch,
    glutathionylated_release_ratio_factor: PerBatch,
) -> PerBatch:
    r"""What a glutathionylated molecule counts for after the mash, cysteinylated being 1.

    .. math:: x + (1 - x) \rho

    Source: trimming by malt enzymes is from memory; its size is an assumption.
    """
    trimmed = conversion_glutathionylated_to_cysteinylated_fraction
    return trimmed + (1.0 - trimmed) * glutathionylated_release_ratio_factor


def hop_usable_3sh_nmol_l(
    hop_glutathionylated_3sh_nmol_l: PerHop,
    hop_cysteinylated_3sh_nmol_l: PerHop,
    hop_in_mash_share: PerHop,
    hop_in_whirlpool_share: PerHop,
    mashed_usable_fraction: PerBatch,
    glutathionylated_release_ratio_factor: PerBatch,
    cold_hop_kept_fraction: PerBatch,
    late_hop_kept_fraction: PerBatch,
) -> PerHop:
    r"""Usable 3SH precursor of each hot-side hop.

    .. math:: (N_\text{Cys} + u N_\text{G}) E, \quad u = \rho \text{ or, mashed, } x + (1 - x)\rho

    Source: mass balance.
    """
    unmashed = glutathionylated_release_ratio_factor
    usable = unmashed + hop_in_mash_share * (mashed_usable_fraction - unmashed)
    late = hop_in_whirlpool_share * (cold_hop_kept_fraction - late_hop_kept_fraction)
    kept = late_hop_kept_fraction + late
    return (hop_cysteinylated_3sh_nmol_l + usable * hop_glutathionylated_3sh_nmol_l) * kept


def dry_hop_usable_3sh_nmol_l(
    dry_hop_glutathionylated_3sh_nmol_l: PerDryHop,
    dry_hop_cysteinylated_3sh_nmol_l: PerDryHop,
    glutathionylated_release_ratio_factor: PerBatch,
) -> PerDryHop:
    r"""Usable 3SH precursor of each dry hop.

    .. math:: N_\text{Cys} + \rho N_\text{G}

    Source: mass balance.
    """
    trimmed = glutathionylated_release_ratio_factor * dry_hop_glutathionylated_3sh_nmol_l
    return dry_hop_cysteinylated_3sh_nmol_l + trimmed


def precursor_usable_3sh_nmol_l(
    precursor_conjugate_nmol_l: PerPrecursor,
    precursor_cysteinylated_share: PerPrecursor,
    precursor_in_mash_share: PerPrecursor,
    precursor_in_fermentation_share: PerPrecursor,
    mashed_usable_fraction: PerBatch,
    glutathionylated_release_ratio_factor: PerBatch,
    cold_hop_kept_fraction: PerBatch,
    late_hop_kept_fraction: PerBatch,
) -> PerPrecursor:
    r"""Usable 3SH precursor of each precursor product.

    .. math:: N (s + (1 - s) u) E

    Source: mass balance.
    """
    unmashed = glutathionylated_release_ratio_factor
    trimmed = unmashed + precursor_in_mash_share * (mashed_usable_fraction - unmashed)
    usable = precursor_cysteinylated_share + (1.0 - precursor_cysteinylated_share) * trimmed
    cold = precursor_in_fermentation_share * (cold_hop_kept_fraction - late_hop_kept_fraction)
    return precursor_conjugate_nmol_l * usable * (late_hop_kept_fraction + cold)


def from_malt_nmol_l(
    malt_conjugates_nmol_l: PerBatch,
    mashed_usable_fraction: PerBatch,
    late_hop_kept_fraction: PerBatch,
) -> PerBatch:
    r"""Usable 3SH precursor from malt.

    .. math:: N u E

    Source: mass balance.
    """
    return malt_conjugates_nmol_l * mashed_usable_fraction * late_hop_kept_fraction


def from_mash_hops_nmol_l(hop_usable_3sh_nmol_l: PerHop, hop_in_mash_share: PerHop) -> PerBatch:
    r"""Usable 3SH precursor from mash hops.

    .. math:: \sum_{i \in \text{mash}} N_i

    Source: mass balance.
    """
    return (hop_usable_3sh_nmol_l * hop_in_mash_share).sum(axis=0)


def from_kettle_hops_nmol_l(
    hop_usable_3sh_nmol_l: PerHop, hop_in_mash_share: PerHop, hop_in_whirlpool_share: PerHop
) -> PerBatch:
    r"""Usable 3SH precursor from first-wort and kettle hops.

    .. math:: \sum_{i \in \text{kettle}} N_i

    Source: mass balance.
    """
    in_kettle = 1.0 - hop_in_mash_share - hop_in_whirlpool_share
    return (hop_usable_3sh_nmol_l * in_kettle).sum(axis=0)


def from_whirlpool_hops_nmol_l(
    hop_usable_3sh_nmol_l: PerHop, hop_in_whirlpool_share: PerHop
) -> PerBatch:
    r"""Usable 3SH precursor from whirlpool hops.

    .. math:: \sum_{i \in \text{whirlpool}} N_i

    Source: mass balance.
    """
    return (hop_usable_3sh_nmol_l * hop_in_whirlpool_share).sum(axis=0)


def from_dry_hops_nmol_l(dry_hop_usable_3sh_nmol_l: PerDryHop) -> PerBatch:
    r"""Usable 3SH precursor from dry hops in fermenting beer.

    .. math:: \sum_i N_i

    Source: mass balance.
    """
    return dry_hop_usable_3sh_nmol_l.sum(axis=0)


def from_precursors_nmol_l(precursor_usable_3sh_nmol_l: PerPrecursor) -> PerBatch:
    r"""Usable 3SH precursor from precursor products.

    .. math:: \sum_i N_i

    Source: mass balance.
    """
    return precursor_usable_3sh_nmol_l.sum(axis=0)


def hop_usable_4msp_nmol_l(
    hop_usable_3sh_nmol_l: PerHop,
    hop_lot_conjugated_4msp_ratio_factor: PerHopLot,
    hop_lot_of_hop: HopIndex,
) -> PerHop:
    r"""Usable 4MSP precursor of each hot-side hop.

    .. math:: q N_i

    Source: assumption: the 4MSP conjugates travel like those of 3SH.
    """
    return hop_usable_3sh_nmol_l * pick(hop_lot_conjugated_4msp_ratio_factor, hop_lot_of_hop)


def dry_hop_usable_4msp_nmol_l(
    dry_hop_usable_3sh_nmol_l: PerDryHop,
    hop_lot_conjugated_4msp_ratio_factor: PerHopLot,
    hop_lot_of_dry_hop: DryHopIndex,
) -> PerDryHop:
    r"""Usable 4MSP precursor of each dry hop.

    .. math:: q N_i

    Source: assumption: the 4MSP conjugates travel like those of 3SH.
    """
    ratio = pick(hop_lot_conjugated_4msp_ratio_factor, hop_lot_of_dry_hop)
    return dry_hop_usable_3sh_nmol_l * ratio


def hot_hop_4msp_precursor_nmol_l(hop_usable_4msp_nmol_l: PerHop) -> PerBatch:
    r"""Usable 4MSP precursor from hot-side hops.

    .. math:: \sum_i N_i

    Source: mass balance.
    """
    return hop_usable_4msp_nmol_l.sum(axis=0)


def dry_hop_4msp_precursor_nmol_l(dry_hop_usable_4msp_nmol_l: PerDryHop) -> PerBatch:
    r"""Usable 4MSP precursor from dry hops in fermenting beer.

    .. math:: \sum_i N_i

    Source: mass balance.
    """
    return dry_hop_usable_4msp_nmol_l.sum(axis=0)


def product_4msp_precursor_nmol_l(
    precursor_usable_3sh_nmol_l: PerPrecursor,
    precursor_conjugated_4msp_ratio_factor: PerPrecursor,
) -> PerBatch:
    r"""Usable 4MSP precursor from precursor products.

    .. math:: \sum_i q_i N_i

    Source: assumption: none unless stated.
    """
    return (precursor_usable_3sh_nmol_l * precursor_conjugated_4msp_ratio_factor).sum(axis=0)


def boiled_hop_conjugates_nmol_l(
    hop_glutathionylated_3sh_nmol_l: PerHop,
    hop_cysteinylated_3sh_nmol_l: PerHop,
    hop_in_whirlpool_share: PerHop,
) -> PerBatch:
    r"""3SH precursor from hops that are boiled.

    .. math:: \sum_{i \notin \text{whirlpool}} (N_\text{G} + N_\text{Cys})

    Source: mass balance.
    """
    both = hop_glutathionylated_3sh_nmol_l + hop_cysteinylated_3sh_nmol_l
    return (both * (1.0 - hop_in_whirlpool_share)).sum(axis=0)


def boiled_product_conjugates_nmol_l(
    precursor_conjugate_nmol_l: PerPrecursor,
    precursor_in_mash_share: PerPrecursor,
    precursor_in_kettle_share: PerPrecursor,
) -> PerBatch:
    r"""3SH precursor from precursor products that are boiled.

    .. math:: \sum_{i \in \text{mash, kettle}} N_i

    Source: mass balance.
    """
    boiled = precursor_in_mash_share + precursor_in_kettle_share
    return (precursor_conjugate_nmol_l * boiled).sum(axis=0)


def heat_freed_3sh_nmol_l(
    malt_conjugates_nmol_l: PerBatch,
    boiled_hop_conjugates_nmol_l: PerBatch,
    boiled_product_conjugates_nmol_l: PerBatch,
    heat_release_fraction: PerBatch,
) -> PerBatch:
    r"""3SH that heat frees from precursors before the yeast.

    .. math:: \varepsilon \sum N

    Source: sign: Kishimoto (2009), Acta Hortic. 848, 307 (free 3SH rises in the boil); size:
        assumption, so small that it is not taken off the precursors.
    """
    conjugates = (
        malt_conjugates_nmol_l + boiled_hop_conjugates_nmol_l + boiled_product_conjugates_nmol_l
    )
    return heat_release_fraction * conjugates
