"""The recipe's models, and their description for editors."""

import json

import pytest
from pydantic import ValidationError

from brewsim.recipe.read import parse_recipe
from brewsim.recipe.schema import Hop, Recipe, recipe_schema
from brewsim.recipe.starter import starter_recipe


def test_the_json_schema_lists_every_key_and_allows_no_other():
    schema = recipe_schema()
    hop = schema["$defs"]["Hop"]

    assert json.loads(json.dumps(schema)) == schema
    assert schema["additionalProperties"] is False
    assert {"name", "volume", "malt", "hop", "yeast", "targets", "knobs"} <= set(
        schema["properties"]
    )
    assert schema["required"] == ["name", "volume", "boil"]
    assert set(hop["required"]) == {"variety", "when"}
    assert hop["properties"]["form"]["enum"] == ["pellet", "cone"]
    assert hop["properties"]["alpha"]["anyOf"][0]["examples"] == ["5.6 %"]


def test_the_json_schema_shows_no_key_that_a_person_cannot_write():
    text = json.dumps(recipe_schema())

    assert "__" not in text
    assert "null" not in text
    assert {"type": "string"} in recipe_schema()["properties"]["hop"]["items"]["anyOf"]


def test_a_recipe_can_be_built_in_python():
    recipe = Recipe.model_validate(
        {
            "name": "x",
            "volume": "5 US gal",
            "boil": "60 min",
            "malt": [{"name": "Pilsner malt", "mass": "9 lb"}],
        }
    )

    assert recipe.volume.value == pytest.approx(18.927, abs=1e-3)
    assert recipe.malt[0].mass.text == "9 lb"


def test_a_recipe_cannot_be_changed():
    recipe = parse_recipe(starter_recipe())
    with pytest.raises(ValidationError, match="frozen"):
        recipe.name = "other"


def test_values_that_mean_the_same_are_equal_whatever_their_line():
    row = {"variety": "Fuggle", "when": "boil 60 min", "alpha": "5 %"}

    assert Hop.model_validate(row | {"mass": "1 oz (28 g)"}) == Hop.model_validate(
        row | {"mass": "1oz.", "when": "@ 60"}
    )


def test_rows_keep_what_else_is_stated_of_them():
    hop = Hop.model_validate(
        {
            "variety": "Fuggle",
            "when": "mash",
            "mass": "3 g",
            "given": {"linalool_mg_kg": "40 ppm within a factor 2"},
        }
    )
    stated = hop.given["linalool_mg_kg"]

    assert (stated.value, stated.phrase.factor, stated.model_unit) == (40, 2, "mg/kg")
