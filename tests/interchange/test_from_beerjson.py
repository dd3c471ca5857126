"""Documents of the interchange standard become recipes: each feature once, nothing unsaid."""

import copy
import json
from pathlib import Path

import pytest

from brewsim.beer.pose import posed
from brewsim.errors import InputError
from brewsim.interchange.from_beerjson import import_beerjson
from brewsim.recipe.read import parse_recipe
from tests.interchange.standard import DOCUMENTS, faults_of_schema

NAMES = sorted(path.stem for path in DOCUMENTS.glob("*.json"))


def document(name):
    return json.loads((DOCUMENTS / f"{name}.json").read_text(encoding="utf-8"))


def imported(name, which=""):
    return import_beerjson(DOCUMENTS / f"{name}.json", which)


def changed(tmp_path, name, change):
    """Import a document after a change of its first recipe."""
    content = copy.deepcopy(document(name))
    change(content["beerjson"]["recipes"][0])
    path = tmp_path / "changed.json"
    path.write_text(json.dumps(content), encoding="utf-8")
    return import_beerjson(path)


def test_there_are_fifteen_documents():
    assert len(NAMES) == 15


@pytest.mark.parametrize("name", NAMES)
def test_document_is_valid_and_becomes_a_recipe_that_can_be_brewed(name):
    assert faults_of_schema(document(name)) == []

    found = imported(name, "2" if name == "two-recipes" else "")

    problem, _rows = posed(parse_recipe(found.text))
    assert problem.name == found.name
    assert "original_gravity_sg" in problem.graph


@pytest.mark.parametrize(
    ("name", "lines"),
    [
        (
            "american-units",
            ['volume = "5.5 US gal"', 'mash = "152 °F for 60 min"', 'color = "2 SRM"'],
        ),
        ("potentials", ['extract = "81.1513 %"  # potential 1.0375', 'extract = "79.5 %"']),
        (
            "hop-times",
            [
                'when = "mash"',
                'when = "boil 45 min"',
                'when = "flameout"',
                'when = "whirlpool 25 min at 80 °C"',
                'when = "dry hop day 5 for 4 days at 16 °C"',
                'form = "cone"',
            ],
        ),
        ("first-wort", ['when = "first wort"', 'boil = "70 min"']),
        ("extract", ['name = "Dry malt extract"', 'when = "late"', 'color = "8 EBC"']),
        (
            "mash-steps",
            ['mash = ["52 °C for 15 min", "63 °C for 45 min", "72 °C for 20 min"]'],
        ),
        ("cultures", ['attenuation = "73 to 79 %"', 'diastatic = "no"']),
        (
            "equipment",
            [
                'dead_space = "1.5 L"',
                'trub_loss = "4.761904762 %"',
                'evaporation = "3.5 L/h"',
                'fermenter_loss = "4 %"',
                'grain_absorption_l_kg = "1 L/kg"',
            ],
        ),
        ("bottles", ['container = "bottle"', 'carbonation = "2.4 vol"']),
        ("powder", ["[[precursor]]", 'when = "fermentation day 2"']),
        ("efficiency", ['efficiency = "80.75 %"', 'attenuation = "76 %"']),
        ("left-out", ['notes = "Second line, with “quotes” and \\\\ and \\"more\\"."']),
    ],
)
def test_what_a_document_says_stands_in_the_recipe(name, lines):
    text = imported(name).text

    assert [line for line in lines if line not in text] == []


def test_what_is_left_out_of_the_beer_stands_in_the_head_with_its_reason():
    found = imported("left-out")
    gone = [item for item in found.left if item.startswith("LEFT OUT OF THE BEER")]

    assert [item.split(": ")[1] for item in gone] == [
        "Cherries",
        "Juice by volume",
        "Hop extract",
        "Glacier",
    ]
    assert all(item.split(": ", 1)[1][:40] in found.text for item in gone)


def test_names_of_makers_are_text_and_choose_no_prior():
    found = imported("makers")
    rows = {row.what: row for row in posed(parse_recipe(found.text))[1]}

    assert "Inventa Maltings" in "".join(found.left)
    assert "Inventa Yeast" not in found.text.split("[yeast]")[1]
    assert 'name = "clean ale yeast"  # assumed for “Inventa 05”' in found.text
    assert not [what for what in rows if "Inventa" in what]


def test_a_range_of_alpha_acids_becomes_a_phrase(tmp_path):
    def ranged(recipe):
        ends = {"minimum": {"unit": "%", "value": 8.0}, "maximum": {"unit": "%", "value": 9.4}}
        recipe["ingredients"]["hop_additions"][0]["alpha_acid"] = ends

    assert 'alpha = "8 to 9.4 %"' in changed(tmp_path, "bottles", ranged).text


def test_several_recipes_are_chosen_by_name_or_number():
    with pytest.raises(InputError, match="choose with --recipe: 1 “First of two”, 2 “Second"):
        imported("two-recipes")

    assert imported("two-recipes", "First of two").name == "First of two"
    assert imported("two-recipes", "2").name == "Second of two"


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (lambda r: r.pop("batch_size"), "batch_size: is missing"),
        (lambda r: r.update(batch_size={"unit": "hl", "value": 2}), "unit: is “hl”; here"),
        (lambda r: r.update(batch_size={"unit": "l"}), "batch_size.value: is missing"),
        (lambda r: r.update(batch_size={"unit": "l", "value": "20"}), "value: is no number"),
        (lambda r: r.update(batch_size={"unit": "l", "value": True}), "value: is no number"),
        (lambda r: r.update(batch_size=20), "batch_size: is no object"),
        (lambda r: r.update(type="cider"), "type: is “cider”; brewsim reads recipes of beer"),
        (lambda r: r.update(ingredients=[]), "ingredients: is no object"),
        (lambda r: r.update(ingredients={}), "holds no malt, sugar or extract by weight"),
        (lambda r: r["ingredients"].update(hop_additions={}), "hop_additions: is no list"),
        (lambda r: r["ingredients"].update(hop_additions=[3]), "hop_additions[0]: is no object"),
        (lambda r: r["ingredients"]["hop_additions"][0].pop("timing"), "timing: is missing"),
        (
            lambda r: r["ingredients"]["hop_additions"][0].update(name="Ours", alpha_acid=None),
            "alpha_acid: is missing",
        ),
        (
            lambda r: r["ingredients"]["hop_additions"][0]["alpha_acid"].update(value=45),
            "hop_additions[0].alpha_acid: ",
        ),
        (
            lambda r: r["ingredients"]["hop_additions"][0]["timing"].update(use="add_to_glass"),
            "use: is “add_to_glass”",
        ),
        (
            lambda r: r["ingredients"]["fermentable_additions"][0]["amount"].update(unit="C"),
            "unit: is “C”; here it is one of mg, g, kg, lb, oz",
        ),
    ],
)
def test_a_fault_is_told_at_its_path_in_the_document(tmp_path, change, told):
    with pytest.raises(InputError) as fault:
        changed(tmp_path, "bottles", change)

    assert told in str(fault.value)
    assert "Traceback" not in str(fault.value)


def test_faults_come_all_at_once(tmp_path):
    def two(recipe):
        recipe.pop("batch_size")
        recipe["ingredients"]["hop_additions"][0].pop("timing")

    with pytest.raises(InputError) as fault:
        changed(tmp_path, "bottles", two)

    assert len(fault.value.faults) == 2


def test_a_library_without_a_recipe_says_what_it_holds(tmp_path):
    path = tmp_path / "hops.json"
    path.write_text('{"beerjson": {"version": 1, "hop_varieties": []}}', encoding="utf-8")

    with pytest.raises(InputError, match="holds no recipe; it has hop_varieties"):
        import_beerjson(path)


def test_a_later_version_is_said(tmp_path):
    content = document("bottles")
    content["beerjson"]["version"] = 2.06
    path = Path(tmp_path / "later.json")
    path.write_text(json.dumps(content), encoding="utf-8")

    assert "of version 2.06; it was read as version 1" in import_beerjson(path).text
