"""Documents as other authors write them: what they mean is read, and a guess is told."""

import copy
import json

import pytest

from brewsim.errors import InputError
from brewsim.interchange.from_beerjson import import_beerjson
from tests.interchange.standard import DOCUMENTS

START = json.loads((DOCUMENTS / "mash-steps.json").read_text(encoding="utf-8"))


def q(unit, value):
    return {"unit": unit, "value": value}


def read(tmp_path, change):
    """Import a document after a change of (recipe, ingredients, whole document)."""
    content = copy.deepcopy(START)
    recipe = content["beerjson"]["recipes"][0]
    change(recipe, recipe["ingredients"], content["beerjson"])
    path = tmp_path / "theirs.json"
    path.write_text(json.dumps(content), encoding="utf-8")
    return import_beerjson(path)


def hop(**timing):
    found = {"name": "Fuggle", "alpha_acid": q("%", 4.6), "amount": q("g", 20)}
    return found | {"timing": {"use": "add_to_boil"} | timing}


def hops(*rows, steps=()):
    def change(recipe, ingredients, _document):
        ingredients["hop_additions"] = list(rows)
        if steps:
            recipe["boil"]["boil_steps"] = list(steps)

    return change


def malts(*rows):
    def change(_recipe, ingredients, _document):
        ingredients["fermentable_additions"] += list(rows)

    return change


def grain(**parts):
    row = {"name": "Our grain", "type": "grain", "color": q("EBC", 5), "amount": q("kg", 1)}
    return row | parts


def mash(*steps):
    def change(recipe, _ingredients, _document):
        keys = ("type", "step_temperature", "step_time")
        rows = [{"name": "step"} | dict(zip(keys, step, strict=True)) for step in steps]
        recipe["mash"]["mash_steps"] = rows

    return change


BOIL = {"name": "boil", "start_temperature": q("C", 100), "end_temperature": q("C", 100)}
COOLED = {"name": "cooled", "start_temperature": q("F", 212), "end_temperature": q("F", 180)}
COOLING = {"name": "cooling", "start_temperature": q("C", 90), "end_temperature": q("C", 70)}


def change_version(_recipe, _ingredients, document):
    document["version"] = "1.0"


def change_recipe(**parts):
    return lambda recipe, _ingredients, _document: recipe.update(parts)


HABITS = {
    "minutes left under time": (
        hops(hop(time=q("min", 60))),
        'when = "boil 60 min"',
        "read as minutes left to boil",
    ),
    "days in the boil": (
        hops(hop(time=q("min", 10080))),
        'when = "dry hop for 7 days"',
        "7 days in the boil; read as a dry hop",
    ),
    "cooled to a stand": (
        hops(hop(step=2, duration=q("min", 20)), steps=(BOIL, COOLED)),
        'when = "whirlpool 20 min at 82.2222 °C"',
        "a stand from 100 to 82.2 °C; read at 82.2 °C",
    ),
    "a stand that cools": (
        hops(hop(step=2, duration=q("min", 30)), steps=(BOIL, COOLING)),
        'when = "whirlpool 30 min at 80 °C"',
        "read at 80 °C",
    ),
    "no alpha acids of a known variety": (
        hops(hop() | {"alpha_acid": None}),
        'variety = "Fuggle"\nmass',
        "its alpha acids are not given; brewsim takes the variety's",
    ),
    "alpha acids of 0": (
        hops(hop() | {"alpha_acid": q("%", 0)}),
        'variety = "Fuggle"\nmass',
        "its alpha acids are given as 0",
    ),
    "alpha acids as a share": (
        hops(hop() | {"alpha_acid": q("%", 0.046)}),
        'alpha = "4.6 %"',
        "alpha_acid: 0.046 % is read as 4.6 %",
    ),
    "an efficiency as a share": (
        change_recipe(efficiency={"brewhouse": q("%", 0.72)}),
        'efficiency = "72 %"',
        "brewhouse: 0.72 % is read as 72 %",
    ),
    "a potential in °P": (
        malts(grain(**{"yield": {"potential": q("plato", 9.25)}})),
        'extract = "79.9209 %"',
        "",
    ),
    "a potential in points": (
        malts(grain(**{"yield": {"potential": q("sg", 37)}})),
        'extract = "80.0692 %"',
        "",
    ),
    "a yield of 0": (
        malts(grain(**{"yield": {"fine_grind": q("%", 0)}})),
        'name = "Our grain"\nmass = "1 kg"\ncolor',
        "fine_grind: 0 % is read as not known",
    ),
    "flakes of type other": (
        malts(grain(type="other", grain_group="flaked")),
        '[[malt]]\nname = "Our grain"',
        "of type other; read as a grain",
    ),
    "a sugar of type other": (
        malts(grain(type="other", name="Lactose")),
        '[[sugar]]\nname = "Lactose"',
        "",
    ),
    "sugar for the fermenter": (
        malts(grain(type="sugar", name="Dextrose", timing={"use": "add_to_fermentation"})),
        'when = "fermenter"',
        "",
    ),
    "an amount of 0": (malts(grain(amount=q("oz", 0))), "its amount is 0", ""),
    "a decoction": (
        mash(("infusion", q("C", 38), q("min", 10)), ("decoction", q("C", 65), q("hr", 1))),
        'mash = ["38 °C for 10 min", "65 °C for 60 min by decoction"]',
        "",
    ),
    "a mash over night": (
        mash(("infusion", q("F", 152), q("hr", 10))),
        'mash = "152 °F for 480 min"',
        "480 min, for 600 min at 152 °F",
    ),
    "souring in the mash": (
        mash(("infusion", q("C", 66), q("min", 60)), ("souring mash", q("C", 46), q("hr", 12))),
        "brewsim follows no souring",
        "",
    ),
    "only a mash-out": (
        mash(("temperature", q("C", 78), q("min", 0))),
        "shorter than 5 min",
        "no rest between 58 and 80 °C; brewsim takes its own",
    ),
    "a carbonation in g/L": (
        change_recipe(carbonation=5.2),
        'carbonation = "2.63 vol"  # assumed: 5.2 g/L',
        "carbonation 5.2: read as g/L",
    ),
    "a temperature in the second step": (
        change_recipe(
            fermentation={
                "name": "f",
                "fermentation_steps": [
                    {"name": "pitching"},
                    {"name": "main", "start_temperature": q("F", 66), "free_rise": True},
                ],
            }
        ),
        'temperature = "66 °F"',
        "",
    ),
    "a version as text": (change_version, "# Every line", ""),
    "markup in a name": (
        change_recipe(name="K&#246;lsch &amp; more &lt;b&gt;"),
        'name = "Kölsch & more <b>"',
        "",
    ),
}


@pytest.mark.parametrize("name", HABITS)
def test_what_another_author_means_is_read_and_a_guess_is_told(name, tmp_path):
    change, line, told = HABITS[name]

    found = read(tmp_path, change)

    assert line in found.text
    assert told in " ".join(found.assumed)


def test_a_fault_across_lines_is_told_at_the_addition(tmp_path):
    with pytest.raises(InputError) as fault:
        read(tmp_path, hops(hop(duration=q("min", 90))))

    assert "hop_additions[0].name: 90 min is longer than the boil of 60 min" in str(fault.value)


def test_a_loss_below_0_is_a_fault_at_its_place(tmp_path):
    def lossy(_recipe, _ingredients, document):
        kettle = {"name": "k", "form": "Brew Kettle", "maximum_volume": q("l", 40)}
        items = [kettle | {"loss": q("l", -20)}]
        document["equipments"] = [{"name": "e", "equipment_items": items}]

    with pytest.raises(InputError, match=r"equipment_items\[0\].loss: is below 0"):
        read(tmp_path, lossy)


def test_a_batch_below_0_is_refused_whatever_the_equipment_loses(tmp_path):
    def below(recipe, _ingredients, document):
        recipe["batch_size"] = q("l", -20)
        kettle = {"name": "k", "form": "Brew Kettle", "maximum_volume": q("l", 40)}
        items = [kettle | {"loss": q("l", 20)}]
        document["equipments"] = [{"name": "e", "equipment_items": items}]

    with pytest.raises(InputError, match="batch_size"):
        read(tmp_path, below)
