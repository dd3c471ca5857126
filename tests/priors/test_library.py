"""The numbers themselves: well formed, sourced, found by the names people use."""

import math

import numpy as np
import pytest

from brewsim.beer_graph import beer_graph
from brewsim.errors import InputError
from brewsim.logbook.pose import pose
from brewsim.priors.library import folded, load_priors
from brewsim.priors.prior_table import GRADES, NO_SOURCE, faults_of, to_distribution
from tests.priors.tables import GOOD

VARIANTS = {
    "bitterness_ibu": "kinetic",
    "mash_efficiency_fraction": "stated",
    "carbonation_vol": "bottle",
    "alcohol_by_weight_fraction": "line",
}
BORROWED = {
    "priming_monohydrate_sugar_factor",
    "priming_sucrose_sugar_factor",
    "diastatic_yeast_factor",
    "stall_possible_share",
    "attenuation_of_label_fraction",
    "stated_attenuation_fraction",
    "mash_efficiency_repeat_fraction",
    "residual_extract_keg_plato",
    "grain_absorption_squeezed_l_kg",
    "grain_absorption_drained_l_kg",
    "krausen_skimmed_share",
    "krausen_blown_off_share",
    "package_loose_factor",
    "package_sealed_factor",
    "package_vacuum_factor",
    "alpha_certificate_factor",
    "alpha_pack_factor",
    "boil_retention_large_fraction",
    "boil_retention_measured_fraction",
}
"""Entries that are choices for a quantity of another name; their notes say which."""


def test_every_shipped_prior_is_well_formed():
    priors = load_priors()
    faults = [
        f"{name} {quantity}: {fault}"
        for kind, name, quantity, table in priors.tables()
        for fault in faults_of(kind, quantity, table, priors.sources)
    ]

    assert faults == []
    assert sum(1 for _ in priors.tables()) > 400


def test_every_shipped_prior_has_a_grade_and_says_where_it_comes_from():
    priors = load_priors()
    for prior in priors.everything():
        where = priors.source_text(prior.source)

        assert prior.grade in GRADES, prior.quantity
        assert prior.source in priors.sources or prior.source in NO_SOURCE, prior.quantity
        assert len(where) > 5, prior.quantity
        if prior.grade in ("published", "secondary"):
            assert prior.source in priors.sources, prior.quantity


def test_every_source_is_cited_by_a_prior_or_named_in_a_note():
    priors = load_priors()
    cited = {prior.source for prior in priors.everything()}
    notes = " ".join(str(table.get("note")) for _, _, _, table in priors.tables())
    idle = [key for key in priors.sources if key not in cited and key not in notes]

    assert idle == []


def test_a_scalar_prior_names_an_input_of_the_beer():
    known = set(beer_graph(VARIANTS).inputs)
    for variant in ("usual", "batch_sparge", "no_sparge", "continuous_sparge"):
        known |= set(beer_graph(VARIANTS | {"mash_efficiency_fraction": variant}).inputs)
    strangers = set(load_priors().scalars) - known - BORROWED

    assert sorted(strangers) == []


@pytest.mark.parametrize(
    ("kind", "axis"), [("malt", "malt"), ("hop_lot", "hop_lot"), ("precursor", "precursor")]
)
def test_an_ingredients_tables_name_inputs_of_its_list(kind, axis):
    graph, priors = beer_graph(VARIANTS), load_priors()
    known = {n.removeprefix(f"{axis}_") for n, i in graph.inputs.items() if i.axes == (axis,)}
    for name in priors.names(kind):
        strangers = set(priors.find(kind, name).tables) - known

        assert strangers == set(), name


@pytest.mark.parametrize(
    "word", ["Hersbrucker Spät", "hersbrucker spat", "HERSBRUCKER  SPÄT", "Hersbrucker Spa\u0308t"]
)
def test_an_ingredient_is_found_whatever_the_case_and_accents(word):
    found = load_priors().find("hop_lot", word)

    assert found is not None
    assert found.name == "Hersbrucker Spät"


def test_an_alias_finds_the_same_ingredient_and_a_near_miss_is_suggested():
    priors = load_priors()
    aliased = next(i for i in priors.ingredients["malt"].values() if i.aliases)

    assert priors.find("malt", aliased.aliases[0].upper()) is aliased
    assert "Hersbrucker Spät" in priors.hint("hop_lot", "Hersbruker Spat")
    assert priors.find("hop_lot", "Hersbruker Spat") is None
    assert priors.hint("hop_lot", "xyzzy") == ""


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"grade": "certain"}, "grade"),
        ({"source": "nobody-1900"}, "sources.toml"),
        ({"unit": "g/L"}, "unit"),
        ({"kinds": {"knowledge": 0.7, "batch": 0.2}}, "sum to 1"),
        ({"kinds": {"weather": 1.0}}, "kinds|weather"),
        ({"family": "cauchy"}, "family"),
        ({"log_sd": -0.1}, "log"),
        ({"family": "normal", "mean": 1.0, "sd": 0.5}, "negative"),
        ({"median": None}, "median"),
    ],
)
def test_a_prior_that_is_wrong_says_what_is_wrong(change, told):
    table = {k: v for k, v in (GOOD | change).items() if v is not None}
    faults = " ".join(faults_of("", "grain_absorption_l_kg", table, {}))

    assert any(word in faults for word in told.split("|")), faults
    assert list(faults_of("", "grain_absorption_l_kg", GOOD, {})) == []


def test_a_share_above_one_is_refused_unless_it_is_cut_there():
    table = GOOD | {"median": 0.9, "log_sd": 0.1, "unit": ""}
    kept = table | {"upper": 1.0}

    assert "share" in " ".join(faults_of("", "trub_fraction", table, {}))
    assert list(faults_of("", "trub_fraction", kept, {})) == []


def test_a_precursors_content_must_say_what_it_counts():
    table = GOOD | {"unit": "µg/kg"}

    assert "basis" in " ".join(faults_of("precursor", "content_ug_kg", table, {}))
    assert list(faults_of("precursor", "content_ug_kg", table | {"basis": "conjugate"}, {})) == []


@pytest.mark.parametrize(
    ("table", "median", "high"),
    [
        ({"family": "normal", "mean": 2.0, "sd": 0.5}, 2.0, 2.0 + 0.5 * 1.6448536),
        ({"family": "lognormal", "median": 3.0, "gsd": 2.0}, 3.0, 3.0 * 2.0**1.6448536),
        ({"family": "lognormal", "median": 3.0, "log_sd": 0.2}, 3.0, 3.0 * math.exp(0.32897073)),
        ({"family": "uniform", "low": 1.0, "high": 3.0}, 2.0, 2.9),
        ({"family": "triangular", "low": 0.0, "mode": 1.0, "high": 2.0}, 1.0, 2 - math.sqrt(0.1)),
        ({"family": "beta", "a": 1.0, "b": 1.0}, 0.5, 0.95),
        ({"family": "beta", "mean": 0.5, "sd": 1 / math.sqrt(12)}, 0.5, 0.95),
        ({"family": "gamma", "shape": 1.0, "scale": 2.0}, 2 * math.log(2), 2 * math.log(20)),
        ({"family": "half_normal", "sd": 0.1}, 0.06744898, 0.19599640),
        ({"family": "arcsine", "low": -1.0, "high": 1.0}, 0.0, math.sin(0.45 * math.pi)),
        ({"family": "constant", "value": 7.0}, 7.0, 7.0),
    ],
)
def test_a_table_states_the_distribution_it_names(table, median, high):
    """Closed forms of the quantile functions."""
    made = to_distribution(table)

    assert made.median == pytest.approx(median, rel=1e-6)
    assert made.quantile(np.array([0.95]))[0] == pytest.approx(high, rel=1e-6)


def test_limits_cut_a_distribution_off():
    made = to_distribution({"family": "normal", "mean": 0.0, "sd": 1.0, "lower": 0.0})

    assert made.support[0] == 0.0
    assert made.median == pytest.approx(0.67448975, rel=1e-6)


OWN = """
[grain_absorption_l_kg]
family = "lognormal"
median = 0.8
log_sd = 0.05
unit = "L/kg"
kinds = { knowledge = 1.0 }
grade = "common practice"
source = "our-kettle"

[sources.our-kettle]
text = "measured in this brewhouse"

[hop."Fuggle".linalool_mg_kg]
family = "lognormal"
median = 11.0
log_sd = 0.1
unit = "mg/kg"
kinds = { lot = 1.0 }
grade = "common practice"
source = "our-kettle"
"""


def test_a_brewerys_own_file_goes_over_the_shipped_numbers_key_by_key(tmp_path):
    path = tmp_path / "own.toml"
    path.write_text(OWN, encoding="utf-8")
    own, shipped = load_priors(path), load_priors()
    fuggle, before = own.find("hop_lot", "fuggle"), shipped.find("hop_lot", "fuggle")

    assert own.scalar("grain_absorption_l_kg").value == pytest.approx(0.8)
    assert own.source_text("our-kettle") == "measured in this brewhouse"
    assert own.of(fuggle, "linalool_mg_kg").value == pytest.approx(11.0)
    assert set(fuggle.tables) == set(before.tables) | {"linalool_mg_kg"}
    assert own.of(fuggle, "geraniol_mg_kg") == shipped.of(before, "geraniol_mg_kg")
    assert own.scalar("trub_fraction").value == shipped.scalar("trub_fraction").value
    assert shipped.scalar("grain_absorption_l_kg").value != pytest.approx(0.8)


def test_every_fault_of_an_own_file_comes_in_one_error(tmp_path):
    path = tmp_path / "own.toml"
    path.write_text(
        OWN.replace('unit = "L/kg"', 'unit = "L"').replace("{ lot = 1.0 }", "{ lot = 0.5 }"),
        encoding="utf-8",
    )
    with pytest.raises(InputError) as caught:
        load_priors(path)

    assert len(caught.value.faults) == 2
    assert "grain_absorption_l_kg" in str(caught.value)
    assert "Fuggle" in str(caught.value)


def test_an_own_file_that_is_not_toml_is_an_input_error(tmp_path):
    path = tmp_path / "own.toml"
    path.write_text("grain = = 3", encoding="utf-8")

    with pytest.raises(InputError, match="not TOML"):
        load_priors(path)


def test_folding_a_name_leaves_letters_only_in_one_case():
    assert folded("  Spät  LESE ") == "spat lese"


def test_what_an_own_yeast_does_not_say_is_the_default_yeasts(tmp_path, written):
    table = {"family": "normal", "mean": 0.8, "sd": 0.02, "unit": "", "kinds": {"knowledge": 1.0}}
    table |= {"grade": "assumption", "source": "assumption"}
    lines = "".join(f"{key} = {_toml(value)}\n" for key, value in table.items())
    path = tmp_path / "own.toml"
    path.write_text(f'[yeast."House yeast".strain_attenuation_fraction]\n{lines}')
    recipe = written(('"clean ale yeast"', '"House yeast"'))

    problem = pose(recipe, priors=load_priors(path))

    assert problem.factor("strain_attenuation_fraction").distribution.median == pytest.approx(0.8)
    assert (
        problem.fixed["fermentation_temperature_c"]
        == pose(written()).fixed["fermentation_temperature_c"]
    )


def _toml(value):
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {part}" for key, part in value.items()) + " }"
    return f'"{value}"' if isinstance(value, str) else value


def test_a_python_user_may_name_the_file_of_own_priors(written, tmp_path):
    own = tmp_path / "own.toml"
    own.write_text(
        '[wort_ph]\nfamily = "normal"\nmean = 5.0\nsd = 0.01\nunit = "pH"\n'
        'kinds = { batch = 1.0 }\ngrade = "assumption"\nsource = "assumption"\n'
    )

    assert pose(written(), priors=own).factor("wort_ph").distribution.median == 5.0
    assert pose(written(), priors=str(own)).factor("wort_ph").distribution.median == 5.0
