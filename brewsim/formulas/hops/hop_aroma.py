"""Hop aroma, short on purpose: linalool and geraniol by lot content and point of addition."""

import numpy as np

from brewsim.dims import (
    DryHopIndex,
    FloatArray,
    HopIndex,
    Input,
    PerBatch,
    PerDryHop,
    PerHop,
    PerHopLot,
    Range,
    pick,
)

_WEAKEST_ABV, _STRONGEST_ABV = 5.0, 12.0

INPUTS = {
    "hop_lot_linalool_mg_kg": Input(("hop_lot",), "Linalool in a hop lot"),
    "hop_lot_geraniol_mg_kg": Input(("hop_lot",), "Geraniol in a hop lot"),
    "oil_boil_decay_min": Input((), "Minutes of boiling that leave 1/e of a hop's aroma oil"),
    "linalool_hot_transfer_fraction": Input((), "Share of a whirlpool hop's linalool in the beer"),
    "linalool_dry_transfer_fraction": Input((), "Share of a dry hop's linalool in the beer"),
    "geraniol_hot_transfer_fraction": Input((), "Share of a whirlpool hop's geraniol in the beer"),
    "geraniol_fermenting_transfer_fraction": Input(
        (), "Share of geraniol left from a dry hop added while fermenting"
    ),
    "geraniol_dry_transfer_fraction": Input(
        (), "Share of geraniol left from a dry hop added after fermentation"
    ),
    "threshold_linalool_ug_l": Input((), "Linalool at which half of a panel notices it in beer"),
    "threshold_geraniol_ug_l": Input((), "Geraniol at which half of a panel notices it in beer"),
    "ethanol_linalool_threshold_slope_factor": Input(
        (), "Rise of the logarithm of linalool's threshold per % ABV above 5"
    ),
    "ethanol_geraniol_threshold_slope_factor": Input(
        (), "Rise of the logarithm of geraniol's threshold per % ABV above 5"
    ),
}

VALID: dict[str, dict[str, Range]] = {
    "linalool_ug_l": {"linalool_ug_l": (0.0, 2000.0)},
    "geraniol_ug_l": {"geraniol_ug_l": (0.0, 1000.0)},
}


def hop_oil_kept_fraction(hop_boiled_min: PerHop, oil_boil_decay_min: PerBatch) -> PerHop:
    r"""Share of a hot-side addition's aroma oil that the boil leaves.

    .. math:: e^{-t / t_0}

    Source: from memory: about 10 to 30 % of linalool after 10 min, under 5 % after 60.
    """
    return np.exp(-hop_boiled_min / oil_boil_decay_min)


def hot_hop_linalool_ug_l(
    hop_added_g: PerHop,
    hop_lot_linalool_mg_kg: PerHopLot,
    hop_lot_of_hop: HopIndex,
    hop_oil_kept_fraction: PerHop,
    linalool_hot_transfer_fraction: PerBatch,
    whole_wort_l: PerBatch,
) -> PerHop:
    r"""Linalool in the beer from each hot-side addition.

    .. math:: \frac{m}{V} c \, x_\text{hot} \, e^{-t / t_0}

    Source: from memory (30 to 60 % from the whirlpool); form: mass balance.
    """
    content = pick(hop_lot_linalool_mg_kg, hop_lot_of_hop)
    dose = hop_added_g / whole_wort_l
    return dose * content * linalool_hot_transfer_fraction * hop_oil_kept_fraction


def dry_hop_linalool_ug_l(
    dry_hop_added_g: PerDryHop,
    hop_lot_linalool_mg_kg: PerHopLot,
    hop_lot_of_dry_hop: DryHopIndex,
    linalool_dry_transfer_fraction: PerBatch,
    fermenter_volume_l: PerBatch,
) -> PerDryHop:
    r"""Linalool in the beer from each dry hop.

    .. math:: \frac{m}{V} c \, x_\text{dry}

    When the hop goes in makes no difference for linalool.

    Source: timing: Takoi et al. (2014), BrewingScience, by way of a brewers' wiki; transfer
        from memory (60 to 100 %).
    """
    content = pick(hop_lot_linalool_mg_kg, hop_lot_of_dry_hop)
    return dry_hop_added_g / fermenter_volume_l * content * linalool_dry_transfer_fraction


def hot_hop_geraniol_ug_l(
    hop_added_g: PerHop,
    hop_lot_geraniol_mg_kg: PerHopLot,
    hop_lot_of_hop: HopIndex,
    hop_oil_kept_fraction: PerHop,
    geraniol_hot_transfer_fraction: PerBatch,
    whole_wort_l: PerBatch,
) -> PerHop:
    r"""Geraniol in the beer from each hot-side addition.

    .. math:: \frac{m}{V} c \, x_\text{hot} \, e^{-t / t_0}

    Source: assumption: as linalool, less what fermentation takes; form: mass balance.
    """
    content = pick(hop_lot_geraniol_mg_kg, hop_lot_of_hop)
    dose = hop_added_g / whole_wort_l
    return dose * content * geraniol_hot_transfer_fraction * hop_oil_kept_fraction


def dry_hop_geraniol_ug_l(
    dry_hop_added_g: PerDryHop,
    hop_lot_geraniol_mg_kg: PerHopLot,
    hop_lot_of_dry_hop: DryHopIndex,
    dry_hop_in_fermentation_share: PerDryHop,
    geraniol_fermenting_transfer_fraction: PerBatch,
    geraniol_dry_transfer_fraction: PerBatch,
    fermenter_volume_l: PerBatch,
) -> PerDryHop:
    r"""Geraniol in the beer from each dry hop.

    .. math:: \frac{m}{V} c \, x_\text{dry} \text{ or } x_\text{fermenting}

    Source: direction: Takoi et al. (2014), BrewingScience (earlier addition, less geraniol);
        shares from memory (40 to 70 % after fermentation).
    """
    content = pick(hop_lot_geraniol_mg_kg, hop_lot_of_dry_hop)
    early = dry_hop_in_fermentation_share * geraniol_fermenting_transfer_fraction
    late = (1.0 - dry_hop_in_fermentation_share) * geraniol_dry_transfer_fraction
    return dry_hop_added_g / fermenter_volume_l * content * (early + late)


def hot_side_linalool_ug_l(hot_hop_linalool_ug_l: PerHop) -> PerBatch:
    r"""Linalool in the beer from the hot side.

    .. math:: \sum_i L_i

    Source: mass balance.
    """
    return hot_hop_linalool_ug_l.sum(axis=0)


def hot_side_geraniol_ug_l(hot_hop_geraniol_ug_l: PerHop) -> PerBatch:
    r"""Geraniol in the beer from the hot side.

    .. math:: \sum_i G_i

    Source: mass balance.
    """
    return hot_hop_geraniol_ug_l.sum(axis=0)


def linalool_ug_l(hot_side_linalool_ug_l: PerBatch, dry_hop_linalool_ug_l: PerDryHop) -> PerBatch:
    r"""Linalool in the beer.

    .. math:: L_\text{hot} + \sum_i L_i

    Source: mass balance.
    Valid: linear in the dose; beers hold 1 to 470 µg/L (Baxter & Hughes, by way of the review
        PMC8310685, table 3) and up to 2,000 pass.
    """
    return hot_side_linalool_ug_l + dry_hop_linalool_ug_l.sum(axis=0)


def geraniol_ug_l(hot_side_geraniol_ug_l: PerBatch, dry_hop_geraniol_ug_l: PerDryHop) -> PerBatch:
    r"""Geraniol in the beer.

    .. math:: G_\text{hot} + \sum_i G_i

    Source: mass balance.
    Valid: linear in the dose; beers hold 1 to 90 µg/L (the same table) and up to 1,000 pass.
    """
    return hot_side_geraniol_ug_l + dry_hop_geraniol_ug_l.sum(axis=0)


def linalool_threshold_in_beer_ug_l(
    threshold_linalool_ug_l: PerBatch,
    ethanol_linalool_threshold_slope_factor: PerBatch,
    alcohol_by_volume_fraction: PerBatch,
) -> PerBatch:
    r"""Linalool at which half of a panel notices it in a beer of this strength.

    .. math:: \theta \, e^{s (\text{clip}(100 A, 5, 12) - 5)}

    Source: Peltz & Shellhammer (2017), J. Am. Soc. Brew. Chem. 75: 83 µg/L at 5 % ABV, 205 at
        10; a straight line of the logarithm between two points.
    Valid: 5 to 12 % ABV; held at its ends outside.
    """
    return threshold_linalool_ug_l * _raised(
        ethanol_linalool_threshold_slope_factor, alcohol_by_volume_fraction
    )


def geraniol_threshold_in_beer_ug_l(
    threshold_geraniol_ug_l: PerBatch,
    ethanol_geraniol_threshold_slope_factor: PerBatch,
    alcohol_by_volume_fraction: PerBatch,
) -> PerBatch:
    r"""Geraniol at which half of a panel notices it in a beer of this strength.

    .. math:: \theta \, e^{s (\text{clip}(100 A, 5, 12) - 5)}

    Source: as linalool_threshold_in_beer_ug_l: 141 µg/L at 5 % ABV, 305 at 10.
    Valid: 5 to 12 % ABV; held at its ends outside.
    """
    return threshold_geraniol_ug_l * _raised(
        ethanol_geraniol_threshold_slope_factor, alcohol_by_volume_fraction
    )


def hop_aroma_activity(
    linalool_ug_l: PerBatch,
    geraniol_ug_l: PerBatch,
    linalool_threshold_in_beer_ug_l: PerBatch,
    geraniol_threshold_in_beer_ug_l: PerBatch,
) -> PerBatch:
    r"""Hop aroma: linalool and geraniol over their thresholds, added.

    .. math:: L / \theta_L + G / \theta_G

    Source: additivity of these alcohols: Takoi et al., J. Inst. Brew. 116, 251, 2010 (volume and
        page from memory).
    Valid: an amount over thresholds, not an intensity; intensity flattens above 4 to 8 g/L.
    """
    linalool = linalool_ug_l / linalool_threshold_in_beer_ug_l
    return linalool + geraniol_ug_l / geraniol_threshold_in_beer_ug_l


def _raised(slope: FloatArray, alcohol: FloatArray) -> FloatArray:
    """Return the factor by which ethanol raises a threshold of a terpene alcohol."""
    stronger = np.clip(100.0 * alcohol, _WEAKEST_ABV, _STRONGEST_ABV) - _WEAKEST_ABV
    return np.exp(slope * stronger)
