"""How warm the wort is, and how long, from heat-off through the hop stand to the chiller."""

import numpy as np

from brewsim.constants import STILL_AIR_LIMIT_C
from brewsim.dims import FloatArray, Input, PerBatch, PerHop, Range

INPUTS = {
    "heat_off_time_min": Input((), "Minutes from heat-off to the start of the hop stand"),
    "stand_set_temperature_c": Input((), "Temperature at which the hop stand starts, as planned"),
    "stand_temperature_error_c": Input((), "Error of the hop stand's temperature"),
    "stand_time_min": Input((), "Planned minutes of the hop stand"),
    "stand_time_error_min": Input((), "Error of the hop stand's minutes"),
    "stand_cooling_per_min": Input((), "Rate at which the hop stand cools by itself; 0 when held"),
    "stand_cooling_factor": Input((), "Error of the hop stand's cooling"),
    "chill_time_min": Input((), "Minutes in which the chiller brings boiling wort to 25 °C"),
    "chill_time_factor": Input((), "Error of the chiller's minutes"),
}

VALID: dict[str, dict[str, Range]] = {
    "stand_temperature_c": {"stand_temperature_c": (60.0, 105.0)},
}


def stand_temperature_c(
    stand_set_temperature_c: PerBatch,
    stand_temperature_error_c: PerBatch,
    boil_temperature_c: PerBatch,
) -> PerBatch:
    r"""Temperature at which the hop stand really starts.

    .. math:: \min(T_\text{set} + e, T_\text{boil})

    Source: bookkeeping.
    Valid: 60 to 105 °C, where measured stands lie.
    """
    return np.minimum(stand_set_temperature_c + stand_temperature_error_c, boil_temperature_c)


def stand_actual_min(stand_time_min: PerBatch, stand_time_error_min: PerBatch) -> PerBatch:
    r"""Minutes the hop stand really took.

    .. math:: \max(t + e, 0) \text{, and 0 when no stand is planned}

    Source: bookkeeping.
    """
    actual = np.maximum(stand_time_min + stand_time_error_min, 0.0)
    return np.where(stand_time_min > 0.0, actual, 0.0)


def stand_drift_per_min(
    stand_cooling_per_min: PerBatch, stand_cooling_factor: PerBatch
) -> PerBatch:
    r"""Rate at which the hop stand really cooled.

    .. math:: b \cdot f

    Source: form of Hosom, brewing-science log, post 16.
    """
    return stand_cooling_per_min * stand_cooling_factor


def stand_end_temperature_c(
    stand_temperature_c: PerBatch, stand_actual_min: PerBatch, stand_drift_per_min: PerBatch
) -> PerBatch:
    r"""Temperature at which the hop stand ends and the chiller starts.

    .. math:: 46.4 + (T_0 - 46.4) e^{-b t}

    Source: Hosom, brewing-science log, post 16: natural cooling of a kettle.
    """
    return _drifted(stand_temperature_c, stand_drift_per_min * stand_actual_min)


def hop_stand_start_min(
    hop_in_whirlpool_share: PerHop, hop_stand_share: PerHop, stand_actual_min: PerBatch
) -> PerHop:
    r"""Minutes of the hop stand that are over when a hop meets the wort.

    .. math:: w (1 - s) t

    Source: bookkeeping.
    """
    return hop_in_whirlpool_share * (1.0 - hop_stand_share) * stand_actual_min


def hop_stand_start_temperature_c(
    hop_stand_start_min: PerHop, stand_temperature_c: PerBatch, stand_drift_per_min: PerBatch
) -> PerHop:
    r"""Temperature of the hop stand when a hop meets the wort.

    .. math:: 46.4 + (T_0 - 46.4) e^{-b t_i}

    Source: Hosom, brewing-science log, post 16: natural cooling of a kettle.
    """
    return _drifted(stand_temperature_c, stand_drift_per_min * hop_stand_start_min)


def chill_actual_min(chill_time_min: PerBatch, chill_time_factor: PerBatch) -> PerBatch:
    r"""Minutes in which the chiller really brings boiling wort to 25 °C.

    .. math:: t \cdot f

    Source: bookkeeping.
    """
    return chill_time_min * chill_time_factor


def _drifted(start_c: FloatArray, cooled: FloatArray) -> FloatArray:
    return STILL_AIR_LIMIT_C + (start_c - STILL_AIR_LIMIT_C) * np.exp(-cooled)
