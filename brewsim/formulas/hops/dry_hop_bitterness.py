"""What dry hops add to the bitterness reading: humulinones, alpha acids, polyphenols."""

import numpy as np

from brewsim.dims import Input, PerBatch, PerDryHop, Range

_IBU_PER_MG_HUMULINONE = 0.673
_IBU_PER_MG_ALPHA = 0.67
_IBU_PER_MG_POLYPHENOL = 0.022

INPUTS = {
    "humulinone_share": Input((), "Humulinones in hops over alpha acids in hops"),
    "humulinone_transfer_fraction": Input((), "Share of a dry hop's humulinones in the beer"),
    "dry_hop_polyphenol_transfer_fraction": Input(
        (), "Share of a dry hop's polyphenols in the beer"
    ),
}

VALID: dict[str, dict[str, Range]] = {
    "humulinone_ibu": {"dry_hop_alpha_mg_l": (0.0, 3000.0)},
}


def dry_hop_alpha_mg_l(
    dry_hop_added_g: PerDryHop, dry_hop_alpha_acid_fraction: PerDryHop, fermenter_volume_l: PerBatch
) -> PerBatch:
    r"""Alpha acids that dry hops bring, per litre of beer.

    .. math:: 1000 \sum m_i \alpha_i / V

    Source: mass balance.
    """
    brought = (dry_hop_added_g * dry_hop_alpha_acid_fraction).sum(axis=0)
    return 1000.0 * brought / fermenter_volume_l


def humulinone_ibu(
    dry_hop_alpha_mg_l: PerBatch,
    humulinone_share: PerBatch,
    humulinone_transfer_fraction: PerBatch,
    bitterness_age_factor: PerBatch,
) -> PerBatch:
    r"""Bitterness reading of humulinones from dry hops.

    .. math:: 0.673 \, A \, h \, x \cdot \text{age}

    Source: Maye et al. (2016), MBAA Tech. Quart. 53: about 2 % of alpha acids in fresh hops, over
        3 % in aged ones; 48 mg/L in beer from 23.2 g/L of hops with 0.23 %. A printed saturation
        of the transfer above 2.2 g/L contradicts that figure and is left out.
    Valid: up to 3,000 mg/L of dry-hopped alpha acids.
    """
    beer = dry_hop_alpha_mg_l * humulinone_share * humulinone_transfer_fraction
    return _IBU_PER_MG_HUMULINONE * beer * bitterness_age_factor


def carried_alpha_ibu(dry_hop_alpha_mg_l: PerBatch) -> PerBatch:
    r"""Bitterness reading of alpha acids that dry hops leave in the beer.

    .. math:: 0.67 \cdot 14.7 (1 - e^{-0.00102 A})

    Source: Hosom, brewing-science log, post 11, eq. 55; 6.3 IBU at 1,000 mg/L.
    """
    return _IBU_PER_MG_ALPHA * 14.7 * -np.expm1(-0.00102 * dry_hop_alpha_mg_l)


def dry_hop_polyphenol_ibu(
    dry_hop_added_g: PerDryHop,
    hop_polyphenol_fraction: PerBatch,
    dry_hop_polyphenol_transfer_fraction: PerBatch,
    fermenter_volume_l: PerBatch,
) -> PerBatch:
    r"""Bitterness reading of polyphenols from dry hops.

    .. math:: 0.022 \cdot 1000 \sum m_i \, p \, x / V

    Source: Parkin (2014), thesis, Oregon State University, p. 28 (2.2 IBU per 100 mg/L).
    """
    brought = 1000.0 * dry_hop_added_g.sum(axis=0) * hop_polyphenol_fraction / fermenter_volume_l
    return _IBU_PER_MG_POLYPHENOL * brought * dry_hop_polyphenol_transfer_fraction
