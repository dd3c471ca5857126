"""Recipes become documents of the standard: valid, the same medians back, losses named."""

import io
import json
import sys

import pytest

from brewsim.interchange.from_beerjson import import_beerjson
from brewsim.interchange.to_beerjson import export_beerjson
from brewsim.recipe.read import parse_recipe, read_recipe
from tests.door import DEMOS
from tests.door import brewsim as command
from tests.interchange.standard import DOCUMENTS, faults_of_schema
from tests.small_recipe import medians_of

OWN = """
name = "There and back"
volume = "5.5 US gal"
boil = "75 min"
efficiency = "70 ± 3 %"
efficiency_of = "fermenter"
mash = "152 °F"

[[malt]]
name = "British pale ale malt"
mass = "9 lb"

[[malt]]
name = "Crystal malt 60"
mass = "0.75 lb"
color = "110 to 130 EBC"

[[sugar]]
name = "Sucrose"
mass = "0.5 lb"
when = "late"

[[hop]]
variety = "Challenger"
alpha = "7.0 to 7.8 %"
mass = "0.9 oz"
when = "boil 60 min"

[[hop]]
variety = "Fuggle"
rate = "1.5 g/L"
when = "whirlpool 20 min at 80 °C"

[[hop]]
variety = "Fuggle"
rate = "2 g/L"
when = "dry hop day 3 for 36 h at 16 °C"

[yeast]
name = "English ale yeast"
attenuation = "70 to 76 %"
temperature = "66 °F"

[brewhouse]
evaporation = "0.8 US gal/h"
trub_loss = "6 %"
"""
SAME = (
    "original_extract_plato",
    "final_extract_plato",
    "alcohol_by_volume_fraction",
    "bitterness_ibu",
    "beer_color_srm",
)


def there_and_back(recipe, tmp_path):
    document, _lost = export_beerjson(recipe)
    path = tmp_path / "there.json"
    path.write_text(json.dumps(document, ensure_ascii=False), encoding="utf-8")
    assert faults_of_schema(json.loads(path.read_text(encoding="utf-8"))) == []
    return parse_recipe(import_beerjson(path).text)


@pytest.mark.parametrize("name", ["own", "lager", "bitter"])
def test_a_recipe_there_and_back_has_the_same_medians(name, tmp_path):
    text = OWN if name == "own" else (DEMOS / f"quillhaven-{name}.toml").read_text("utf-8")
    lost = ("storage ", "warmest ")  # the standard has no place for them, as a test below holds
    recipe = parse_recipe("\n".join(t for t in text.splitlines() if not t.startswith(lost)))

    before, after = medians_of(recipe, SAME), medians_of(there_and_back(recipe, tmp_path), SAME)

    assert after == pytest.approx(before, rel=1e-6)


@pytest.mark.parametrize("path", sorted(DOCUMENTS.glob("*.json")), ids=lambda p: p.stem)
def test_a_document_there_and_back_has_the_same_medians(path, tmp_path):
    which = "1" if path.stem == "two-recipes" else ""
    recipe = parse_recipe(import_beerjson(path, which).text)

    document, lost = export_beerjson(recipe)

    assert faults_of_schema(document) == []
    again = there_and_back(recipe, tmp_path)
    assert {"hop 1, East Kent Golding: first wort; written as boiled all the way"} & set(lost) or (
        medians_of(again, SAME) == pytest.approx(medians_of(recipe, SAME), rel=1e-5)
    )


def test_spreads_and_losses_stand_in_the_notes():
    document, lost = export_beerjson(parse_recipe(OWN))
    notes = document["beerjson"]["recipes"][0]["notes"]

    assert "hop 1, Challenger, alpha: 7.0 to 7.8 %" in notes
    assert "efficiency: 70 ± 3 %" in notes
    assert lost == ()


def test_losses_are_named():
    _document, lost = export_beerjson(read_recipe(DEMOS / "quillhaven-pale.toml"))

    assert "targets: alcohol, bitterness, hop_aroma_activity" in lost
    assert "hop 1, Galena: age" in lost
    assert "package: storage (3 weeks at 4 °C)" in lost


@pytest.mark.slow
def test_a_newcomer_gets_from_a_document_to_a_page_in_three_commands(tmp_path):
    source = DOCUMENTS / "american-units.json"

    first = command("new", "--from", source, folder=tmp_path)
    second = command("check", "american-units.toml", folder=tmp_path)
    third = command("report", "american-units.toml", "--draws", "1024", folder=tmp_path)

    assert [done.code for done in (first, second, third)] == [0, 0, 0]
    assert "left out: water of “rest”" in first.out
    assert (tmp_path / "american-units.html").stat().st_size > 100_000


def test_export_and_new_write_to_the_terminal_and_over_nothing(tmp_path):
    lager = DEMOS / "quillhaven-lager.toml"
    told = command("export", lager, "--out", "-", folder=tmp_path)
    (tmp_path / "there.json").write_text(told.out, encoding="utf-8")
    back = command("new", "--from", "there.json", "--out", "-", folder=tmp_path)
    (tmp_path / "back.toml").write_text(back.out, encoding="utf-8")

    assert command("check", "back.toml", folder=tmp_path).code == 0
    assert command("new", "--from", "there.json", "--out", "back.toml", folder=tmp_path).code == 2
    assert command("export", lager, "--out", lager, folder=tmp_path).code == 2
    assert command("export", lager, "--out", "back.toml", folder=tmp_path).code == 2
    assert (tmp_path / "back.toml").read_text(encoding="utf-8") == back.out


def test_a_document_and_a_recipe_are_read_from_standard_input(tmp_path, monkeypatch):
    def given(path):
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(path.read_bytes()), "utf-8"))

    given(DOCUMENTS / "bottles.json")
    first = command("new", "--from", "-", folder=tmp_path)
    given(tmp_path / "bottles.toml")
    second = command("export", "-", folder=tmp_path)

    assert (first.code, second.code) == (0, 0)
    assert "document of standard input" in (tmp_path / "bottles.toml").read_text("utf-8")
    assert (tmp_path / "recipe.beerjson.json").exists()
    assert "not stated" not in first.out


def test_new_without_a_name_says_what_to_write(tmp_path):
    done = command("new", folder=tmp_path)

    assert done.code == 2
    assert 'brewsim new "My pale ale"' in done.err
