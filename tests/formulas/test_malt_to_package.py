"""The stages together, from malt to package, at the medians of their priors."""

import tomllib
from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from brewsim.dims import Input
from brewsim.formulas.beer import fermentation, hop_creep, packaging, strength
from brewsim.formulas.wort import boil, mash, mash_schedule, souring, sugars, usual_lauter
from brewsim.graph.build import build_graph, formulas_in, inputs_in, ranges_in
from brewsim.graph.evaluate import evaluate

PRIORS = Path(__file__).parents[2] / "priors"
STAGES = (
    mash,
    usual_lauter,
    mash_schedule,
    sugars,
    boil,
    souring,
    hop_creep,
    fermentation,
    packaging,
    strength,
)
ADDITIONS = {
    "hop": ("hop_added_g", "hop_in_mash_share", "hop_is_pellet_share"),
    "dry_hop": ("dry_hop_added_g", "dry_hop_contact_day", "dry_hop_temperature_c"),
}
ZERO = np.zeros(1)


def a(*values):
    return np.array(values, dtype=float)


def middle(prior):
    """Return the median of a prior table."""
    if prior["family"] == "triangular":
        low, mode, high = (prior[key] for key in ("low", "mode", "high"))
        return stats.triang((mode - low) / (high - low), low, high - low).median()
    medians = {
        "constant": lambda p: p["value"],
        "normal": lambda p: p["mean"],
        "lognormal": lambda p: p["median"],
        "half_normal": lambda p: 0.6745 * p["sd"],
        "beta": lambda p: stats.beta(p["a"], p["b"]).median(),
        "uniform": lambda p: 0.5 * (p["low"] + p["high"]),
    }
    return medians[prior["family"]](prior)


def table(name):
    return tomllib.loads((PRIORS / name).read_text(encoding="utf-8"))


def process():
    """Return the priors of the process: how it runs, and how brewers may run it."""
    return table("process.toml") | table("practice.toml")


def chain(package="keg", lauter="stated", **changes):
    """Evaluate the stages at the medians of the priors, 20 L of pale lager unless changed."""
    graph = build_graph(
        formulas_in(*STAGES),
        inputs_in(*STAGES)
        | {name: Input((axis,), name) for axis, names in ADDITIONS.items() for name in names},
        variants={
            "mash_efficiency_fraction": lauter,
            "carbonation_vol": package,
            "alcohol_by_weight_fraction": "line",
        },
        valid=ranges_in(*STAGES),
    )
    priors, malts = process(), table("malts.toml")
    grist = ("Pilsner malt", "Vienna malt")
    values = {
        "malt_mass_kg": a(4.05, 0.25)[:, None],
        "mash_water_l": a(15.4),
        "sparge_water_l": a(15.1),
        "hop_added_g": a(40.0, 20.0, 20.0)[:, None],
        "hop_in_mash_share": a(1, 0, 0)[:, None],
        "hop_is_pellet_share": a(1, 1, 1)[:, None],
        "live_yeast_share": a(float(package == "bottle")),
    }
    for row in ("extract_dry_fraction", "moisture_fraction", "fermentability_factor"):
        values[f"malt_{row}"] = a(*(middle(malts[name][row]) for name in grist))[:, None]
    values["malt_weighing_factor"] = np.ones((2, 1))
    values |= changes
    for name, given in graph.inputs.items():
        if name not in values:
            empty = np.zeros((0, 1))
            values[name] = empty if given.axes else a(middle(priors[name]))
    return evaluate(graph, values)


def test_every_input_of_the_four_stages_has_a_prior_or_comes_from_the_recipe():
    stated = {"malt_mass_kg", "mash_water_l", "sugar_mass_kg", "sugar_is_late_share"}
    stated |= {"mash_rest_rise_c", "mash_rest_time_min", "sugar_in_fermenter_share"}

    assert set(inputs_in(*STAGES)) - set(process()) == stated


def test_every_prior_names_a_source_that_exists_and_kind_shares_of_one():
    known = set(table("sources.toml")) | {
        "common practice, no source",
        "from memory",
        "assumption",
    }

    def tables(found):
        for value in found.values():
            if isinstance(value, dict):
                if "family" in value:
                    yield value
                elif "kinds" not in value:
                    yield from tables(value)

    priors = [
        p
        for f in ("process", "practice", "malts", "instruments")
        for p in tables(table(f"{f}.toml"))
    ]

    assert len(priors) > 250
    for prior in priors:
        assert prior["source"] in known
        assert sum(prior["kinds"].values()) == pytest.approx(1.0)
        if prior["grade"] in {"published", "secondary"}:
            assert prior["source"] in table("sources.toml")


def test_every_instrument_reads_something_with_bias_and_noise():
    instruments = table("instruments.toml")

    assert {"consumer hydrometer", "volume mark", "thermometer", "thiol assay"} <= set(instruments)
    for instrument in instruments.values():
        assert instrument["reads"]
        assert instrument["scale"] in {"linear", "log"}
        assert instrument["noise"]["sd"] > 0.0
        assert instrument["bias"]["mean"] == 0.0


def test_a_pale_lager_at_the_medians_is_a_pale_lager():
    beer = chain()

    assert beer["fermenter_volume_l"] == pytest.approx(20.0, abs=0.5)
    assert 1.044 < beer["original_gravity_sg"] < 1.053
    assert 1.007 < beer["final_gravity_sg"] < 1.013
    assert 0.044 < beer["alcohol_by_volume_fraction"] < 0.058
    assert beer["carbonation_vol"] == pytest.approx(2.5)
    assert 380 < beer["energy_kcal_l"] < 480


@pytest.mark.parametrize("lauter", ["no_sparge", "batch_sparge", "continuous_sparge"])
def test_the_lautering_forms_run_through_the_whole_chain(lauter):
    beer = chain(lauter=lauter, usual_lauter_factor=a(1.0))

    assert 0.7 < beer["mash_efficiency_fraction"] < 0.95


def test_a_bottled_beer_carbonates_by_priming_and_by_what_was_left():
    still = chain("bottle", residual_extract_plato=ZERO)
    left = chain("bottle", residual_extract_plato=a(0.1))
    primed = chain("bottle", residual_extract_plato=ZERO, priming_sugar_g_l=a(6.0))

    assert still["carbonation_vol"] == pytest.approx(0.861 / (1 + 0.04 / 0.9), abs=1e-3)
    assert left["carbonation_vol"] - still["carbonation_vol"] == pytest.approx(0.18, abs=0.01)
    assert 1.3 < primed["carbonation_vol"] - still["carbonation_vol"] < 1.5
    assert primed["alcohol_by_volume_fraction"] > still["alcohol_by_volume_fraction"]


def test_dry_hops_creep_on_in_the_bottle_and_take_beer():
    hops = {
        "dry_hop_added_g": a(100.0)[:, None],
        "dry_hop_contact_day": a(3.0)[:, None],
        "dry_hop_temperature_c": a(20.0)[:, None],
    }
    plain, dry_hopped = chain("bottle"), chain("bottle", **hops)
    none = dict(hops, dry_hop_added_g=a(0.0)[:, None])

    assert dry_hopped["final_extract_plato"] < plain["final_extract_plato"]
    assert dry_hopped["carbonation_vol"] > plain["carbonation_vol"] + 0.3
    assert plain["packaged_volume_l"] - dry_hopped["packaged_volume_l"] == pytest.approx(0.77)
    assert chain("bottle", **none)["carbonation_vol"] == pytest.approx(plain["carbonation_vol"])


def test_doubling_everything_that_is_put_in_keeps_every_concentration():
    doubled = {
        "malt_mass_kg": a(8.1, 0.5)[:, None],
        "mash_water_l": a(30.8),
        "sparge_water_l": a(30.2),
        "hop_added_g": a(80.0, 40.0, 40.0)[:, None],
        "mash_dead_space_l": a(1.0),
        "evaporation_l_h": a(8.0),
    }
    one, two = (chain("bottle", "batch_sparge", **more) for more in ({}, doubled))

    assert two["packaged_volume_l"] == pytest.approx(2 * one["packaged_volume_l"])
    for name in ("original_gravity_sg", "final_gravity_sg", "carbonation_vol", "energy_kcal_l"):
        assert two[name] == pytest.approx(one[name], rel=1e-12)


def test_a_stated_original_extract_moves_what_follows():
    """A gravity that was read lands on the extract; alcohol and energy follow, volumes do not."""
    stages = (sugars, boil, souring, hop_creep, fermentation, packaging, strength)
    graph = build_graph(
        formulas_in(*stages),
        inputs_in(*stages)
        | {
            name: Input(axes, name)
            for name, axes in {
                "kettle_extract_kg": (), "preboil_volume_l": (), "sugar_mash_temperature_c": (),
                "mash_time_gain_fraction": (),
                "pellet_absorption_l_kg": (), "cone_absorption_l_kg": (),
                "malt_added_kg": ("malt",),
                **{name: (axis,) for axis, names in ADDITIONS.items() for name in names},
            }.items()
        },
        variants={"carbonation_vol": "keg", "alcohol_by_weight_fraction": "line"},
        given=["original_extract_plato"],
    )  # fmt: skip
    stated = chain()
    values = {name: stated[name] for name in graph.inputs}
    higher = evaluate(graph, {**values, "original_extract_plato": a(13.0)})

    assert higher["original_gravity_sg"] == pytest.approx(1.0526, abs=2e-4)
    assert higher["alcohol_by_volume_fraction"] > stated["alcohol_by_volume_fraction"]
    assert higher["packaged_volume_l"] == stated["packaged_volume_l"]


def test_no_malt_and_sugar_alone_still_make_a_finite_wort():
    sugar = {
        "sugar_mass_kg": a(2.0)[:, None],
        "sugar_weighing_factor": a(1.0)[:, None],
        "sugar_extract_fraction": a(1.0)[:, None],
        "sugar_water_fraction": a(0.0)[:, None],
        "sugar_fermentable_fraction": a(1.0)[:, None],
        "sugar_is_late_share": a(0.0)[:, None],
        "sugar_in_fermenter_share": a(0.0)[:, None],
    }
    none = {name: np.zeros((0, 1)) for name in inputs_in(mash) if name.startswith("malt_")}
    none["malt_fermentability_factor"] = np.zeros((0, 1))
    beer = chain(**sugar, **none)

    assert beer["original_extract_plato"] > 5.0
    assert all(np.all(np.isfinite(value)) for value in beer.values())
