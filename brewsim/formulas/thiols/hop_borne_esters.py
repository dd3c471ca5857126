"""3SHA and bound 3S4MP that hops bring, where a lot's content is printed or stated."""

from brewsim.constants import MOLAR_3S4MP, MOLAR_3SHA
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
    "hop_lot_free_3sha_ug_kg": Input(("hop_lot",), "Free 3SHA in a hop lot"),
    "hop_lot_bound_3s4mp_ug_kg": Input(
        ("hop_lot",), "Bound 3S4MP in a hop lot, as the free thiol it would give"
    ),
}

VALID: dict[str, dict[str, Range]] = {
    "dry_hop_free_3sha_nmol_l": {"hop_lot_free_3sha_ug_kg": (0.0, 150.0)},
    "hop_bound_3s4mp_nmol_l": {"hop_lot_bound_3s4mp_ug_kg": (0.0, 150_000.0)},
}


def dry_hop_free_3sha_nmol_l(
    dry_hop_added_g: PerDryHop,
    hop_lot_free_3sha_ug_kg: PerHopLot,
    hop_lot_of_dry_hop: DryHopIndex,
    free_thiol_transfer_fraction: PerBatch,
    fermenter_volume_l: PerBatch,
) -> PerDryHop:
    r"""Free 3SHA each dry hop brings into the beer.

    .. math:: \frac{m}{V_f} \cdot \frac{c \, x}{176.28}

    What hot-side hops bring is left out: the ester is not expected to outlast boil and yeast.

    Source: mass balance; content in one variety: Kankolongo Cibaka et al. (2015), J. Agric. Food
        Chem. 63, 3022; transfer: assumption.
    Valid: up to 150 µg/kg of the hop (sense check).
    """
    content = pick(hop_lot_free_3sha_ug_kg, hop_lot_of_dry_hop) / MOLAR_3SHA
    return dry_hop_added_g / fermenter_volume_l * content * free_thiol_transfer_fraction


def dry_hop_3sha_nmol_l(dry_hop_free_3sha_nmol_l: PerDryHop) -> PerBatch:
    r"""Free 3SHA that dry hops bring into the beer.

    .. math:: \sum_i N_i

    Source: mass balance.
    """
    return dry_hop_free_3sha_nmol_l.sum(axis=0)


def hop_bound_3s4mp_nmol_l(
    hop_added_g: PerHop,
    hop_lot_bound_3s4mp_ug_kg: PerHopLot,
    hop_lot_of_hop: HopIndex,
    hop_conjugate_transfer_fraction: PerHop,
    whole_wort_l: PerBatch,
) -> PerHop:
    r"""Bound 3S4MP each hot-side hop brings to the yeast.

    .. math:: \frac{m}{V} \cdot \frac{c \, x}{134.24}

    Source: mass balance; that 3S4MP is made in fermentation: Gros et al. (2012), J. Agric. Food
        Chem. 60, abstract; transfer as for the conjugates of 3SH (assumption).
    Valid: up to 150,000 µg/kg of the hop (sense check).
    """
    content = pick(hop_lot_bound_3s4mp_ug_kg, hop_lot_of_hop) / MOLAR_3S4MP
    return hop_added_g / whole_wort_l * content * hop_conjugate_transfer_fraction


def dry_hop_bound_3s4mp_nmol_l(
    dry_hop_added_g: PerDryHop,
    dry_hop_in_fermentation_share: PerDryHop,
    hop_lot_bound_3s4mp_ug_kg: PerHopLot,
    hop_lot_of_dry_hop: DryHopIndex,
    cold_conjugate_transfer_fraction: PerBatch,
    fermenter_volume_l: PerBatch,
) -> PerDryHop:
    r"""Bound 3S4MP each dry hop brings while the yeast is at work.

    .. math:: \frac{m}{V_f} \cdot \frac{c \, x}{134.24}

    Source: mass balance; as hop_bound_3s4mp_nmol_l.
    """
    content = pick(hop_lot_bound_3s4mp_ug_kg, hop_lot_of_dry_hop) / MOLAR_3S4MP
    dose = dry_hop_added_g * dry_hop_in_fermentation_share / fermenter_volume_l
    return dose * content * cold_conjugate_transfer_fraction


def hot_side_bound_3s4mp_nmol_l(hop_bound_3s4mp_nmol_l: PerHop) -> PerBatch:
    r"""Bound 3S4MP from hot-side hops.

    .. math:: \sum_i N_i

    Source: mass balance.
    """
    return hop_bound_3s4mp_nmol_l.sum(axis=0)


def released_3s4mp_nmol_l(
    hot_side_bound_3s4mp_nmol_l: PerBatch,
    dry_hop_bound_3s4mp_nmol_l: PerDryHop,
    released_share_fraction: PerBatch,
    fermenter_thiol_kept_fraction: PerBatch,
) -> PerBatch:
    r"""3S4MP the yeast releases and the beer keeps.

    .. math:: r k \left(N_\text{hot} + \sum_i N_i\right)

    Source: mass balance; released like 3SH from its cysteinylated precursor (assumption).
    """
    bound = hot_side_bound_3s4mp_nmol_l + dry_hop_bound_3s4mp_nmol_l.sum(axis=0)
    return bound * released_share_fraction * fermenter_thiol_kept_fraction
