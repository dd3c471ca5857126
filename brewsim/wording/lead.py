"""The second reading of a lead: by the strongest compound of each side, and as strength."""

import numpy as np
import xarray as xr

from brewsim.quantities.catalogue import outcome_of
from brewsim.quantities.format import value

STRONGEST = "strongest_thiol_lead"
_LEAST, _MOST = 0.2, 0.8
"""Exponents of smelt strength over amount in odorants (a textbook of odour, at second hand)."""


def lead_reading(draws: xr.Dataset) -> list[str]:
    """Say the thiol lead by the strongest compound of each side, where its draws were kept.

    Amounts over thresholds are added in the lead itself; a mixture is smelt about as strong as its
    strongest compound.
    """
    if STRONGEST not in draws:
        return []
    low, middle, high = np.quantile(draws[STRONGEST].to_numpy(), [0.05, 0.5, 0.95])
    look = outcome_of(STRONGEST)
    least, usual, most = (value(look, float(end)) for end in (low, middle, high))
    sentences = (
        "The thiol lead adds compounds up, as an amount.",
        "Strongest compound against strongest, as tasters smell a mixture, it is",
        f"{least} to {most}, median {usual}.",
        f"A doubling of either is only {_LEAST} to {_MOST} doublings of smelt strength.",
    )
    return [" ".join(sentences)]
