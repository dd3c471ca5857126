"""A small beer for tests of thiols: the stages from precursor to glass, at medians or as draws."""

import tomllib
from functools import cache
from pathlib import Path

import numpy as np
from scipy import stats

from brewsim.dims import Input
from brewsim.formulas.beer import sensory as glass
from brewsim.formulas.beer import strongest_odor
from brewsim.formulas.hops import additions, hop_aroma
from brewsim.formulas.thiols import (
    glutathionylated_release,
    hop_borne_esters,
    precursors,
    thiol_release,
    thiols,
)
from brewsim.formulas.thiols import hop_borne_thiols as free_thiols
from brewsim.formulas.thiols import thiol_adsorption as late_hops
from brewsim.formulas.thiols import usable_precursors as thiol_sources
from brewsim.graph.build import build_graph, formulas_in, inputs_in, ranges_in
from brewsim.graph.evaluate import evaluate

FOLDER = Path(__file__).parents[2] / "priors"
STAGES = (
    additions,
    hop_aroma,
    precursors,
    late_hops,
    thiol_sources,
    free_thiols,
    thiol_release,
    glutathionylated_release,
    hop_borne_esters,
    thiols,
    strongest_odor,
    glass,
)
MADE_ELSEWHERE = {
    "malt_added_kg": ("malt",),
    "whole_wort_l": (),
    "fermenter_volume_l": (),
    "boil_time_min": (),
    "storage_week": (),
    "storage_temperature_c": (),
    "bitterness_ibu": (),
    "original_gravity_sg": (),
    "alcohol_by_volume_fraction": (),
}
INPUTS = inputs_in(*STAGES)
GRAPH = build_graph(
    formulas_in(*STAGES),
    INPUTS | {name: Input(axes, name) for name, axes in MADE_ELSEWHERE.items()},
    valid=ranges_in(*STAGES),
)
HOP = {
    "hop_mass_g": 0.0,
    "hop_weighing_factor": 1.0,
    "hop_lot_of_hop": 0.0,
    "hop_boil_time_min": 0.0,
    "hop_in_mash_share": 0.0,
    "hop_in_first_wort_share": 0.0,
    "hop_in_whirlpool_share": 0.0,
}
DRY_HOP = {
    "dry_hop_mass_g": 0.0,
    "dry_hop_weighing_factor": 1.0,
    "hop_lot_of_dry_hop": 0.0,
    "dry_hop_in_fermentation_share": 0.0,
}
PRECURSOR = {
    "precursor_dose_g_l": 0.0,
    "precursor_in_mash_share": 0.0,
    "precursor_in_kettle_share": 0.0,
    "precursor_in_whirlpool_share": 0.0,
    "precursor_in_fermentation_share": 0.0,
}
PLAIN = {
    "whole_wort_l": 20.0,
    "fermenter_volume_l": 20.0,
    "boil_time_min": 60.0,
    "storage_week": 0.0,
    "storage_temperature_c": 20.0,
    "bitterness_ibu": 20.0,
    "original_gravity_sg": 1.05,
    "alcohol_by_volume_fraction": 0.05,
    "fermentation_temperature_c": 20.0,
}


@cache
def table(file):
    """Return a file of priors."""
    return tomllib.loads((FOLDER / f"{file}.toml").read_text(encoding="utf-8"))


@cache
def scalars(release="ordinary", character="ale"):
    """Return every prior this stage of the beer needs, the yeast's classes put in."""
    yeasts = table("yeasts")
    own = yeasts["release"][release] | yeasts["character"][character]
    return table("thiols") | table("precursors") | table("sensory") | own


def law(prior):
    """Return the scipy distribution of a prior table, limits left out; None for a constant."""
    match prior["family"]:
        case "lognormal":
            return stats.lognorm(prior["log_sd"], scale=prior["median"])
        case "normal":
            return stats.norm(prior["mean"], prior["sd"])
        case "uniform":
            return stats.uniform(prior["low"], prior["high"] - prior["low"])
        case "beta" if "a" in prior:
            return stats.beta(prior["a"], prior["b"])
        case "beta":
            mean, sd = prior["mean"], prior["sd"]
            size = mean * (1 - mean) / sd**2 - 1
            return stats.beta(mean * size, (1 - mean) * size)
    return None


def middle(prior):
    """Return the median of a prior."""
    return _middle(tuple(sorted((k, v) for k, v in prior.items() if not isinstance(v, dict))))


@cache
def _middle(entries):
    prior = dict(entries)
    return prior["value"] if law(prior) is None else law(prior).median()


def draw(prior, rng, count):
    """Return plain random draws of a prior between its limits."""
    if law(prior) is None:
        return np.full(count, float(prior["value"]))
    low, high = (
        law(prior).cdf(prior.get(k, x)) for k, x in (("lower", -np.inf), ("upper", np.inf))
    )
    return law(prior).ppf(low + (high - low) * rng.random(count))


def column(rows, template):
    """Return one array (rows, 1) or (rows, n) for each name of a list."""
    filled = [template | row for row in rows]
    found = {}
    for name in template:
        values = [np.atleast_1d(np.asarray(row[name], dtype=float)) for row in filled]
        found[name] = np.array(np.broadcast_arrays(*values)) if values else np.zeros((0, 1))
    return found


def lists(priors, value, *, malts, hops, dry_hops, products, lots):
    """Return every list of the beer, rows as given, the rest from priors by `value`."""
    templates = {"malt": {"malt_added_kg": 0.0}, "hop": HOP, "dry_hop": DRY_HOP, "hop_lot": {}}
    templates["precursor"] = dict(PRECURSOR)
    for name, given in INPUTS.items():
        if given.axes and name in priors:
            templates[given.axes[0]][name] = None
    rows = {"malt": malts, "hop": hops, "dry_hop": dry_hops, "precursor": products, "hop_lot": lots}
    found = {}
    for axis, template in templates.items():
        filled = [
            {
                name: value(priors[name]) if default is None else default
                for name, default in template.items()
            }
            | row
            for row in rows[axis]
        ]
        found |= column(filled, template)
    return found


def beer(
    *,
    malts=(),
    hops=(),
    dry_hops=(),
    products=(),
    lots=({},),
    release="ordinary",
    character="ale",
    rng=None,
    count=1,
    **given,
):
    """Return all quantities of a beer of 20 L; medians of the priors, or draws if `rng` is set."""
    priors = scalars(release, character)

    def value(prior):
        return middle(prior) if rng is None else draw(prior, rng, count)

    named = dict.fromkeys([*(name for name, known in INPUTS.items() if not known.axes), *PLAIN])
    plain = {name: value(priors[name]) for name in named if name in priors} | PLAIN | given
    inputs = {name: np.atleast_1d(np.asarray(number, float)) for name, number in plain.items()}
    inputs |= lists(
        priors, value, malts=malts, hops=hops, dry_hops=dry_hops, products=products, lots=lots
    )
    unused = INPUTS.keys() - inputs.keys()
    outcomes = (
        "thiol_to_bitterness",
        "thiol_lead",
        "bitterness_to_gravity",
        "strongest_thiol_lead",
    )
    more = ("compounds_over_threshold_count", "detecting_taster_share", "late_hop_removal_fraction")
    graph = GRAPH.pruned(outcomes + more)
    missing = unused & graph.inputs.keys()
    if missing:
        raise AssertionError(f"no prior for {sorted(missing)}")
    return evaluate(graph, inputs)


def mash_hop(mass_g, **more):
    """Return a mash hop."""
    return {"hop_mass_g": mass_g, "hop_in_mash_share": 1.0} | more


def whirlpool_hop(mass_g, **more):
    """Return a whirlpool hop."""
    return {"hop_mass_g": mass_g, "hop_in_whirlpool_share": 1.0} | more


def kettle_hop(mass_g, minutes, **more):
    """Return a kettle hop."""
    return {"hop_mass_g": mass_g, "hop_boil_time_min": minutes} | more


def dry_hop(mass_g, *, fermenting=0.0, **more):
    """Return a dry hop."""
    return {"dry_hop_mass_g": mass_g, "dry_hop_in_fermentation_share": fermenting} | more


def powder(dose_g_l, point, **more):
    """Return a precursor product at the median of its content."""
    return {"precursor_dose_g_l": dose_g_l, f"precursor_in_{point}_share": 1.0} | more


BARREN = {
    "hop_lot_glutathionylated_3sh_ug_kg": 0.0,
    "hop_lot_cysteinylated_3sh_ug_kg": 0.0,
    "hop_lot_free_3sh_ug_kg": 0.0,
    "hop_lot_free_4msp_ug_kg": 0.0,
}
"""A hop lot without thiols or their precursors."""
