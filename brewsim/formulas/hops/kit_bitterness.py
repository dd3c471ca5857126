"""Bitterness that comes in a can: hopped malt extract."""

from brewsim.dims import Input, PerBatch, PerSugar, Range

INPUTS = {
    "sugar_bitterness_ibu": Input(("sugar",), "Bitterness of a sugar or extract, as its can says"),
    "sugar_bitterness_factor": Input(("sugar",), "Bitterness of a sugar or extract over its can's"),
}

VALID: dict[str, dict[str, Range]] = {}


def kit_bitterness_ibu(
    sugar_mass_kg: PerSugar,
    sugar_weighing_factor: PerSugar,
    sugar_bitterness_ibu: PerSugar,
    sugar_bitterness_factor: PerSugar,
    sugar_in_fermenter_share: PerSugar,
    kettle_to_fermenter_factor: PerBatch,
    whole_wort_l: PerBatch,
    fermentation_retention_fraction: PerBatch,
    krausen_kept_share: PerBatch,
    bitterness_age_factor: PerBatch,
) -> PerBatch:
    r"""Bitterness reading of hopped extract.

    .. math:: \sum_j \frac{m_j w_j (1 + z_j (f - 1))\, b_j \beta_j}{V''}
        \cdot F \, k \cdot \text{age}

    Makers state the bitterness of a can so that IBU times kilograms over litres is that of the
    wort. Its iso-alpha acids are made already: a boil adds nothing, fermentation takes its share.

    Source: common practice, no source: a kit maker's own sum, with 10 to 30 % lost in fermentation.
    """
    counted = 1.0 + sugar_in_fermenter_share * (kettle_to_fermenter_factor - 1.0)
    stated = sugar_bitterness_ibu * sugar_bitterness_factor
    brought = (sugar_mass_kg * sugar_weighing_factor * counted * stated).sum(axis=0) / whole_wort_l
    return brought * fermentation_retention_fraction * krausen_kept_share * bitterness_age_factor
