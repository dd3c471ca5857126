"""What share of the thiol precursors a yeast releases in this fermentation."""

import numpy as np

from brewsim.dims import Input, PerBatch, Range

_MOST_RELEASE = 0.6

INPUTS = {
    "fermentation_temperature_c": Input((), "Temperature of the fermentation"),
    "release_reference_temperature_c": Input((), "Fermentation temperature the release is for"),
    "release_cysteinylated_fraction": Input(
        (), "Share of the cysteinylated 3SH precursor that the yeast releases"
    ),
    "release_cysteinylated_4msp_fraction": Input(
        (), "Share of the cysteinylated 4MSP precursor that the yeast releases"
    ),
    "release_batch_factor": Input((), "Scatter of the release from brew to brew"),
    "release_temperature_factor": Input(
        (), "Change of the release from cysteinylated precursors per 8 °C of fermentation"
    ),
    "release_nitrogen_factor": Input(
        (), "Effect of the wort's nitrogen on the release from cysteinylated precursors"
    ),
}

VALID: dict[str, dict[str, Range]] = {
    "release_condition_factor": {"fermentation_temperature_c": (4.0, 38.0)},
}


def release_condition_factor(
    release_batch_factor: PerBatch,
    release_temperature_factor: PerBatch,
    release_nitrogen_factor: PerBatch,
    fermentation_temperature_c: PerBatch,
    release_reference_temperature_c: PerBatch,
) -> PerBatch:
    r"""How this fermentation changes the yeast's release.

    .. math:: m_b \, m_N \, \gamma^{(T - T_\text{ref}) / 8}

    Source: signs are free: strain by temperature, Samia et al. (2024), BrewingScience 77(7/8), at
        second hand; nitrogen, Harsch & Gardner (2013), Appl. Microbiol. Biotechnol. 97, 223, up,
        against Subileau et al. (2008), from memory, down.
    Valid: 4 to 38 °C.
    """
    warmer = (fermentation_temperature_c - release_reference_temperature_c) / 8.0
    conditions = release_batch_factor * release_nitrogen_factor
    return conditions * release_temperature_factor**warmer


def released_share_fraction(
    release_cysteinylated_fraction: PerBatch,
    release_condition_factor: PerBatch,
) -> PerBatch:
    r"""Share of the usable 3SH precursor that this fermentation releases.

    .. math:: \min(r_\text{Cys} \, m, \, 0.6)

    Source: wine yeasts 0.6 to 10.2 %, Murat et al. (2001) by way of Baumes, Wine Chemistry and
        Biochemistry, p. 262; brewing yeasts 0.1 to 0.5 %, from memory; cap: assumption.
    """
    return np.minimum(release_cysteinylated_fraction * release_condition_factor, _MOST_RELEASE)


def released_4msp_share_fraction(
    release_cysteinylated_4msp_fraction: PerBatch, release_condition_factor: PerBatch
) -> PerBatch:
    r"""Share of the usable 4MSP precursor that this fermentation releases.

    .. math:: \min(r_4 \, m, \, 0.6)

    Source: wine yeasts from 0.06 %, Murat et al. (2001) by way of Baumes, as above, upper end in
        doubt (1.06 or 10.6 %; the lower one is taken); cap: assumption.
    """
    return np.minimum(release_cysteinylated_4msp_fraction * release_condition_factor, _MOST_RELEASE)
