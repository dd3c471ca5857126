"""The reference is made from the formulas and priors themselves, so it cannot fall behind."""

import pytest

from brewsim.beer.glossary import entries, prior_rows
from brewsim.beer_graph import module_of, stage_modules
from brewsim.errors import InputError
from brewsim.graph.build import formulas_in, inputs_in
from brewsim.priors.library import load_priors

MODULES = [module_of(stage) for stage in stage_modules()]


def test_every_formula_and_input_is_in_the_glossary_once_and_in_words():
    found = entries()
    names = [entry.name for entry in found]
    formulas = [formula.__name__ for formula in formulas_in(*MODULES)]

    assert sorted(names) == sorted([*formulas, *inputs_in(*MODULES)])
    assert all(entry.label and entry.source and entry.stage for entry in found)


def test_the_glossary_follows_the_brew_day():
    stages = list(dict.fromkeys(entry.stage for entry in entries()))

    assert stages.index("mash") < stages.index("boil") < stages.index("bitterness")
    assert stages.index("fermentation") < stages.index("packaging") < stages.index("sensory")


def test_a_prior_is_told_in_shown_units_with_its_source():
    (row,) = prior_rows("trub_fraction")
    prior = load_priors().scalar("trub_fraction")

    assert row["unit"] == "%"
    assert row["middle"] == pytest.approx(100 * prior.value)
    assert "nine in ten between" in row["spread"]
    assert row["grade"] == prior.grade


def test_an_ingredients_priors_are_found_by_alias_and_all_priors_without_a_name():
    by_name = prior_rows("grape-derived precursor powder")

    assert by_name
    assert prior_rows("grape-derived powder") == by_name
    assert len(prior_rows("")) == len(list(load_priors().everything()))


def test_a_prior_nobody_knows_is_refused_with_a_near_miss():
    with pytest.raises(InputError, match="trub_fraction"):
        prior_rows("trub_fractoin")


def test_an_own_file_is_what_the_reference_shows(tmp_path):
    path = tmp_path / "own.toml"
    path.write_text(
        '[trub_fraction]\nfamily = "constant"\nvalue = 0.08\nunit = ""\n'
        'kinds = { batch = 1.0 }\ngrade = "assumption"\nsource = "assumption"\n',
        encoding="utf-8",
    )

    assert prior_rows("trub_fraction", path)[0]["middle"] == pytest.approx(8.0)
