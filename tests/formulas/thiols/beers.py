"""Malts, hops and thiols of small beers."""

import numpy as np

from tests.formulas.thiol_beer import (
    mash_hop,
)

PILSNER = {"malt_added_kg": 4.0}


MASH_HOPPED = {"malts": [PILSNER], "hops": [mash_hop(80.0)], "release": "active"}


def one(values, name):
    return float(values[name].ravel()[0])


def a(*values):
    return np.array(values, dtype=float)
