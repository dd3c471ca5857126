"""Alpha acids turn into iso-alpha acids: rates, and what a hop sees of them down to the chiller.

An exposure is the integral of a rate over time; a hop's path is boil, heat-off to the stand, the
stand, and the chiller, and a whirlpool hop enters at the stand.
"""

from itertools import pairwise

import numpy as np

from brewsim.constants import STILL_AIR_LIMIT_C, ZERO_CELSIUS_K
from brewsim.dims import FloatArray, Input, PerBatch, PerHop, Range

_GAS_CONSTANT_KJ_MOL_K = 8.314462618e-3
_LOSS_ENERGY_KJ_MOL = 12994.0 * _GAS_CONSTANT_KJ_MOL_K
_CHILL_WATER_C = 20.0
_CHILLED_C = 25.0
_COLD_C = 50.0
_PIECES = 5
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(5)

INPUTS = {
    "isomerization_rate_per_min": Input((), "Rate at which alpha acids isomerize at 100 °C"),
    "isomerization_energy_kj_mol": Input((), "Activation energy of the isomerization"),
    "iso_loss_rate_per_min": Input((), "Rate at which iso-alpha acids break down at 100 °C"),
}

VALID: dict[str, dict[str, Range]] = {
    "boil_isomerization_per_min": {"boil_temperature_c": (85.0, 130.0)},
}


def boil_isomerization_per_min(
    boil_temperature_c: PerBatch,
    isomerization_rate_per_min: PerBatch,
    isomerization_energy_kj_mol: PerBatch,
) -> PerBatch:
    r"""Rate at which alpha acids isomerize in the boil.

    .. math:: k_1 = k_1(100) \exp\left(-\frac{E_1}{R}
        \left(\frac{1}{T} - \frac{1}{373.15}\right)\right)

    Source: Malowicki & Shellhammer (2005), J. Agric. Food Chem. 53, 4434,
        doi:10.1021/jf0481296; the value at 100 °C stays when the energy varies.
    Valid: 90 to 130 °C in buffer at pH 5.2; used down to 50 °C, for a boil down to 85 °C.
    """
    return _rate(boil_temperature_c, isomerization_rate_per_min, isomerization_energy_kj_mol)


def boil_iso_loss_per_min(
    boil_temperature_c: PerBatch, iso_loss_rate_per_min: PerBatch
) -> PerBatch:
    r"""Rate at which iso-alpha acids break down in the boil.

    .. math:: k_2 = k_2(100) \exp\left(-12994
        \left(\frac{1}{T} - \frac{1}{373.15}\right)\right)

    Source: Malowicki & Shellhammer (2005), J. Agric. Food Chem. 53, 4434,
        doi:10.1021/jf0481296.
    Valid: 90 to 130 °C in buffer at pH 5.2; used down to 50 °C.
    """
    return _rate(boil_temperature_c, iso_loss_rate_per_min, _LOSS_ENERGY_KJ_MOL)


def heat_off_isomerization_exposure(
    boil_temperature_c: PerBatch,
    stand_temperature_c: PerBatch,
    heat_off_time_min: PerBatch,
    isomerization_rate_per_min: PerBatch,
    isomerization_energy_kj_mol: PerBatch,
) -> PerBatch:
    r"""Isomerization between heat-off and the hop stand, as rate times time.

    .. math:: \sum \Delta t \, (k_a - k_b) / \ln(k_a / k_b)

    Source: exact integral of an exponential between two temperatures; five equal pieces.
    """
    kinetics = (isomerization_rate_per_min, isomerization_energy_kj_mol)
    return _ramp(boil_temperature_c, stand_temperature_c, heat_off_time_min, *kinetics)


def heat_off_iso_loss_exposure(
    boil_temperature_c: PerBatch,
    stand_temperature_c: PerBatch,
    heat_off_time_min: PerBatch,
    iso_loss_rate_per_min: PerBatch,
) -> PerBatch:
    r"""Breakdown of iso-alpha acids between heat-off and the hop stand, as rate times time.

    .. math:: \sum \Delta t \, (k_a - k_b) / \ln(k_a / k_b)

    Source: exact integral of an exponential between two temperatures; five equal pieces.
    """
    kinetics = (iso_loss_rate_per_min, _LOSS_ENERGY_KJ_MOL)
    return _ramp(boil_temperature_c, stand_temperature_c, heat_off_time_min, *kinetics)


def hop_stand_isomerization_exposure(
    hop_stand_start_min: PerHop,
    hop_stand_start_temperature_c: PerHop,
    stand_actual_min: PerBatch,
    stand_drift_per_min: PerBatch,
    isomerization_rate_per_min: PerBatch,
    isomerization_energy_kj_mol: PerBatch,
) -> PerHop:
    r"""Isomerization a hop sees in the stand, as rate times time.

    .. math:: \int k_1(46.4 + (T_0 - 46.4) e^{-bt}) \, dt

    Source: Gauss-Legendre with five nodes on the rate of Malowicki & Shellhammer (2005).
    """
    kinetics = (isomerization_rate_per_min, isomerization_energy_kj_mol)
    minutes = stand_actual_min - hop_stand_start_min
    path = (hop_stand_start_temperature_c, STILL_AIR_LIMIT_C, stand_drift_per_min, minutes)
    return _decay(*path, *kinetics)


def hop_stand_iso_loss_exposure(
    hop_stand_start_min: PerHop,
    hop_stand_start_temperature_c: PerHop,
    stand_actual_min: PerBatch,
    stand_drift_per_min: PerBatch,
    iso_loss_rate_per_min: PerBatch,
) -> PerHop:
    r"""Breakdown of iso-alpha acids while a hop stands, as rate times time.

    .. math:: \int k_2(46.4 + (T_0 - 46.4) e^{-bt}) \, dt

    Source: Gauss-Legendre with five nodes on the rate of Malowicki & Shellhammer (2005).
    """
    kinetics = (iso_loss_rate_per_min, _LOSS_ENERGY_KJ_MOL)
    minutes = stand_actual_min - hop_stand_start_min
    path = (hop_stand_start_temperature_c, STILL_AIR_LIMIT_C, stand_drift_per_min, minutes)
    return _decay(*path, *kinetics)


def chill_isomerization_exposure(
    stand_end_temperature_c: PerBatch,
    chill_actual_min: PerBatch,
    isomerization_rate_per_min: PerBatch,
    isomerization_energy_kj_mol: PerBatch,
) -> PerBatch:
    r"""Isomerization in the chiller down to 50 °C, as rate times time.

    .. math:: \int k_1(20 + (T_0 - 20) e^{-bt}) \, dt, \quad b = \ln(80/5) / t_\text{chill}

    Source: common practice, no source, for the cooling curve; Gauss-Legendre with five nodes.
    """
    kinetics = (isomerization_rate_per_min, isomerization_energy_kj_mol)
    return _chiller(stand_end_temperature_c, chill_actual_min, *kinetics)


def chill_iso_loss_exposure(
    stand_end_temperature_c: PerBatch, chill_actual_min: PerBatch, iso_loss_rate_per_min: PerBatch
) -> PerBatch:
    r"""Breakdown of iso-alpha acids in the chiller down to 50 °C, as rate times time.

    .. math:: \int k_2(20 + (T_0 - 20) e^{-bt}) \, dt, \quad b = \ln(80/5) / t_\text{chill}

    Source: common practice, no source, for the cooling curve; Gauss-Legendre with five nodes.
    """
    kinetics = (iso_loss_rate_per_min, _LOSS_ENERGY_KJ_MOL)
    return _chiller(stand_end_temperature_c, chill_actual_min, *kinetics)


def _rate(celsius: FloatArray, at_boiling: FloatArray, energy: FloatArray | float) -> FloatArray:
    return at_boiling * np.exp(_exponent(celsius + ZERO_CELSIUS_K, energy))


def _exponent(kelvin: FloatArray, energy: FloatArray | float) -> FloatArray:
    """Return the logarithm of the rate over its value at 100 °C."""
    return energy / _GAS_CONSTANT_KJ_MOL_K * (1.0 / (100.0 + ZERO_CELSIUS_K) - 1.0 / kelvin)


def _ramp(
    start_c: FloatArray,
    end_c: FloatArray,
    minutes: FloatArray,
    at_boiling: FloatArray,
    energy: FloatArray | float,
) -> FloatArray:
    """Integrate the rate over a straight line from start to end, cut off at 50 °C."""
    fall = np.maximum(start_c - end_c, 0.0)
    used = np.clip((start_c - _COLD_C) / np.where(fall > 0.0, fall, 1.0), 0.0, 1.0)
    used = np.where(fall > 0.0, used, 1.0)
    hot_end, piece = start_c + ZERO_CELSIUS_K, fall * used / _PIECES
    exponents = [_exponent(hot_end - n * piece, energy) for n in range(_PIECES + 1)]
    rates = [np.exp(exponent) for exponent in exponents]
    pairs = zip(pairwise(rates), pairwise(exponents), strict=True)
    mean = sum(_log_mean(*pair, hotter - colder) for pair, (hotter, colder) in pairs) / _PIECES
    return np.asarray(minutes * used * at_boiling * mean)


def _log_mean(hot: FloatArray, cold: FloatArray, log_ratio: FloatArray) -> FloatArray:
    """Return the mean of an exponential that runs from one value to the other."""
    flat = log_ratio < 1e-5
    return np.where(flat, 0.5 * (hot + cold), (hot - cold) / np.where(flat, 1.0, log_ratio))


def _decay(
    start_c: FloatArray,
    limit_c: float,
    cooling: FloatArray,
    minutes: FloatArray,
    at_boiling: FloatArray,
    energy: FloatArray | float,
) -> FloatArray:
    """Integrate the rate over limit + (start - limit) exp(-b t), cut off at 50 °C."""
    limit, warmer = limit_c + ZERO_CELSIUS_K, start_c - limit_c
    decay = np.log(np.maximum(warmer / (_COLD_C - limit_c), 1.0))
    time = np.clip(minutes, 0.0, decay / np.maximum(cooling, 1e-12))
    lost = -np.expm1(-cooling * time)
    middle, half = 1.0 - 0.5 * lost, 0.5 * lost
    steep = energy / _GAS_CONSTANT_KJ_MOL_K
    boiling = steep / (100.0 + ZERO_CELSIUS_K)
    total = np.zeros(np.broadcast_shapes(time.shape, np.shape(energy)))
    for node, weight in zip(_NODES, 0.5 * _WEIGHTS, strict=True):
        u = middle + half * node
        total += weight * np.exp(boiling - steep / (limit + warmer * u)) / u
    still = cooling * time < 1e-9
    minutes_warm = np.where(still, time, lost / np.where(still, 1.0, cooling))
    return at_boiling * total * minutes_warm


def _chiller(
    start_c: FloatArray, chill: FloatArray, at_boiling: FloatArray, energy: FloatArray | float
) -> FloatArray:
    cooling = np.log((100.0 - _CHILL_WATER_C) / (_CHILLED_C - _CHILL_WATER_C)) / np.maximum(
        chill, 1e-6
    )
    forever = np.full_like(cooling, np.inf)
    return _decay(start_c, _CHILL_WATER_C, cooling, forever, at_boiling, energy)
