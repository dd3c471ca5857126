"""The hot side of the brew day as a graph of its own, for tests of bitterness."""

import tomllib
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from brewsim.dims import Input
from brewsim.formulas.hops import (
    additions,
    bitterness,
    dry_hop_bitterness,
    hop_stand,
    isomerization,
    kettle_hops,
)
from brewsim.formulas.hops import reference_bitterness as usual_bitterness
from brewsim.graph.build import build_graph, formulas_in, inputs_in
from brewsim.graph.evaluate import evaluate

STAGES = (
    additions,
    hop_stand,
    isomerization,
    kettle_hops,
    bitterness,
    dry_hop_bitterness,
    usual_bitterness,
)
GIVEN = ("hop_lot_alpha_acid_fraction", "hop_lot_alpha_lost_share")
ELSEWHERE = {
    "boil_temperature_c": 100.0,
    "boil_time_min": 60.0,
    "whole_wort_l": 20.0,
    "fermenter_volume_l": 20.0,
    "boiled_wort_ph": 5.75,
    "kit_bitterness_ibu": 0.0,
    "preboil_gravity_sg": 1.05,
    "original_gravity_sg": 1.05,
    "late_sugar_extract_fraction": 0.0,
    "storage_week": 0.0,
    "storage_temperature_c": 20.0,
    "krausen_kept_share": 1.0,
    "dry_hop_dose_g_l": 0.0,
}
SETTINGS = {"stand_time_min": 0.0, "stand_set_temperature_c": 100.0}
HOP = {
    "hop_mass_g": 0.0,
    "hop_boil_time_min": 60.0,
    "hop_in_mash_share": 0.0,
    "hop_in_first_wort_share": 0.0,
    "hop_in_whirlpool_share": 0.0,
    "hop_stand_share": 1.0,
    "hop_is_pellet_share": 0.0,
}
LOT = {"hop_lot_alpha_acid_fraction": 0.1, "hop_lot_alpha_lost_share": 0.0}
PRIORS = tomllib.loads(
    (Path(__file__).parents[2] / "priors" / "coefficients.toml").read_text(encoding="utf-8")
)


def frozen(prior):
    """Return the scipy distribution of a prior table."""
    match prior["family"]:
        case "lognormal":
            return stats.lognorm(prior["log_sd"], scale=prior["median"])
        case "normal":
            return stats.norm(prior["mean"], prior["sd"])
        case "uniform":
            return stats.uniform(prior["low"], prior["high"] - prior["low"])
        case "triangular":
            low, width = prior["low"], prior["high"] - prior["low"]
            return stats.triang((prior["mode"] - low) / width, low, width)
        case "beta":
            mean, spread = prior["mean"], prior["sd"]
            total = mean * (1 - mean) / spread**2 - 1
            return stats.beta(mean * total, (1 - mean) * total)
    raise ValueError(prior["family"])


def quantile(prior, probability):
    """Return the prior's quantiles, its `lower` and `upper` limits respected."""
    if prior["family"] == "constant":
        return np.full_like(probability, prior["value"])
    law = frozen(prior)
    low = law.cdf(prior.get("lower", -np.inf))
    high = law.cdf(prior.get("upper", np.inf))
    return law.ppf(low + probability * (high - low))


class HotSide:
    """Runs the hot side for a list of additions (each a dict of what differs from HOP and LOT)."""

    def __init__(self, variant="kinetic"):
        inputs = inputs_in(*STAGES) | {name: Input((), name) for name in ELSEWHERE}
        self.graph = build_graph(
            formulas_in(*STAGES), inputs, variants={"bitterness_ibu": variant}, given=GIVEN
        )

    def run(self, hops, rng=None, rows=1, **values):
        """Return every quantity: priors at their medians, or drawn when `rng` is given."""
        given = self.constants(rng, rows)
        for name, known in self.graph.inputs.items():
            if name in given and known.axes == ("hop_lot",):  # one lot for each addition
                given[name] = np.repeat(given[name], len(hops), axis=0)
        given |= {name: np.array([value]) for name, value in (ELSEWHERE | SETTINGS).items()}
        for name, default in (HOP | LOT).items():
            given[name] = np.array([np.ravel(hop.get(name, default)) for hop in hops], dtype=float)
            given[name] = given[name].reshape(len(hops), -1 if hops else 1)
        given["hop_lot_of_hop"] = np.arange(len(hops))
        given |= {"dry_hop_mass_g": np.zeros((0, 1)), "hop_lot_of_dry_hop": np.zeros(0, dtype=int)}
        given |= {name: np.atleast_1d(np.asarray(value, float)) for name, value in values.items()}
        return evaluate(self.graph, given)

    def quantile(self, name, probability):
        """Return quantiles of a coefficient's prior."""
        return quantile(PRIORS[name], probability)

    def constants(self, rng, rows):
        """Return a value of each coefficient that has a prior, by name."""
        drawn = {}
        for name, known in self.graph.inputs.items():
            if name not in PRIORS:
                continue
            slots = (rng.permutation(rows) + 0.5) / rows if rng else np.array([0.5])
            values = self.quantile(name, slots)
            rows_of = {"hop": 1, "dry_hop": 0, "hop_lot": 1}
            drawn[name] = values if not known.axes else values[None][: rows_of[known.axes[0]]]
        return drawn


@pytest.fixture(scope="session")
def hot_side():
    return HotSide()


@pytest.fixture(scope="session")
def usual_hot_side():
    return HotSide("empirical")
