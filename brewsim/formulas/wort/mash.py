"""From malt and water to the kettle: extract, run-off, mash efficiency, mash temperature."""

import numpy as np

from brewsim.constants import EXTRACT_L_KG
from brewsim.dims import FloatArray, Input, PerBatch, PerHop, PerMalt, Range

_SMALLEST = 1e-12

INPUTS = {
    "malt_mass_kg": Input(("malt",), "Mass of a malt, as the recipe says"),
    "malt_weighing_factor": Input(("malt",), "Weighing error of a malt"),
    "malt_extract_dry_fraction": Input(("malt",), "Fine-grind extract of a malt, dry basis"),
    "malt_moisture_fraction": Input(("malt",), "Moisture of a malt"),
    "mash_water_l": Input((), "Water in the mash (at 20 °C), as the recipe says"),
    "sparge_water_l": Input((), "Sparge water (at 20 °C), as the recipe says"),
    "water_measure_factor": Input((), "Error of measured water"),
    "stated_mash_efficiency_fraction": Input((), "Mash efficiency, into the kettle"),
    "conversion_fraction": Input((), "Share of the coarse-grind extract that the mash dissolves"),
    "coarse_grind_gap_fraction": Input((), "Fine-grind less coarse-grind extract of malt"),
    "grain_absorption_l_kg": Input((), "Water in less wort out, per kg of grain"),
    "mash_dead_space_l": Input((), "Wort left under the false bottom and in hoses"),
    "sparge_exchange_factor": Input((), "How well continuous sparge water replaces wort"),
    "mash_set_temperature_c": Input((), "Saccharification temperature, as the recipe says"),
    "mash_temperature_error_c": Input((), "Error of the mash temperature"),
    "pellet_absorption_l_kg": Input((), "Wort held by hop pellets"),
    "cone_absorption_l_kg": Input((), "Wort held by hop cones"),
}

_SHARE = (0.3, 1.0)

VALID: dict[str, dict[str, Range]] = {
    "malt_extract_fraction": {
        "malt_extract_dry_fraction": (0.3, 0.95),
        "malt_moisture_fraction": (0.0, 0.15),
    },
    "preboil_volume_l": {"preboil_volume_l": (0.0, np.inf)},
    "mash_efficiency_fraction__stated": {"mash_efficiency_fraction": _SHARE},
    "mash_efficiency_fraction__no_sparge": {"mash_efficiency_fraction": _SHARE},
    "mash_efficiency_fraction__batch_sparge": {"mash_efficiency_fraction": _SHARE},
    "mash_efficiency_fraction__continuous_sparge": {"mash_efficiency_fraction": _SHARE},
}


def malt_added_kg(malt_mass_kg: PerMalt, malt_weighing_factor: PerMalt) -> PerMalt:
    r"""Mass of a malt that really went in.

    .. math:: m_\text{stated} \cdot w

    Source: bookkeeping.
    """
    return malt_mass_kg * malt_weighing_factor


def malt_extract_fraction(
    malt_extract_dry_fraction: PerMalt, malt_moisture_fraction: PerMalt
) -> PerMalt:
    r"""Fine-grind extract of a malt as it is, moisture included.

    .. math:: x = x_\text{dry} (1 - M)

    Source: definition of the dry basis; G. J. Noonan, New Brewing Lager Beer, 1996, whose further
        0.002 is left out because it is unexplained.
    Valid: malt with 30 to 95 % extract, dry, and up to 15 % moisture (sense check).
    """
    return malt_extract_dry_fraction * (1.0 - malt_moisture_fraction)


def grain_mass_kg(malt_added_kg: PerMalt) -> PerBatch:
    r"""Mass of the grist.

    .. math:: G = \sum_i m_i

    Source: bookkeeping.
    """
    return malt_added_kg.sum(axis=0)


def mash_extract_kg(malt_added_kg: PerMalt, malt_extract_fraction: PerMalt) -> PerBatch:
    r"""Extract the grist holds, on the fine-grind basis.

    .. math:: E = \sum_i m_i x_i

    Source: bookkeeping.
    """
    return (malt_added_kg * malt_extract_fraction).sum(axis=0)


def converted_extract_kg(
    malt_added_kg: PerMalt,
    malt_extract_fraction: PerMalt,
    malt_extract_dry_fraction: PerMalt,
    conversion_fraction: PerBatch,
    coarse_grind_gap_fraction: PerBatch,
) -> PerBatch:
    r"""Extract the mash dissolves.

    .. math:: E_c = \sum_i m_i x_i \, c \left(1 - \frac{\Delta}{x_{\text{dry},i}}\right)

    A brewery's crush yields the coarse-grind extract, :math:`\Delta` below the fine-grind one.

    Source: G. J. Noonan, Understanding Malt Analysis Sheets (fine and coarse grind); common
        practice, no source, for the size of the conversion.
    """
    gap = _share(coarse_grind_gap_fraction, malt_extract_dry_fraction)
    crushed = np.maximum(1.0 - gap, 0.0)
    return (malt_added_kg * malt_extract_fraction * conversion_fraction * crushed).sum(axis=0)


def mash_hop_absorption_l(
    hop_added_g: PerHop,
    hop_in_mash_share: PerHop,
    hop_is_pellet_share: PerHop,
    pellet_absorption_l_kg: PerBatch,
    cone_absorption_l_kg: PerBatch,
) -> PerBatch:
    r"""Wort held by hops in the mash.

    .. math:: \sum_j \frac{h_j}{1000}\, a_j

    Source: common practice, no source, for what hops hold (5 to 6 L/kg pellets, 8 to 10 cones).
    """
    held = (
        hop_is_pellet_share * pellet_absorption_l_kg
        + (1.0 - hop_is_pellet_share) * cone_absorption_l_kg
    )
    return (hop_added_g / 1000.0 * hop_in_mash_share * held).sum(axis=0)


def preboil_volume_l(
    mash_water_l: PerBatch,
    sparge_water_l: PerBatch,
    water_measure_factor: PerBatch,
    grain_mass_kg: PerBatch,
    grain_absorption_l_kg: PerBatch,
    mash_hop_absorption_l: PerBatch,
    mash_dead_space_l: PerBatch,
) -> PerBatch:
    r"""Wort in the kettle before the boil, as if at 20 °C.

    .. math:: V = W - aG - H - d

    The absorption is water in less wort out, so it already holds the volume of the extract.

    Source: R. Daniels, Designing Great Beers, 1996, table 8.1 (form); mass balance.
    """
    water = (mash_water_l + sparge_water_l) * water_measure_factor
    held = grain_absorption_l_kg * grain_mass_kg + mash_hop_absorption_l
    return water - held - mash_dead_space_l


def retained_wort_l(
    grain_mass_kg: PerBatch,
    grain_absorption_l_kg: PerBatch,
    mash_hop_absorption_l: PerBatch,
    mash_dead_space_l: PerBatch,
    converted_extract_kg: PerBatch,
) -> PerBatch:
    r"""Wort that stays in the mash tun.

    .. math:: r = aG + H + d + 0.617 E_c

    Source: S. Terrill, Batch sparging theory, 2013; the extract's own volume from the sucrose
        tables of the ASBC (0.617 ± 0.002 L/kg from 5 to 20 °P).
    """
    held = grain_absorption_l_kg * grain_mass_kg + mash_hop_absorption_l
    return held + mash_dead_space_l + EXTRACT_L_KG * converted_extract_kg


def mash_efficiency_fraction__stated(stated_mash_efficiency_fraction: PerBatch) -> PerBatch:
    r"""Mash efficiency: extract in the kettle over fine-grind extract of the grist.

    .. math:: \eta = \eta_\text{stated}

    Source: the brewer's own figure.
    Valid: from 30 % on (sense check).
    """
    return stated_mash_efficiency_fraction.copy()


def mash_efficiency_fraction__no_sparge(
    mash_extract_kg: PerBatch,
    converted_extract_kg: PerBatch,
    preboil_volume_l: PerBatch,
    retained_wort_l: PerBatch,
    usual_lauter_factor: PerBatch,
) -> PerBatch:
    r"""Mash efficiency: extract in the kettle over fine-grind extract of the grist.

    .. math:: \eta = \frac{E_c}{E} \min\left(u \frac{V}{V + r},\, 1\right)

    Source: S. Terrill, Batch sparging theory, 2013; beside the fully mixed picture what brewers
        reach of it, from published logs.
    Valid: all water in one mash; from 30 % on (sense check).
    """
    run_off = np.maximum(preboil_volume_l, 0.0)
    lauter = _share(run_off, run_off + retained_wort_l)
    return _efficiency(mash_extract_kg, converted_extract_kg, lauter * usual_lauter_factor)


def mash_efficiency_fraction__batch_sparge(
    mash_extract_kg: PerBatch,
    converted_extract_kg: PerBatch,
    preboil_volume_l: PerBatch,
    sparge_water_l: PerBatch,
    water_measure_factor: PerBatch,
    retained_wort_l: PerBatch,
    usual_lauter_factor: PerBatch,
) -> PerBatch:
    r"""Mash efficiency: extract in the kettle over fine-grind extract of the grist.

    .. math::
        \eta = \frac{E_c}{E} \min\left(u \left[\frac{V_1}{V_1 + r}
        + \frac{r}{V_1 + r}\,\frac{V_2}{V_2 + r}\right],\, 1\right), \quad V_1 = V - V_2

    Source: S. Terrill, Batch sparging theory, 2013; beside the fully mixed picture what brewers
        reach of it, from published logs.
    Valid: one sparge; from 30 % on (sense check).
    """
    second = sparge_water_l * water_measure_factor
    first = np.maximum(preboil_volume_l - second, 0.0)
    left = _share(retained_wort_l, first + retained_wort_l)
    lauter = 1.0 - left * (1.0 - _share(second, second + retained_wort_l))
    return _efficiency(mash_extract_kg, converted_extract_kg, lauter * usual_lauter_factor)


def mash_efficiency_fraction__continuous_sparge(
    mash_extract_kg: PerBatch,
    converted_extract_kg: PerBatch,
    preboil_volume_l: PerBatch,
    sparge_water_l: PerBatch,
    water_measure_factor: PerBatch,
    retained_wort_l: PerBatch,
    usual_lauter_factor: PerBatch,
    sparge_exchange_factor: PerBatch,
) -> PerBatch:
    r"""Mash efficiency: extract in the kettle over fine-grind extract of the grist.

    .. math::
        \eta = \frac{E_c}{E} \min\left(u \left[1 - \frac{r}{V_1 + r}
        e^{-\kappa V_s / r}\right],\, 1\right), \quad V_1 = V - V_s

    Source: assumption: a stirred tank (:math:`\kappa = 1`) weakened so that it lies 2 to 5 points
        above two equal batches.
    Valid: from 30 % on (sense check).
    """
    sparged = sparge_water_l * water_measure_factor
    first = np.maximum(preboil_volume_l - sparged, 0.0)
    left = _share(retained_wort_l, first + retained_wort_l)
    washed = np.exp(-sparge_exchange_factor * _share(sparged, retained_wort_l))
    lauter = (1.0 - left * washed) * usual_lauter_factor
    return _efficiency(mash_extract_kg, converted_extract_kg, lauter)


def kettle_extract_kg(mash_extract_kg: PerBatch, mash_efficiency_fraction: PerBatch) -> PerBatch:
    r"""Malt extract in the kettle.

    .. math:: E_k = E \cdot \eta

    Source: definition of the efficiency.
    """
    return mash_extract_kg * mash_efficiency_fraction


def mash_temperature_c(
    mash_set_temperature_c: PerBatch, mash_temperature_error_c: PerBatch
) -> PerBatch:
    r"""Temperature the mash really has.

    .. math:: T = T_\text{set} + \varepsilon

    Source: bookkeeping.
    """
    return mash_set_temperature_c + mash_temperature_error_c


def _share(part: FloatArray, whole: FloatArray) -> FloatArray:
    return part / np.maximum(whole, _SMALLEST)


def _efficiency(held: FloatArray, converted: FloatArray, lauter: FloatArray) -> FloatArray:
    return _share(converted, held) * np.minimum(lauter, 1.0)
