"""The colour patch against the spectrum it was computed from."""

import itertools
import warnings

import numpy as np
import pytest

from brewsim.wording.beer_swatch import beer_srgb

NODES = [2, 3, 4, 5, 6, 8, 10, 13, 17, 20, 24, 29, 35, 40]


def rgb(code):
    return np.array([int(code[i : i + 2], 16) for i in (1, 3, 5)])


def rendered(colour, srm):
    """A. J. deLange, average beer spectrum, 5 cm; D65, 10 degree observer, Bradford, clipped."""
    wavelengths = np.arange(380, 781, 5)
    shape = 0.02465 * np.exp(-(wavelengths - 430) / 17.591)
    shape += 0.97535 * np.exp(-(wavelengths - 430) / 82.122)
    beer = colour.SpectralDistribution(10 ** (-srm / 12.7 * 5 * shape), wavelengths)
    observer = colour.MSDS_CMFS["CIE 1964 10 Degree Standard Observer"]
    xyz = colour.sd_to_XYZ(beer, observer, colour.SDS_ILLUMINANTS["D65"]) / 100
    white = colour.CCS_ILLUMINANTS["CIE 1964 10 Degree Standard Observer"]["D65"]
    found = colour.XYZ_to_sRGB(xyz, white, chromatic_adaptation_transform="Bradford")
    return np.clip(found, 0, 1) * 255


@pytest.mark.parametrize("srm", [*NODES, 2.5, 7, 15, 26])
def test_the_patch_is_the_rendered_spectrum(srm):
    """Within 1 of 255 at the computed values, 6 between them (straight lines).

    The library sets how all arrays are printed when it is imported; that ends here again.
    """
    with warnings.catch_warnings(), np.printoptions():
        warnings.simplefilter("ignore")
        colour = pytest.importorskip("colour")
        expected = rendered(colour, srm)

    apart = np.abs(rgb(beer_srgb(srm)) - expected).max()

    assert apart <= (1.0 if srm in NODES else 6.0)


def test_more_colour_is_never_lighter():
    light = [rgb(beer_srgb(srm)).sum() for srm in np.linspace(0, 45, 91)]

    assert all(a >= b for a, b in itertools.pairwise(light))
