"""What a glutathionylated precursor counts for in this fermentation, cysteinylated being 1."""

from brewsim.dims import Input, PerBatch, Range

INPUTS = {
    "release_glutathionylated_factor": Input(
        (), "Release from glutathionylated over release from cysteinylated precursors"
    ),
    "release_glutathionylated_temperature_factor": Input(
        (), "Change of the release from glutathionylated precursors per 8 °C of fermentation"
    ),
    "release_glutathionylated_nitrogen_factor": Input(
        (), "Effect of the wort's nitrogen on the release from glutathionylated precursors"
    ),
}

VALID: dict[str, dict[str, Range]] = {
    "glutathionylated_release_ratio_factor": {"fermentation_temperature_c": (4.0, 38.0)},
}


def glutathionylated_release_ratio_factor(
    release_glutathionylated_factor: PerBatch,
    release_glutathionylated_temperature_factor: PerBatch,
    release_glutathionylated_nitrogen_factor: PerBatch,
    release_temperature_factor: PerBatch,
    release_nitrogen_factor: PerBatch,
    fermentation_temperature_c: PerBatch,
    release_reference_temperature_c: PerBatch,
) -> PerBatch:
    r"""Release from glutathionylated over cysteinylated precursors in this fermentation.

    .. math:: \rho \, \frac{m_{N,\text{G}}}{m_{N,\text{Cys}}}
        \left(\frac{\gamma_\text{G}}{\gamma_\text{Cys}}\right)^{(T - T_\text{ref}) / 8}

    Temperature and nitrogen act differently on the two forms, so each has factors of its own.

    Source: that they differ: C. Chenot et al. (2022), J. Agric. Food Chem. 70, 3272, at second
        hand; form: assumption, as for the cysteinylated precursors.
    Valid: 4 to 38 °C.
    """
    warmer = (fermentation_temperature_c - release_reference_temperature_c) / 8.0
    heat = (release_glutathionylated_temperature_factor / release_temperature_factor) ** warmer
    nitrogen = release_glutathionylated_nitrogen_factor / release_nitrogen_factor
    return release_glutathionylated_factor * nitrogen * heat
