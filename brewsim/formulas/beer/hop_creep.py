"""Hop creep: extract that enzymes of dry hops make fermentable."""

import numpy as np

from brewsim.dims import Input, PerBatch, PerDryHop, Range

_SMALLEST = 1e-12
_ABV_PER_PLATO = 0.520
_MOST_CREEP_G_L = 10.0

INPUTS = {
    "creep_ceiling_abv_per_g_l": Input((), "Most alcohol that hop creep adds, per g/L dry hops"),
    "creep_rate_per_day": Input((), "Rate of hop creep at 20 °C"),
    "creep_q10_factor": Input((), "How much faster hop creep is per 10 °C"),
}

VALID: dict[str, dict[str, Range]] = {
    "dry_hop_creep_fraction": {"dry_hop_temperature_c": (0.0, 25.0)},
}


def dry_hop_dose_g_l(dry_hop_added_g: PerDryHop, fermenter_volume_l: PerBatch) -> PerBatch:
    r"""Dry hops per litre of wort in the fermenter.

    .. math:: d = \sum_i h_i / V_f

    Source: bookkeeping.
    """
    return dry_hop_added_g.sum(axis=0) / fermenter_volume_l


def dry_hop_creep_fraction(
    dry_hop_contact_day: PerDryHop,
    dry_hop_temperature_c: PerDryHop,
    creep_rate_per_day: PerBatch,
    creep_q10_factor: PerBatch,
) -> PerDryHop:
    r"""Share of its hop creep that a dry hop has done when it comes out.

    .. math:: h_i = 1 - \exp\left(-k \, Q^{(T_i - 20)/10} \, t_i\right)

    Source: first-order fit to K. B. Kirkpatrick & T. H. Shellhammer, 2018; Q10 from memory.
    Valid: 0 to 25 °C (sense check).
    """
    pace = creep_rate_per_day * creep_q10_factor ** ((dry_hop_temperature_c - 20.0) / 10.0)
    return -np.expm1(-pace * dry_hop_contact_day)


def creep_done_fraction(dry_hop_added_g: PerDryHop, dry_hop_creep_fraction: PerDryHop) -> PerBatch:
    r"""Share of the whole hop creep that is done at packaging.

    .. math:: h = \frac{\sum_i g_i h_i}{\sum_i g_i}

    Source: bookkeeping.
    """
    done = (dry_hop_added_g * dry_hop_creep_fraction).sum(axis=0)
    return done / np.maximum(dry_hop_added_g.sum(axis=0), _SMALLEST)


def creep_limit_plato(dry_hop_dose_g_l: PerBatch, creep_ceiling_abv_per_g_l: PerBatch) -> PerBatch:
    r"""Extract that hop creep could ferment in all (apparent).

    .. math:: c_d = \frac{\min(d, 10)\, c}{0.520}

    Source: Kirkpatrick & Shellhammer, 2018 (10 g/L); linear in the dose below 10 g/L from memory;
        0.520 % alcohol by volume per °P apparent at 12 °P.
    """
    return (
        np.minimum(dry_hop_dose_g_l, _MOST_CREEP_G_L) * creep_ceiling_abv_per_g_l / _ABV_PER_PLATO
    )


def hop_creep_plato(creep_limit_plato: PerBatch, creep_done_fraction: PerBatch) -> PerBatch:
    r"""Extract that hop creep fermented before packaging (apparent).

    .. math:: c_d \, h

    Source: first-order fit to Kirkpatrick & Shellhammer, 2018.
    """
    return creep_limit_plato * creep_done_fraction
