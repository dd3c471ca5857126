"""The colour a beer of a given SRM has in a 5 cm glass, as a screen can show it."""

from itertools import pairwise

# SRM, sRGB. Computed from A. J. deLange's average beer spectrum (ASBC Journal; chapter "Color" in
# Bamforth, ed., Brewing Materials and Processes): T = 10^(-SRM/12.7 * l * (0.02465 exp(-(w-430)/
# 17.591) + 0.97535 exp(-(w-430)/82.122))), l = 5 cm; CIE 10 degree observer, D65, clipped.
_RENDERED = (
    (0, "#FFFFFF"),
    (2, "#F5CD7C"),
    (3, "#EFB751"),
    (4, "#E7A42C"),
    (5, "#DF9300"),
    (6, "#D78400"),
    (8, "#C76B00"),
    (10, "#B75600"),
    (13, "#A23E00"),
    (17, "#882600"),
    (20, "#781900"),
    (24, "#660A00"),
    (29, "#530000"),
    (35, "#410000"),
    (40, "#360000"),
)


def beer_srgb(srm: float) -> str:
    """Return '#RRGGBB' of a beer colour in SRM, straight lines between the rendered values.

    Above 40 SRM the colour of 40 is kept: on a screen both are nearly black.
    """
    srm = min(max(srm, 0.0), 40.0)
    for (low, first), (high, second) in pairwise(_RENDERED):
        if srm <= high:
            share = (srm - low) / (high - low)
            mixed = (
                round(a + share * (b - a)) for a, b in zip(_rgb(first), _rgb(second), strict=True)
            )
            return "#" + "".join(f"{channel:02X}" for channel in mixed)
    return _RENDERED[-1][1]


def _rgb(code: str) -> tuple[int, int, int]:
    return int(code[1:3], 16), int(code[3:5], 16), int(code[5:7], 16)
