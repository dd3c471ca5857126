"""What goes in: hops as weighed, their lots, and where each addition meets the wort."""

import numpy as np

from brewsim.constants import DAYS_PER_MONTH
from brewsim.dims import (
    DryHopIndex,
    HopIndex,
    Input,
    PerBatch,
    PerDryHop,
    PerHop,
    PerHopLot,
    Range,
    pick,
)

INPUTS = {
    "hop_mass_g": Input(("hop",), "Mass of a hot-side hop addition, as the recipe says"),
    "hop_weighing_factor": Input(("hop",), "Weighing error of a hop addition"),
    "hop_lot_of_hop": Input(("hop",), "Which lot a hot-side addition comes from"),
    "hop_boil_time_min": Input(("hop",), "Planned minutes an addition boils"),
    "hop_in_mash_share": Input(("hop",), "1 for a mash hop, else 0"),
    "hop_in_first_wort_share": Input(("hop",), "1 for a first-wort hop, else 0"),
    "hop_in_whirlpool_share": Input(("hop",), "1 for a whirlpool hop, else 0"),
    "hop_stand_share": Input(("hop",), "Share of the hop stand an addition is in the wort for"),
    "hop_is_pellet_share": Input(("hop",), "1 for pellets, 0 for cones"),
    "dry_hop_mass_g": Input(("dry_hop",), "Mass of a dry-hop addition, as the recipe says"),
    "dry_hop_weighing_factor": Input(("dry_hop",), "Weighing error of a dry hop"),
    "hop_lot_of_dry_hop": Input(("dry_hop",), "Which lot a dry-hop addition comes from"),
    "dry_hop_contact_day": Input(("dry_hop",), "Days a dry hop stays in the beer"),
    "dry_hop_temperature_c": Input(("dry_hop",), "Temperature during a dry hop's contact"),
    "dry_hop_in_fermentation_share": Input(("dry_hop",), "1 for a dry hop added while fermenting"),
    "hop_lot_stated_alpha_fraction": Input(
        ("hop_lot",), "Alpha acids of a hop lot when packed or certified"
    ),
    "hop_lot_age_month": Input(("hop_lot",), "Months a hop lot was stored since that figure"),
    "hop_lot_storage_temperature_c": Input(("hop_lot",), "Temperature a hop lot was stored at"),
    "hop_lot_package_factor": Input(
        ("hop_lot",), "Ageing rate in a hop lot's package over loose storage"
    ),
    "hop_lot_alpha_loss_per_day": Input(
        ("hop_lot",), "Rate at which a hop lot loses alpha acids, loose at 20 °C"
    ),
    "storage_halving_c": Input((), "Degrees that halve the ageing rate of hops"),
    "hop_lot_storage_index": Input(
        ("hop_lot",), "Hop storage index of a lot (A275/A325); read only when it is stated"
    ),
    "hop_lot_storage_index_factor": Input(
        ("hop_lot",), "Reading error of the storage index of a hop lot"
    ),
    "hop_lot_index_known_share": Input(
        ("hop_lot",), "1 when a hop lot's ageing is read off its storage index, else 0"
    ),
    "fresh_storage_index": Input((), "Storage index of fresh hops"),
    "storage_index_slope_factor": Input(
        (), "Loss of acids, over all of them, per tenfold rise of the storage index"
    ),
}

VALID: dict[str, dict[str, Range]] = {
    "hop_lot_alpha_kept_fraction": {
        "hop_lot_alpha_kept_fraction": (0.3, 1.0),
        "hop_lot_storage_temperature_c": (-25.0, 30.0),
    },
    "hop_lot_alpha_acid_fraction": {"hop_lot_alpha_acid_fraction": (0.005, 0.25)},
}


def hop_added_g(hop_mass_g: PerHop, hop_weighing_factor: PerHop) -> PerHop:
    r"""Mass of a hot-side hop addition that really went in.

    .. math:: m_\text{stated} \cdot w

    Source: bookkeeping.
    """
    return hop_mass_g * hop_weighing_factor


def dry_hop_added_g(dry_hop_mass_g: PerDryHop, dry_hop_weighing_factor: PerDryHop) -> PerDryHop:
    r"""Mass of a dry-hop addition that really went in.

    .. math:: m_\text{stated} \cdot w

    Source: bookkeeping.
    """
    return dry_hop_mass_g * dry_hop_weighing_factor


def hop_boiled_min(
    hop_boil_time_min: PerHop,
    hop_in_mash_share: PerHop,
    hop_in_first_wort_share: PerHop,
    hop_in_whirlpool_share: PerHop,
    boil_time_min: PerBatch,
) -> PerHop:
    r"""Planned minutes a hot-side addition boils.

    .. math:: \min(t_i, t_\text{boil}), \quad t_\text{boil} \text{ (mash, first wort)}, \quad
        0 \text{ (whirlpool)}

    Source: bookkeeping; planned times, so that jitter never changes the order of additions.
    """
    whole_boil = hop_in_mash_share + hop_in_first_wort_share
    timed = np.minimum(hop_boil_time_min, boil_time_min)
    timed = timed * (1.0 - whole_boil - hop_in_whirlpool_share)
    return whole_boil * boil_time_min + timed


def hop_lot_alpha_kept_fraction(
    hop_lot_age_month: PerHopLot,
    hop_lot_storage_temperature_c: PerHopLot,
    hop_lot_package_factor: PerHopLot,
    hop_lot_alpha_loss_per_day: PerHopLot,
    storage_halving_c: PerBatch,
    hop_lot_storage_index: PerHopLot,
    hop_lot_storage_index_factor: PerHopLot,
    hop_lot_index_known_share: PerHopLot,
    fresh_storage_index: PerBatch,
    storage_index_slope_factor: PerBatch,
) -> PerHopLot:
    r"""Share of a hop lot's alpha acids that storage has left.

    .. math::
        e^{-k \, p \, 2^{(T-20)/h} \, d} \quad\text{or, from the storage index } H,\quad
        1 - s \log_{10}(H / H_0)

    Source: first order: Garetz (1994), Using Hops, after Green (1978) and Skinner et al. (1977);
        index: Nickerson & Likens (1979), J. Am. Soc. Brew. Chem. 37, 184.
    Valid: -25 to 30 °C; more than 0.3 left. The two forms meet within about 8 points.
    """
    pace = hop_lot_package_factor * 2.0 ** (
        (hop_lot_storage_temperature_c - 20.0) / storage_halving_c
    )
    days = DAYS_PER_MONTH * hop_lot_age_month
    by_time = np.exp(-hop_lot_alpha_loss_per_day * pace * days)
    index = hop_lot_storage_index * hop_lot_storage_index_factor
    by_index = 1.0 - storage_index_slope_factor * np.log10(index / fresh_storage_index)
    kept = np.where(hop_lot_index_known_share > 0.5, by_index, by_time)
    return np.clip(kept, 0.02, 1.0)


def hop_lot_alpha_acid_fraction(
    hop_lot_stated_alpha_fraction: PerHopLot, hop_lot_alpha_kept_fraction: PerHopLot
) -> PerHopLot:
    r"""Alpha acids of a hop lot on brew day.

    .. math:: \alpha_\text{stated} \cdot \text{kept}

    Source: mass balance.
    Valid: 0.5 to 25 % of the hop (sense check: no hop lies outside).
    """
    return hop_lot_stated_alpha_fraction * hop_lot_alpha_kept_fraction


def hop_lot_alpha_lost_share(hop_lot_alpha_kept_fraction: PerHopLot) -> PerHopLot:
    r"""Alpha acids a hop lot lost in storage over those it still has.

    .. math:: (1 - \text{kept}) / \text{kept}

    Source: definition.
    """
    return (1.0 - hop_lot_alpha_kept_fraction) / hop_lot_alpha_kept_fraction


def hop_alpha_acid_fraction(
    hop_lot_alpha_acid_fraction: PerHopLot, hop_lot_of_hop: HopIndex
) -> PerHop:
    r"""Alpha acids of each hot-side addition; additions from one lot share its draw.

    .. math:: \alpha_i = \alpha_{\text{lot}(i)}

    Source: bookkeeping.
    """
    return pick(hop_lot_alpha_acid_fraction, hop_lot_of_hop)


def hop_alpha_lost_share(hop_lot_alpha_lost_share: PerHopLot, hop_lot_of_hop: HopIndex) -> PerHop:
    r"""Alpha acids each hot-side addition lost in storage over those it still has.

    .. math:: L_i = L_{\text{lot}(i)}

    Source: bookkeeping.
    """
    return pick(hop_lot_alpha_lost_share, hop_lot_of_hop)


def dry_hop_alpha_acid_fraction(
    hop_lot_alpha_acid_fraction: PerHopLot, hop_lot_of_dry_hop: DryHopIndex
) -> PerDryHop:
    r"""Alpha acids of each dry-hop addition; additions from one lot share its draw.

    .. math:: \alpha_i = \alpha_{\text{lot}(i)}

    Source: bookkeeping.
    """
    return pick(hop_lot_alpha_acid_fraction, hop_lot_of_dry_hop)
