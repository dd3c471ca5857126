"""The second reading of aroma: by the strongest compound, as mixtures are told by tasters."""

import numpy as np

from brewsim.dims import Input, PerBatch, Range

INPUTS: dict[str, Input] = {}
VALID: dict[str, dict[str, Range]] = {}


def strongest_thiol_activity(
    free_3sh_activity: PerBatch,
    free_3sha_activity: PerBatch,
    free_4msp_activity: PerBatch,
    free_3s4mp_activity: PerBatch,
) -> PerBatch:
    r"""Strongest thiol over its threshold.

    .. math:: \max_j C_j / \theta_j

    Source: the strength of a mixture is close to that of its stronger component, a sum says too
        much: comparison of models of odour interaction, four odorants in pairs (abstract).
    """
    esters = np.maximum(free_3sh_activity, free_3sha_activity)
    return np.maximum(esters, np.maximum(free_4msp_activity, free_3s4mp_activity))


def strongest_hop_activity(
    linalool_ug_l: PerBatch,
    geraniol_ug_l: PerBatch,
    linalool_threshold_in_beer_ug_l: PerBatch,
    geraniol_threshold_in_beer_ug_l: PerBatch,
) -> PerBatch:
    r"""Stronger of linalool and geraniol over its threshold.

    .. math:: \max(L / \theta_L, G / \theta_G)

    Source: as strongest_thiol_activity.
    """
    linalool = linalool_ug_l / linalool_threshold_in_beer_ug_l
    return np.maximum(linalool, geraniol_ug_l / geraniol_threshold_in_beer_ug_l)


def strongest_thiol_lead(
    strongest_thiol_activity: PerBatch, strongest_hop_activity: PerBatch
) -> PerBatch:
    r"""How far the strongest thiol stands in front of the strongest hop compound, in doublings.

    .. math:: \log_2 \frac{1 + \max A_\text{thiol}}{1 + \max A_\text{hop}}

    Source: definition, as thiol_lead.
    """
    return np.log2((1.0 + strongest_thiol_activity) / (1.0 + strongest_hop_activity))
