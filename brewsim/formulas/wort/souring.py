"""Souring in the kettle: lactic bacteria take the wort to a pH, then it is boiled."""

import numpy as np

from brewsim.dims import Input, PerBatch, Range

_LACTIC_ACID_PKA = 3.86
_MOST_SOURED = 0.5
_SMALLEST = 1e-12

INPUTS = {
    "souring_ph": Input((), "pH at which souring is stopped"),
    "souring_buffer_g_g": Input((), "How strongly extract buffers wort: acid it takes up per pH"),
}

VALID: dict[str, dict[str, Range]] = {"lactic_acid_g_l": {"boiled_wort_ph": (3.0, np.inf)}}


def boiled_wort_ph(wort_ph: PerBatch, souring_ph: PerBatch) -> PerBatch:
    r"""Acidity of the boiling wort.

    .. math:: \min(\mathrm{pH}_\text{wort}, \mathrm{pH}_\text{soured})

    Source: bookkeeping: soured wort is boiled after it is sour.
    """
    return np.minimum(wort_ph, souring_ph)


def lactic_acid_g_l(
    wort_ph: PerBatch,
    boiled_wort_ph: PerBatch,
    souring_buffer_g_g: PerBatch,
    boiled_extract_kg: PerBatch,
    sugar_extract_kg: PerBatch,
    whole_wort_l: PerBatch,
) -> PerBatch:
    r"""Lactic acid that souring in the kettle makes.

    .. math:: c = b \, \frac{1000 E}{V''} \, (\mathrm{pH}_0 - \mathrm{pH})
        \left(1 + 10^{3.86 - \mathrm{pH}}\right)

    The wort takes up a charge in proportion to the fall of its pH; the acid that brings it is only
    dissociated in part.

    Source: charge balance with a constant buffer, A. J. deLange, Estimating mash pH; Henderson and
        Hasselbalch for the acid, whose pKa is 3.86.
    Valid: pH 3.0 and more; the buffer was measured on mashes near pH 5.4 and is stretched to here.
    """
    extract_g_l = 1000.0 * (boiled_extract_kg + sugar_extract_kg) / whole_wort_l
    charge = souring_buffer_g_g * extract_g_l * (wort_ph - boiled_wort_ph)
    return charge * (1.0 + 10.0 ** (_LACTIC_ACID_PKA - boiled_wort_ph))


def soured_extract_fraction(
    lactic_acid_g_l: PerBatch,
    boiled_extract_kg: PerBatch,
    sugar_extract_kg: PerBatch,
    whole_wort_l: PerBatch,
) -> PerBatch:
    r"""Share of the wort's extract that lactic bacteria leave as acid, which yeast leaves too.

    .. math:: a = \frac{c V''}{1000 E}

    Source: stoichiometry: one gram of sugar makes one of lactic acid (homofermentative). A
        hydrometer sees acid as somewhat less than sugar, which is left out: at 5 g/L below 0.001.
    """
    extract_g_l = 1000.0 * (boiled_extract_kg + sugar_extract_kg) / whole_wort_l
    return np.minimum(lactic_acid_g_l / np.maximum(extract_g_l, _SMALLEST), _MOST_SOURED)
