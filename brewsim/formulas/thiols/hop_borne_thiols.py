"""Free thiols that hops carry into wort and beer, before and beside what yeast releases."""

import numpy as np

from brewsim.constants import MOLAR_3S4MP, MOLAR_3SH, MOLAR_4MSP
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
    "hop_lot_free_3sh_ug_kg": Input(("hop_lot",), "Free 3SH in a hop lot"),
    "hop_lot_free_4msp_ug_kg": Input(("hop_lot",), "Free 4MSP in a hop lot"),
    "hop_lot_free_3s4mp_ug_kg": Input(("hop_lot",), "Free 3S4MP in a hop lot"),
    "free_thiol_transfer_fraction": Input((), "Share of a hop's free thiols in wort or beer"),
    "free_4msp_half_life_min": Input((), "Minutes of boiling that halve the free 4MSP"),
}

VALID: dict[str, dict[str, Range]] = {
    "hop_free_3sh_nmol_l": {"hop_lot_free_3sh_ug_kg": (0.0, 150.0)},
    "hop_free_4msp_nmol_l": {"hop_lot_free_4msp_ug_kg": (0.0, 150.0)},
}


def hop_free_4msp_kept_fraction(
    hop_boiled_min: PerHop, free_4msp_half_life_min: PerBatch
) -> PerHop:
    r"""Share of a hot-side hop's free 4MSP that the boil leaves.

    .. math:: 2^{-t / \tau}

    Source: sign: Kishimoto (2009), Acta Hortic. 848, 307; rate: assumption.
    """
    return np.exp2(-hop_boiled_min / free_4msp_half_life_min)


def hop_free_3sh_nmol_l(
    hop_added_g: PerHop,
    hop_lot_free_3sh_ug_kg: PerHopLot,
    hop_lot_of_hop: HopIndex,
    free_thiol_transfer_fraction: PerBatch,
    whole_wort_l: PerBatch,
) -> PerHop:
    r"""Free 3SH each hot-side hop brings into the wort.

    .. math:: \frac{m}{V} \cdot \frac{c \, x}{134.24}

    Source: mass balance; transfer: assumption.
    Valid: up to 150 µg/kg of the hop (sense check).
    """
    content = pick(hop_lot_free_3sh_ug_kg, hop_lot_of_hop) / MOLAR_3SH
    dose = hop_added_g / whole_wort_l
    return dose * content * free_thiol_transfer_fraction


def wort_3sh_nmol_l(hop_free_3sh_nmol_l: PerHop, heat_freed_3sh_nmol_l: PerBatch) -> PerBatch:
    r"""Free 3SH in the wort before the yeast.

    .. math:: \sum_i N_i + N_\text{heat}

    Source: mass balance; Kishimoto (2009), Acta Hortic. 848, 307: it rises in the boil.
    """
    return hop_free_3sh_nmol_l.sum(axis=0) + heat_freed_3sh_nmol_l


def dry_hop_free_3sh_nmol_l(
    dry_hop_added_g: PerDryHop,
    hop_lot_free_3sh_ug_kg: PerHopLot,
    hop_lot_of_dry_hop: DryHopIndex,
    free_thiol_transfer_fraction: PerBatch,
    fermenter_volume_l: PerBatch,
) -> PerDryHop:
    r"""Free 3SH each dry hop brings into the beer.

    .. math:: \frac{m}{V_f} \cdot \frac{c \, x}{134.24}

    Contact time is left out: most is extracted by the second day.

    Source: mass balance; timing: 4MSP by day 2, at second hand; transfer: assumption.
    """
    content = pick(hop_lot_free_3sh_ug_kg, hop_lot_of_dry_hop) / MOLAR_3SH
    return dry_hop_added_g / fermenter_volume_l * content * free_thiol_transfer_fraction


def dry_hop_3sh_nmol_l(dry_hop_free_3sh_nmol_l: PerDryHop) -> PerBatch:
    r"""Free 3SH that dry hops bring into the beer.

    .. math:: \sum_i N_i

    Source: mass balance.
    """
    return dry_hop_free_3sh_nmol_l.sum(axis=0)


def hop_free_4msp_nmol_l(
    hop_added_g: PerHop,
    hop_lot_free_4msp_ug_kg: PerHopLot,
    hop_lot_of_hop: HopIndex,
    hop_free_4msp_kept_fraction: PerHop,
    free_thiol_transfer_fraction: PerBatch,
    whole_wort_l: PerBatch,
) -> PerHop:
    r"""Free 4MSP each hot-side hop brings into the wort.

    .. math:: \frac{m}{V} \cdot \frac{c \, x}{132.22} 2^{-t / \tau}

    Source: mass balance; transfer: assumption.
    Valid: up to 150 µg/kg of the hop (sense check).
    """
    content = pick(hop_lot_free_4msp_ug_kg, hop_lot_of_hop) / MOLAR_4MSP
    dose = hop_added_g / whole_wort_l
    return dose * content * free_thiol_transfer_fraction * hop_free_4msp_kept_fraction


def wort_4msp_nmol_l(hop_free_4msp_nmol_l: PerHop) -> PerBatch:
    r"""Free 4MSP in the wort before the yeast.

    .. math:: \sum_i N_i

    Source: mass balance.
    """
    return hop_free_4msp_nmol_l.sum(axis=0)


def dry_hop_free_4msp_nmol_l(
    dry_hop_added_g: PerDryHop,
    hop_lot_free_4msp_ug_kg: PerHopLot,
    hop_lot_of_dry_hop: DryHopIndex,
    free_thiol_transfer_fraction: PerBatch,
    fermenter_volume_l: PerBatch,
) -> PerDryHop:
    r"""Free 4MSP each dry hop brings into the beer.

    .. math:: \frac{m}{V_f} \cdot \frac{c \, x}{132.22}

    Contact time is left out: most is extracted by the second day.

    Source: mass balance; timing: 4MSP by day 2, at second hand; transfer: assumption.
    """
    content = pick(hop_lot_free_4msp_ug_kg, hop_lot_of_dry_hop) / MOLAR_4MSP
    return dry_hop_added_g / fermenter_volume_l * content * free_thiol_transfer_fraction


def dry_hop_4msp_nmol_l(dry_hop_free_4msp_nmol_l: PerDryHop) -> PerBatch:
    r"""Free 4MSP that dry hops bring into the beer.

    .. math:: \sum_i N_i

    Source: mass balance.
    """
    return dry_hop_free_4msp_nmol_l.sum(axis=0)


def hop_free_3s4mp_nmol_l(
    hop_added_g: PerHop,
    hop_lot_free_3s4mp_ug_kg: PerHopLot,
    hop_lot_of_hop: HopIndex,
    free_thiol_transfer_fraction: PerBatch,
    whole_wort_l: PerBatch,
) -> PerHop:
    r"""Free 3S4MP each hot-side hop brings into the wort.

    .. math:: \frac{m}{V} \cdot \frac{c \, x}{134.24}

    Source: mass balance; transfer: assumption.
    """
    content = pick(hop_lot_free_3s4mp_ug_kg, hop_lot_of_hop) / MOLAR_3S4MP
    dose = hop_added_g / whole_wort_l
    return dose * content * free_thiol_transfer_fraction


def wort_3s4mp_nmol_l(hop_free_3s4mp_nmol_l: PerHop) -> PerBatch:
    r"""Free 3S4MP in the wort before the yeast.

    .. math:: \sum_i N_i

    Source: mass balance.
    """
    return hop_free_3s4mp_nmol_l.sum(axis=0)


def dry_hop_free_3s4mp_nmol_l(
    dry_hop_added_g: PerDryHop,
    hop_lot_free_3s4mp_ug_kg: PerHopLot,
    hop_lot_of_dry_hop: DryHopIndex,
    free_thiol_transfer_fraction: PerBatch,
    fermenter_volume_l: PerBatch,
) -> PerDryHop:
    r"""Free 3S4MP each dry hop brings into the beer.

    .. math:: \frac{m}{V_f} \cdot \frac{c \, x}{134.24}

    Contact time is left out: most is extracted by the second day.

    Source: mass balance; timing: 4MSP by day 2, at second hand; transfer: assumption.
    """
    content = pick(hop_lot_free_3s4mp_ug_kg, hop_lot_of_dry_hop) / MOLAR_3S4MP
    return dry_hop_added_g / fermenter_volume_l * content * free_thiol_transfer_fraction


def dry_hop_3s4mp_nmol_l(dry_hop_free_3s4mp_nmol_l: PerDryHop) -> PerBatch:
    r"""Free 3S4MP that dry hops bring into the beer.

    .. math:: \sum_i N_i

    Source: mass balance.
    """
    return dry_hop_free_3s4mp_nmol_l.sum(axis=0)
