"""Bound and free thiols on their way to the yeast, by source, in nmol/L.

Conjugates are counted in moles: glutathionylated 3SH 407.48 g/mol, cysteinylated 221.31. What hot
side materials bring is per litre after the boil, what goes in cold is per litre in the fermenter.
"""

import numpy as np

from brewsim.constants import MOLAR_3SH
from brewsim.dims import (
    DryHopIndex,
    HopIndex,
    Input,
    PerBatch,
    PerDryHop,
    PerHop,
    PerHopLot,
    PerMalt,
    PerPrecursor,
    Range,
    pick,
)

_GLUTATHIONYLATED_3SH = 407.48
_CYSTEINYLATED_3SH = 221.31

INPUTS = {
    "malt_glutathionylated_3sh_ug_kg": Input(
        ("malt",), "3SH precursor in a malt, were it kilned like pilsner malt"
    ),
    "malt_kilning_factor": Input(("malt",), "What a malt's kilning leaves of that precursor"),
    "malt_conjugate_transfer_fraction": Input((), "Share of malt's thiol precursor in the wort"),
    "hop_lot_glutathionylated_3sh_ug_kg": Input(
        ("hop_lot",), "Glutathionylated 3SH precursor in a hop lot"
    ),
    "hop_lot_cysteinylated_3sh_ug_kg": Input(
        ("hop_lot",), "Cysteinylated 3SH precursor in a hop lot"
    ),
    "conversion_glutathionylated_to_cysteinylated_fraction": Input(
        (), "Share of the glutathionylated precursor that mash enzymes trim"
    ),
    "mash_conjugate_transfer_fraction": Input((), "Share of precursor in the wort, from the mash"),
    "kettle_conjugate_transfer_fraction": Input(
        (), "Share of precursor in the wort, from the boiling kettle"
    ),
    "whirlpool_conjugate_transfer_fraction": Input(
        (), "Share of precursor in the wort, from the whirlpool"
    ),
    "cold_conjugate_transfer_fraction": Input(
        (), "Share of precursor in the beer, when added to fermenting beer"
    ),
    "precursor_dose_g_l": Input(("precursor",), "Dose of a precursor product, as the recipe says"),
    "precursor_weighing_factor": Input(("precursor",), "Weighing error of a precursor"),
    "precursor_content_ug_kg": Input(("precursor",), "3SH precursor in a precursor product"),
    "precursor_free_equivalent_share": Input(
        ("precursor",), "1 where a precursor's content is stated as free thiol, 0 as conjugate"
    ),
    "precursor_cysteinylated_share": Input(
        ("precursor",), "Cysteinylated share of a precursor product's conjugates, by molecules"
    ),
    "precursor_discrepancy_factor": Input(
        ("precursor",), "What a precursor product gives over what its assay foretells"
    ),
    "precursor_in_mash_share": Input(("precursor",), "1 for a precursor in the mash, else 0"),
    "precursor_in_kettle_share": Input(("precursor",), "1 for a precursor in the boil, else 0"),
    "precursor_in_whirlpool_share": Input(
        ("precursor",), "1 for a precursor in the whirlpool, else 0"
    ),
    "precursor_in_fermentation_share": Input(
        ("precursor",), "1 for a precursor added to fermenting beer, else 0"
    ),
}

VALID: dict[str, dict[str, Range]] = {
    "hop_glutathionylated_3sh_nmol_l": {"hop_lot_glutathionylated_3sh_ug_kg": (0.0, 150_000.0)},
    "hop_cysteinylated_3sh_nmol_l": {"hop_lot_cysteinylated_3sh_ug_kg": (0.0, 50_000.0)},
    "precursor_added_g_l": {"precursor_added_g_l": (0.0, 10.0)},
    "precursor_conjugate_nmol_g": {"precursor_content_ug_kg": (0.0, 100_000.0)},
}


def malt_conjugate_nmol_l(
    malt_added_kg: PerMalt,
    malt_glutathionylated_3sh_ug_kg: PerMalt,
    malt_kilning_factor: PerMalt,
    malt_conjugate_transfer_fraction: PerBatch,
    whole_wort_l: PerBatch,
) -> PerMalt:
    r"""3SH precursor each malt brings into the wort.

    .. math:: \frac{1000 \, m}{V} \cdot \frac{c \, k \, x}{407.48}

    All of it is counted as glutathionylated before the mash.

    Source: mass balance; that malt carries it: Chenot et al. (2022), J. Agric. Food Chem. 70, 3272
        (from memory).
    """
    dose = 1000.0 * malt_added_kg / whole_wort_l
    content = malt_glutathionylated_3sh_ug_kg * malt_kilning_factor / _GLUTATHIONYLATED_3SH
    return dose * content * malt_conjugate_transfer_fraction


def malt_conjugates_nmol_l(malt_conjugate_nmol_l: PerMalt) -> PerBatch:
    r"""3SH precursor from all malts.

    .. math:: \sum_i N_i

    Source: mass balance.
    """
    return malt_conjugate_nmol_l.sum(axis=0)


def hop_conjugate_transfer_fraction(
    hop_boiled_min: PerHop,
    hop_in_mash_share: PerHop,
    mash_conjugate_transfer_fraction: PerBatch,
    kettle_conjugate_transfer_fraction: PerBatch,
    whirlpool_conjugate_transfer_fraction: PerBatch,
) -> PerHop:
    r"""Share of a hot-side hop's thiol precursor that reaches the yeast.

    .. math:: x_\text{mash}, \quad x_\text{whirlpool}, \quad
        x_\text{whirlpool} + \min(t / 10, 1) (x_\text{kettle} - x_\text{whirlpool})

    Source: assumption: no transfer of these conjugates is published; straight line up to 10 min.
    """
    boiled = np.minimum(hop_boiled_min / 10.0, 1.0)
    span = kettle_conjugate_transfer_fraction - whirlpool_conjugate_transfer_fraction
    kettle = whirlpool_conjugate_transfer_fraction + boiled * span
    mash = hop_in_mash_share * mash_conjugate_transfer_fraction
    return mash + (1.0 - hop_in_mash_share) * kettle


def hop_glutathionylated_3sh_nmol_l(
    hop_added_g: PerHop,
    hop_lot_glutathionylated_3sh_ug_kg: PerHopLot,
    hop_lot_of_hop: HopIndex,
    hop_conjugate_transfer_fraction: PerHop,
    whole_wort_l: PerBatch,
) -> PerHop:
    r"""Glutathionylated 3SH precursor each hot-side hop brings, before mash enzymes.

    .. math:: \frac{m}{V} \cdot \frac{c_\text{G} \, x}{407.48}

    Source: mass balance.
    Valid: glutathionylated precursor below 150 mg/kg of the hop (sense check).
    """
    content = pick(hop_lot_glutathionylated_3sh_ug_kg, hop_lot_of_hop) / _GLUTATHIONYLATED_3SH
    return hop_added_g / whole_wort_l * content * hop_conjugate_transfer_fraction


def hop_cysteinylated_3sh_nmol_l(
    hop_added_g: PerHop,
    hop_lot_cysteinylated_3sh_ug_kg: PerHopLot,
    hop_lot_of_hop: HopIndex,
    hop_conjugate_transfer_fraction: PerHop,
    whole_wort_l: PerBatch,
) -> PerHop:
    r"""Cysteinylated 3SH precursor each hot-side hop brings, before mash enzymes.

    .. math:: \frac{m}{V} \cdot \frac{c_\text{Cys} \, x}{221.31}

    Source: mass balance.
    Valid: below 50 mg/kg of the hop; a printed "450 to 2,750 mg/kg" (Dagan et al., 2016) is read
        as µg/kg.
    """
    content = pick(hop_lot_cysteinylated_3sh_ug_kg, hop_lot_of_hop) / _CYSTEINYLATED_3SH
    return hop_added_g / whole_wort_l * content * hop_conjugate_transfer_fraction


def dry_hop_glutathionylated_3sh_nmol_l(
    dry_hop_added_g: PerDryHop,
    dry_hop_in_fermentation_share: PerDryHop,
    hop_lot_glutathionylated_3sh_ug_kg: PerHopLot,
    hop_lot_of_dry_hop: DryHopIndex,
    cold_conjugate_transfer_fraction: PerBatch,
    fermenter_volume_l: PerBatch,
) -> PerDryHop:
    r"""Glutathionylated 3SH precursor each dry hop brings while the yeast is at work.

    .. math:: \frac{m}{V_f} \cdot \frac{c_\text{G} \, x}{407.48}

    Source: mass balance; a dry hop added after fermentation brings none that yeast could use.
    """
    content = pick(hop_lot_glutathionylated_3sh_ug_kg, hop_lot_of_dry_hop) / _GLUTATHIONYLATED_3SH
    dose = dry_hop_added_g * dry_hop_in_fermentation_share / fermenter_volume_l
    return dose * content * cold_conjugate_transfer_fraction


def dry_hop_cysteinylated_3sh_nmol_l(
    dry_hop_added_g: PerDryHop,
    dry_hop_in_fermentation_share: PerDryHop,
    hop_lot_cysteinylated_3sh_ug_kg: PerHopLot,
    hop_lot_of_dry_hop: DryHopIndex,
    cold_conjugate_transfer_fraction: PerBatch,
    fermenter_volume_l: PerBatch,
) -> PerDryHop:
    r"""Cysteinylated 3SH precursor each dry hop brings while the yeast is at work.

    .. math:: \frac{m}{V_f} \cdot \frac{c_\text{Cys} \, x}{221.31}

    Source: mass balance; a dry hop added after fermentation brings none that yeast could use.
    """
    content = pick(hop_lot_cysteinylated_3sh_ug_kg, hop_lot_of_dry_hop) / _CYSTEINYLATED_3SH
    dose = dry_hop_added_g * dry_hop_in_fermentation_share / fermenter_volume_l
    return dose * content * cold_conjugate_transfer_fraction


def precursor_added_g_l(
    precursor_dose_g_l: PerPrecursor, precursor_weighing_factor: PerPrecursor
) -> PerPrecursor:
    r"""Dose of a precursor product that really went in.

    .. math:: d \, w

    Source: bookkeeping.
    Valid: up to 10 g/L; 3 to 7 g/L is in use (common practice, no source).
    """
    return precursor_dose_g_l * precursor_weighing_factor


def precursor_conjugate_nmol_g(
    precursor_content_ug_kg: PerPrecursor,
    precursor_free_equivalent_share: PerPrecursor,
    precursor_cysteinylated_share: PerPrecursor,
    precursor_discrepancy_factor: PerPrecursor,
) -> PerPrecursor:
    r"""3SH precursor in a gram of a precursor product.

    .. math:: c \, D / M, \quad M = 221.31 s + 407.48 (1 - s)
        \text{ or } 134.24 \text{ for free-thiol equivalents}

    Source: molar masses from the formulas C9H19NO3S, C16H29N3O7S, C6H14OS.
    Valid: up to 100,000 µg/kg (sense check: a tenth of a per mille).
    """
    mean = _CYSTEINYLATED_3SH * precursor_cysteinylated_share + _GLUTATHIONYLATED_3SH * (
        1.0 - precursor_cysteinylated_share
    )
    mass = mean + precursor_free_equivalent_share * (MOLAR_3SH - mean)
    return precursor_content_ug_kg * precursor_discrepancy_factor / mass


def precursor_conjugate_nmol_l(
    precursor_added_g_l: PerPrecursor,
    precursor_conjugate_nmol_g: PerPrecursor,
    precursor_in_mash_share: PerPrecursor,
    precursor_in_kettle_share: PerPrecursor,
    precursor_in_whirlpool_share: PerPrecursor,
    precursor_in_fermentation_share: PerPrecursor,
    mash_conjugate_transfer_fraction: PerBatch,
    kettle_conjugate_transfer_fraction: PerBatch,
    whirlpool_conjugate_transfer_fraction: PerBatch,
    cold_conjugate_transfer_fraction: PerBatch,
) -> PerPrecursor:
    r"""3SH precursor that each precursor product brings.

    .. math:: d \, n \, x_\text{point of addition}

    Source: mass balance; transfers as for hops (assumption).
    """
    transfer = (
        precursor_in_mash_share * mash_conjugate_transfer_fraction
        + precursor_in_kettle_share * kettle_conjugate_transfer_fraction
        + precursor_in_whirlpool_share * whirlpool_conjugate_transfer_fraction
        + precursor_in_fermentation_share * cold_conjugate_transfer_fraction
    )
    return precursor_added_g_l * precursor_conjugate_nmol_g * transfer
