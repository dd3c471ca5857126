"""Rests, time and decoctions of the mash: what they do to its temperature, sugar and colour."""

import numpy as np

from brewsim.dims import Input, PerBatch, PerMashRest, Range

_USUAL_MIN = 60.0
_SHORTEST_MIN, _LONGEST_MIN = 15.0, 240.0
_SMALLEST = 1e-12

INPUTS = {
    "mash_rest_rise_c": Input(("mash_rest",), "Rise of a rest above the first that makes sugar"),
    "mash_rest_time_min": Input(("mash_rest",), "Length of a rest that makes sugar"),
    "mash_conversion_time_min": Input((), "Time in which the mash makes two thirds of its sugar"),
    "mash_time_min": Input((), "Length of the mash while it makes sugar"),
    "attenuation_reference_time_min": Input((), "Length of the mash the attenuation is for"),
    "attenuation_per_doubling_fraction": Input((), "Gain of attenuation by a mash twice as long"),
    "decoction_boil_time_min": Input((), "Minutes for which parts of the mash are boiled"),
    "decoction_color_per_min": Input((), "Relative gain of colour per minute of decoction"),
}

VALID: dict[str, dict[str, Range]] = {
    "mash_time_gain_fraction": {"mash_time_min": (_SHORTEST_MIN, _LONGEST_MIN)},
}


def mash_schedule_rise_c(
    mash_rest_rise_c: PerMashRest,
    mash_rest_time_min: PerMashRest,
    mash_conversion_time_min: PerBatch,
) -> PerBatch:
    r"""Degrees above its first rest at which a mash in rests makes its sugar, on average.

    .. math::
        \bar r = \frac{\sum_k w_k r_k}{\sum_k w_k}, \quad
        w_k = \left(1 - e^{-t_k/\tau}\right) e^{-\sum_{j<k} t_j/\tau}

    Each rest does its share of what the rests before it left to do; 0 for one rest.

    Source: assumption for the form; the time constant from the loss of beta-amylase at 65 °C,
        83 % after 30 minutes (R. Muller, 1990, secondary).
    """
    spent = np.cumsum(mash_rest_time_min, axis=0) - mash_rest_time_min
    left = np.exp(-spent / mash_conversion_time_min)
    weight = left * (1.0 - np.exp(-mash_rest_time_min / mash_conversion_time_min))
    return (weight * mash_rest_rise_c).sum(axis=0) / np.maximum(weight.sum(axis=0), _SMALLEST)


def sugar_mash_temperature_c(
    mash_temperature_c: PerBatch, mash_schedule_rise_c: PerBatch
) -> PerBatch:
    r"""Temperature at which the mash makes its sugar, on average over its rests.

    .. math:: T_s = T + \bar r

    Source: bookkeeping.
    """
    return mash_temperature_c + mash_schedule_rise_c


def mash_time_gain_fraction(
    mash_time_min: PerBatch,
    attenuation_reference_time_min: PerBatch,
    attenuation_per_doubling_fraction: PerBatch,
) -> PerBatch:
    r"""Attenuation gained or lost with the length of the mash.

    .. math:: c \log_2 \frac{\text{clip}(t, 15, 240)}{t_0}

    Source: assumption: some two points of attenuation for every doubling of the time.
    Valid: 15 to 240 minutes; held at its end values outside.
    """
    minutes = np.clip(mash_time_min, _SHORTEST_MIN, _LONGEST_MIN)
    return attenuation_per_doubling_fraction * np.log2(minutes / attenuation_reference_time_min)


def decoction_color_factor(
    decoction_boil_time_min: PerBatch, decoction_color_per_min: PerBatch
) -> PerBatch:
    r"""Colour of the beer with decoctions over that without.

    .. math:: 1 + k \, t_d

    Source: assumption for the size; that boiling wort for an hour darkens it by a half is
        published (J. Inst. Brew., colour of laboratory malt worts, secondary).
    """
    return 1.0 + decoction_color_per_min * decoction_boil_time_min
