"""Hops in the kettle: alpha acids dosed, dissolved in order of time, and isomerized."""

import numpy as np
from numpy.typing import NDArray

from brewsim.dims import FloatArray, Input, PerBatch, PerHop, Range

INPUTS = {
    "mash_hop_fraction": Input((), "Share of the alpha acids of mash hops that reaches the boil"),
    "first_wort_factor": Input((), "Bitterness of a first-wort hop over one boiled as long"),
    "solubility_knee_mg_l": Input((), "Alpha acids up to which all of them dissolve in the boil"),
    "solubility_ceiling_mg_l": Input((), "Alpha acids that boiling wort can never exceed"),
}

VALID: dict[str, dict[str, Range]] = {
    "kettle_alpha_mg_l": {"kettle_alpha_mg_l": (0.0, 850.0)},
}


def hop_alpha_dosed_mg_l(
    hop_added_g: PerHop, hop_alpha_acid_fraction: PerHop, whole_wort_l: PerBatch
) -> PerHop:
    r"""Alpha acids each hot-side addition brings, per litre of wort after the boil.

    .. math:: 1000 \, m \, \alpha / V

    Source: mass balance; volume as in the measured beers of Hosom, brewing-science log, post 13.
    """
    return 1000.0 * hop_added_g * hop_alpha_acid_fraction / whole_wort_l


def hop_alpha_in_kettle_mg_l(
    hop_alpha_dosed_mg_l: PerHop,
    hop_in_mash_share: PerHop,
    mash_hop_fraction: PerBatch,
    hop_in_first_wort_share: PerHop,
    first_wort_factor: PerBatch,
) -> PerHop:
    r"""Alpha acids of each addition that count in the kettle.

    .. math:: a \, (1 + x_\text{mash} (\varphi - 1) + x_\text{first wort} (\psi - 1))

    The gain of first-wort hops takes room in the wort as any alpha acids do; else one more gram of
    another hop could lower the total in crowded wort.

    Source: mash hops: Justus (2018), MBAA Tech. Quart. 55(3), 67 (9.1 % against 44.0 %), and
        about 0.30 by common practice, no source; first wort: two breweries, from memory.
    """
    mash = hop_in_mash_share * (mash_hop_fraction - 1.0)
    first_wort = hop_in_first_wort_share * (first_wort_factor - 1.0)
    return hop_alpha_dosed_mg_l * (1.0 + mash + first_wort)


def kettle_alpha_mg_l(hop_alpha_in_kettle_mg_l: PerHop) -> PerBatch:
    r"""Alpha acids that get into the kettle, all additions.

    .. math:: \sum a_i

    Source: mass balance.
    Valid: below 850 mg/L, the highest dose among the measured beers.
    """
    return hop_alpha_in_kettle_mg_l.sum(axis=0)


def hop_heat_time_min(
    hop_boiled_min: PerHop,
    hop_in_whirlpool_share: PerHop,
    hop_stand_share: PerHop,
    heat_off_time_min: PerBatch,
    stand_time_min: PerBatch,
) -> PerHop:
    r"""Planned minutes from an addition to heat-off; negative for additions after it.

    .. math:: t_i, \quad -(t_\text{off} + (1 - s) t_\text{stand}) \text{ (whirlpool)}

    Source: bookkeeping.
    """
    late = heat_off_time_min + (1.0 - hop_stand_share) * stand_time_min
    return hop_boiled_min - hop_in_whirlpool_share * late


def hop_isomerization_exposure(
    hop_heat_time_min: PerHop,
    hop_in_whirlpool_share: PerHop,
    boil_isomerization_per_min: PerBatch,
    heat_off_isomerization_exposure: PerBatch,
    hop_stand_isomerization_exposure: PerHop,
    chill_isomerization_exposure: PerBatch,
) -> PerHop:
    r"""Isomerization an addition sees from kettle to chiller, as rate times time.

    .. math:: k_1 t + \tau_\text{off} + \tau_\text{stand} + \tau_\text{chill}

    Source: sum of the stretches of the path.
    """
    boil = boil_isomerization_per_min * np.maximum(hop_heat_time_min, 0.0)
    early = (1.0 - hop_in_whirlpool_share) * (boil + heat_off_isomerization_exposure)
    return early + hop_stand_isomerization_exposure + chill_isomerization_exposure


def hop_alpha_dissolved_fraction(
    hop_alpha_in_kettle_mg_l: PerHop,
    hop_heat_time_min: PerHop,
    hop_isomerization_exposure: PerHop,
    solubility_knee_mg_l: PerBatch,
    solubility_ceiling_mg_l: PerBatch,
) -> PerHop:
    r"""Share of an addition's alpha acids that finds room in the wort.

    .. math::
        \delta_i = \frac{C(B_i + A_i) - C(B_i)}{A_i}, \quad
        B_i = \sum_{t_j > t_i} a_j e^{-(\tau_j - \tau_i)}, \quad A_i = \sum_{t_j = t_i} a_j

    C(S) = S up to the knee, then ceiling (1 - exp(s S)), s = ln(1 - knee/ceiling)/knee. In order
    of time, so that a late charge never lowers an early one.

    Source: cap: Hosom, brewing-science log, posts 13 and 31 (200/580 mg/L); order: bookkeeping.
    Valid: alpha acids up to 850 mg/L; above some 1,300 mg/L what an early charge cannot dissolve
        still takes room from a late one, and the total may fall.
    """
    given = (hop_alpha_in_kettle_mg_l, hop_heat_time_min, hop_isomerization_exposure)
    cap = (solubility_knee_mg_l, solubility_ceiling_mg_l)
    shape = np.broadcast_shapes(*(part.shape for part in (*given, *cap)))
    short = np.flatnonzero(np.broadcast_to(~_all_find_room(given[0], given[2], *cap), shape[-1:]))
    dissolved = np.ones(shape)
    if short.size:
        parts = [part if part.shape[-1] == 1 else part[..., short] for part in (*given, *cap)]
        dissolved[:, short] = _dissolved_in_order(*parts)
    return dissolved


def _all_find_room(
    alpha: FloatArray, tau: FloatArray, knee: FloatArray, ceiling: FloatArray
) -> NDArray[np.bool_]:
    """Return of each sample whether all alpha acids together stay below the knee; 1 or (n,)."""
    together = np.abs(alpha).sum(axis=0) < knee * (1.0 - 1e-9)
    usual = (knee < ceiling) & np.isfinite(ceiling) & np.isfinite(tau.sum(axis=0))
    return np.asarray(together & usual)


def _dissolved_in_order(
    hop_alpha: FloatArray,
    hop_time: FloatArray,
    hop_tau: FloatArray,
    knee: FloatArray,
    ceiling: FloatArray,
) -> FloatArray:
    """Return the share dissolved of each addition, (hop, n), one addition after the other."""
    given = (hop_alpha, hop_time, hop_tau)
    shape = np.broadcast_shapes(*(part.shape for part in (*given, knee, ceiling)))
    order = np.argsort(-hop_time, axis=0, kind="stable")
    alpha, time, tau = (_in_order(part, order, shape) for part in given)
    together = _sums_of_ties(alpha, time)
    slope = np.log1p(-knee / ceiling) / knee
    dissolved, kettle, waiting = np.empty(shape), np.zeros(shape[-1]), np.zeros(shape[-1])
    for row in range(shape[0]):
        if row:
            later = time[row] < time[row - 1]
            kettle = (kettle + np.where(later, waiting, 0.0)) * np.exp(
                -np.maximum(tau[row - 1] - tau[row], 0.0)
            )
            waiting = np.where(later, 0.0, waiting)
        waiting = waiting + alpha[row]
        dissolved[row] = _room(kettle, together[row], knee, ceiling, slope)
    back = np.empty_like(dissolved)
    np.put_along_axis(back, np.broadcast_to(order, shape), dissolved, axis=0)
    return back


def _in_order(values: FloatArray, order: NDArray[np.intp], shape: tuple[int, ...]) -> FloatArray:
    rows = np.broadcast_to(values, (shape[0], values.shape[-1]))
    if order.shape[-1] != values.shape[-1]:
        rows, order = np.broadcast_to(rows, shape), np.broadcast_to(order, shape)
    return np.take_along_axis(rows, order, axis=0)


def _sums_of_ties(alpha: FloatArray, time: FloatArray) -> FloatArray:
    """Return for each row the sum over the rows of the same time; times fall."""
    total = np.array(np.broadcast_to(alpha, np.broadcast_shapes(alpha.shape, time.shape)))
    for row in range(1, len(total)):
        total[row] += np.where(time[row] == time[row - 1], total[row - 1], 0.0)
    for row in reversed(range(len(total) - 1)):
        total[row] = np.where(time[row] == time[row + 1], total[row + 1], total[row])
    return total


def hop_isomerized_fraction(
    hop_heat_time_min: PerHop,
    hop_in_whirlpool_share: PerHop,
    boil_isomerization_per_min: PerBatch,
    boil_iso_loss_per_min: PerBatch,
    heat_off_isomerization_exposure: PerBatch,
    heat_off_iso_loss_exposure: PerBatch,
    hop_stand_isomerization_exposure: PerHop,
    hop_stand_iso_loss_exposure: PerHop,
    chill_isomerization_exposure: PerBatch,
    chill_iso_loss_exposure: PerBatch,
) -> PerHop:
    r"""Share of an addition's dissolved alpha acids that is iso-alpha acids in the cold wort.

    .. math:: a \leftarrow a e^{-\tau_1}, \quad b \leftarrow b e^{-\tau_2}
        + a \frac{\tau_1}{\tau_2 - \tau_1} (e^{-\tau_1} - e^{-\tau_2})

    over boil, heat-off, stand and chiller; a whirlpool hop skips the first two.

    Source: two first-order steps in series with the rates of Malowicki & Shellhammer (2005),
        J. Agric. Food Chem. 53, 4434, doi:10.1021/jf0481296.
    """
    boiled = (1.0 - hop_in_whirlpool_share) * np.maximum(hop_heat_time_min, 0.0)
    early = 1.0 - hop_in_whirlpool_share
    stretches = (
        (boil_isomerization_per_min * boiled, boil_iso_loss_per_min * boiled),
        (early * heat_off_isomerization_exposure, early * heat_off_iso_loss_exposure),
        (hop_stand_isomerization_exposure, hop_stand_iso_loss_exposure),
        (chill_isomerization_exposure, chill_iso_loss_exposure),
    )
    alpha, iso = np.ones_like(boiled), np.zeros_like(boiled)
    for gain, loss in stretches:
        left, excess = np.exp(-gain), loss - gain
        lost = -np.expm1(-excess)
        alike = np.abs(excess) < 1e-9
        share = np.where(alike, 1.0 - 0.5 * excess, lost / np.where(alike, 1.0, excess))
        alpha = alpha * left
        iso = iso * (left * (1.0 - lost)) + alpha * (gain * share)
    return iso


def _room(
    before: FloatArray, dose: FloatArray, knee: FloatArray, ceiling: FloatArray, slope: FloatArray
) -> FloatArray:
    """Return (C(before + dose) - C(before)) / dose without cancellation; C' at zero dose."""
    below = np.clip(knee - before, 0.0, dose)
    above = dose - below
    still_free = ceiling * np.exp(slope * np.maximum(before, knee))
    gained = -still_free * np.expm1(slope * above)
    steady = np.where(before < knee, 1.0, -slope * still_free)
    given = dose > 0.0
    return np.where(given, (below + gained) / np.where(given, dose, 1.0), steady)
