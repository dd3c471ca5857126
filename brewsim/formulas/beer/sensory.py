"""In the glass: amounts over thresholds, and how aroma, bitterness and gravity stand together."""

import numpy as np

from brewsim.dims import Input, PerBatch, Range

_NORMAL_BY_LOGISTIC = 1.702

INPUTS = {
    "threshold_3sh_ng_l": Input((), "3SH at which half of a panel notices it in beer"),
    "threshold_3sha_ng_l": Input((), "3SHA at which half of a panel notices it in beer"),
    "threshold_4msp_ng_l": Input((), "4MSP at which half of a panel notices it in beer"),
    "threshold_3s4mp_ng_l": Input((), "3S4MP at which half of a panel notices it in beer"),
    "taster_spread_factor": Input((), "Factor by which single tasters differ from the panel"),
    "bitterness_step_ibu": Input((), "Difference in bitterness that tasters just notice"),
}

VALID: dict[str, dict[str, Range]] = {
    "bitterness_to_gravity": {"original_gravity_sg": (1.005, 1.2)},
}


def free_3sh_activity(free_3sh_ng_l: PerBatch, threshold_3sh_ng_l: PerBatch) -> PerBatch:
    r"""3SH over its threshold.

    .. math:: C / \theta

    Source: definition; thresholds differ between sources, see the priors.
    """
    return free_3sh_ng_l / threshold_3sh_ng_l


def free_3sha_activity(free_3sha_ng_l: PerBatch, threshold_3sha_ng_l: PerBatch) -> PerBatch:
    r"""3SHA over its threshold.

    .. math:: C / \theta

    Source: definition.
    """
    return free_3sha_ng_l / threshold_3sha_ng_l


def free_4msp_activity(free_4msp_ng_l: PerBatch, threshold_4msp_ng_l: PerBatch) -> PerBatch:
    r"""4MSP over its threshold.

    .. math:: C / \theta

    Source: definition.
    """
    return free_4msp_ng_l / threshold_4msp_ng_l


def free_3s4mp_activity(free_3s4mp_ng_l: PerBatch, threshold_3s4mp_ng_l: PerBatch) -> PerBatch:
    r"""3S4MP over its threshold, where a hop's content is stated.

    .. math:: C / \theta

    Source: definition.
    """
    return free_3s4mp_ng_l / threshold_3s4mp_ng_l


def thiol_activity(
    free_3sh_activity: PerBatch,
    free_3sha_activity: PerBatch,
    free_4msp_activity: PerBatch,
    free_3s4mp_activity: PerBatch,
) -> PerBatch:
    r"""Thiols over their thresholds, added.

    .. math:: \sum_j C_j / \theta_j

    An amount, not an intensity: a sum above 1 does not mean that anything is perceived.

    Source: odour-activity values; that they add is an assumption.
    """
    esters = free_3sh_activity + free_3sha_activity
    return esters + free_4msp_activity + free_3s4mp_activity


def compounds_over_threshold_count(
    free_3sh_activity: PerBatch,
    free_3sha_activity: PerBatch,
    free_4msp_activity: PerBatch,
    free_3s4mp_activity: PerBatch,
) -> PerBatch:
    r"""How many of four thiols are over their thresholds.

    .. math:: \sum_j [C_j > \theta_j]

    Source: definition.
    """
    esters = (free_3sh_activity > 1.0) + (free_3sha_activity > 1.0).astype(float)
    return esters + (free_4msp_activity > 1.0) + (free_3s4mp_activity > 1.0)


def detecting_taster_share(
    strongest_thiol_activity: PerBatch, taster_spread_factor: PerBatch
) -> PerBatch:
    r"""Share of tasters whose own threshold lies below the strongest thiol.

    .. math:: \frac{1}{1 + A^{-1.702 / \ln s}}, \quad A = \max_j C_j / \theta_j

    The spread between tasters is no uncertainty of the beer and is used nowhere else.

    Source: lognormal spread of tasters by the logistic curve nearest to it (within 0.01); spread:
        assumption.
    """
    steepness = _NORMAL_BY_LOGISTIC / np.log(taster_spread_factor)
    raised = strongest_thiol_activity**steepness
    return raised / (1.0 + raised)


def thiol_lead(thiol_activity: PerBatch, hop_aroma_activity: PerBatch) -> PerBatch:
    r"""How far thiols stand in front of hop aroma, in doublings.

    .. math:: \log_2 \frac{1 + A_\text{thiol}}{1 + A_\text{hop}}

    Near 0 when both are below their thresholds.

    Source: definition.
    """
    return np.log2((1.0 + thiol_activity) / (1.0 + hop_aroma_activity))


def thiol_to_bitterness(
    thiol_activity: PerBatch, bitterness_ibu: PerBatch, bitterness_step_ibu: PerBatch
) -> PerBatch:
    r"""How far thiols stand in front of bitterness, in doublings.

    .. math:: \log_2 \frac{1 + A_\text{thiol}}{1 + B / b}

    Source: definition; b is the step in bitterness that tasters just notice.
    """
    return np.log2((1.0 + thiol_activity) / (1.0 + bitterness_ibu / bitterness_step_ibu))


def bitterness_to_gravity(bitterness_ibu: PerBatch, original_gravity_sg: PerBatch) -> PerBatch:
    r"""Bitterness over original gravity, IBU per gravity point.

    .. math:: B / (1000 (S - 1))

    Source: R. Daniels, Designing Great Beers, 1996.
    Valid: original gravity of 1.005 to 1.200.
    """
    return bitterness_ibu / (1000.0 * (original_gravity_sg - 1.0))


def thiol_strength_doubling(thiol_activity: PerBatch) -> PerBatch:
    r"""Thiol aroma on the scale tasters compare on, in doublings.

    .. math:: \log_2 (1 + A)

    Source: definition; a strength that grows as the logarithm of the amount (Fechner), from memory.
    """
    return np.log2(1.0 + thiol_activity)


def hop_strength_doubling(hop_aroma_activity: PerBatch) -> PerBatch:
    r"""Hop aroma on the scale tasters compare on, in doublings.

    .. math:: \log_2 (1 + A)

    Source: definition; as thiol_strength_doubling.
    """
    return np.log2(1.0 + hop_aroma_activity)


def bitter_strength_doubling(bitterness_ibu: PerBatch, bitterness_step_ibu: PerBatch) -> PerBatch:
    r"""Bitterness on the scale tasters compare on, in doublings.

    .. math:: \log_2 (1 + B / b)

    Source: definition; b is the step in bitterness that tasters just notice.
    """
    return np.log2(1.0 + bitterness_ibu / bitterness_step_ibu)


def hop_hiding_doubling(thiol_lead: PerBatch) -> PerBatch:
    r"""By how much thiols can hide hop aroma at most, in doublings.

    .. math:: \log_2 (1 + 2^{L})

    A taster is taken to perceive the hops weaker by an unknown share of it.

    Source: partial masking in odour mixtures: D. G. Laing & M. E. Willcox, Chem. Senses 7 (1983)
        249 (direction; from memory). The form is an assumption.
    """
    return np.logaddexp2(0.0, thiol_lead)
