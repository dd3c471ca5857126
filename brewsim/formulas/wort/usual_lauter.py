"""Mash efficiency where a recipe states none: two equal runnings, as brewers manage them."""

import numpy as np

from brewsim.dims import Input, PerBatch, Range

_SMALLEST = 1e-12

INPUTS = {
    "usual_lauter_factor": Input(
        (), "Mash efficiency over that of fully mixed runnings, where none is stated"
    ),
}

VALID: dict[str, dict[str, Range]] = {
    "mash_efficiency_fraction__usual": {"mash_efficiency_fraction": (0.3, 1.0)},
}


def mash_efficiency_fraction__usual(
    mash_extract_kg: PerBatch,
    converted_extract_kg: PerBatch,
    preboil_volume_l: PerBatch,
    retained_wort_l: PerBatch,
    usual_lauter_factor: PerBatch,
) -> PerBatch:
    r"""Mash efficiency: extract in the kettle over fine-grind extract of the grist.

    .. math::
        \eta = \min\left(u\,\frac{E_c}{E}
        \left[1 - \left(\frac{r}{V/2 + r}\right)^2\right],\, 1\right)

    More grain for the same wort keeps more of its extract, so the efficiency falls with gravity.

    Source: S. Terrill, Batch sparging theory, 2013, for two equal runnings; the spread of what
        brewers reach beside it from published logs.
    Valid: from 30 % on (sense check).
    """
    running = np.maximum(preboil_volume_l, 0.0) / 2.0
    left = retained_wort_l / np.maximum(running + retained_wort_l, _SMALLEST)
    converted = np.where(
        mash_extract_kg > 0.0, converted_extract_kg / np.maximum(mash_extract_kg, _SMALLEST), 1.0
    )  # nothing mashed, nothing lost
    return np.minimum(usual_lauter_factor * converted * (1.0 - left**2), 1.0)
