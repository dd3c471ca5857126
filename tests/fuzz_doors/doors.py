"""One input of every door: which files it is, and which commands are run on them."""

import copy
import json
import re
import tomllib
from functools import cache
from typing import NamedTuple

from brewsim.beer.pose import posed
from brewsim.quantities.catalogue import OUTCOMES
from brewsim.quantities.dimensions import model_unit_of
from brewsim.recipe.read import parse_recipe
from brewsim.study.model.sampling import at_medians
from tests.door import DEMOS, ROOT
from tests.fuzz_doors.values import number, phrase, quantity_value, recipe_keys

ROWS = ("malt", "sugar", "hop", "precursor")
CHEAP = ("simulate", "trace", "export", "card", "relot", "turn", "midway", "compare", "json")
HEAVY = ("rank", "steer", "specify", "report")
HEAVY_SHARE = 0.02
KNOBS = (
    *("hop 1 mass", "malt 1 mass", "precursor 1 dose", "mash", "boil", "sugar 1 mass", "volume"),
    *("hop 1 minutes", "fermentation temperature", "yeast name", "carbonation"),
)
WISHES = (
    *("half of G1", "0 times G1", "1000x G1", "just right", "as G1", "at least 0 g", ""),
    *("at most 1e9 g", "-1x G1", "half of half", "0.5 to 2 of G1"),
)
EVERYTHING = """
name = "Everything"
volume = "20 L"
boil = "60 min"
efficiency = "75 %"
mash = ["63 °C for 40 min", "72 °C for 20 min"]
wort_ph = "5.3"
brewed = "2026-03-01"
notes = "all keys"
[[malt]]
name = "Pilsner malt"
mass = "4 kg"
extract = "81 %"
moisture = "4 %"
color = "3 EBC"
lot = "M1"
[[malt]]
name = "Crystal malt 60"
mass = "0.3 kg"
color = ["110 EBC", "121 EBC", "118 EBC", "115 EBC"]
[[sugar]]
name = "Sucrose"
mass = "0.3 kg"
when = "late"
[[hop]]
variety = "Northern Brewer"
alpha = "8.5 %"
mass = "20 g"
when = "boil 60 min"
age = "8 months"
storage = "4 °C"
wrap = "vacuum"
[[hop]]
variety = "Fuggle"
lot = "F24"
form = "cone"
rate = "1.5 g/L"
when = "dry hop day 3 for 4 days at 16 °C"
[[hop]]
variety = "Centennial"
mass = "30 g"
when = "whirlpool 20 min at 80 °C"
[[precursor]]
name = "grape-derived powder"
dose = "2 g/L"
when = "whirlpool"
content = "1.2 mg/kg"
basis = "conjugate"
[yeast]
name = "beta-lyase-active lager yeast"
attenuation = "76 to 82 %"
temperature = "12 °C"
[brewhouse]
evaporation = "3 L/h"
trub_loss = "5 %"
fermenter_loss = "4 %"
altitude = "300 m"
chill = "20 min"
[water]
mash = "14 L"
[package]
container = "bottle"
rating = "3.5 vol"
priming = "6 g/L glucose"
storage = "6 weeks at 12 °C"
[targets]
alcohol = "4.5 to 5.5 %"
bitterness = "20 to 40 IBU"
thiol_lead = "-1 to 1"
[knobs]
"hop 1 mass" = "0 to 40 g"
mash = "62 to 70 °C"
"""
PLAIN = """
name = "Plain"
volume = "600 L"
boil = "75 min"
[[sugar]]
name = "Dry malt extract"
mass = "60 kg"
[[hop]]
variety = "Challenger"
mass = "500 g"
when = "boil 60 min"
"""


class Case(NamedTuple):
    """Files by name, and the commands to run on them in turn."""

    door: str
    files: dict
    commands: tuple


@cache
def bases():
    """Return recipes as tables, by name."""
    texts = {path.stem: path.read_text("utf-8") for path in sorted(DEMOS.glob("*.toml"))}
    found = {name: tomllib.loads(t) for name, t in texts.items() if "volume" in tomllib.loads(t)}
    return found | {"everything": tomllib.loads(EVERYTHING), "plain": tomllib.loads(PLAIN)}


@cache
def usual_values(name):
    """Return what every quantity of a base recipe is at its medians: name -> number."""
    problem, _ = posed(parse_recipe(toml(bases()[name])))
    return {q: float(v.ravel()[0]) for q, v in at_medians(problem, problem.graph).items() if v.size}


def toml(content):
    """Return a table as TOML."""
    return "\n".join(_lines(content, ""))


def _lines(content, head):
    plain = {k: v for k, v in content.items() if not _is_table(v)}
    for key, value in plain.items():
        yield f"{_quoted(key)} = {_value(value)}"
    for key, value in content.items():
        inner = f"{head}.{_quoted(key)}" if head else _quoted(key)
        if isinstance(value, dict):
            yield f"[{inner}]"
            yield from _lines(value, inner)
        elif _is_table(value):
            for row in value:
                yield f"[[{inner}]]"
                yield from _lines(row, inner)


def _is_table(value):
    return isinstance(value, dict) or (
        isinstance(value, list) and bool(value) and all(isinstance(row, dict) for row in value)
    )


def _quoted(key):
    return key if re.fullmatch(r"[A-Za-z0-9_]+", key) else json.dumps(key, ensure_ascii=False)


def _value(value):
    if isinstance(value, list):
        return "[" + ", ".join(_value(item) for item in value) + "]"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{_quoted(k)} = {_value(v)}" for k, v in value.items()) + "}"
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False)
    return str(value)


def recipe_case(chance):
    """A recipe with one or two of its values changed, and commands on it."""
    name = chance.choice(sorted(bases()))
    recipe = copy.deepcopy(bases()[name])
    for _ in range(chance.choice([1, 1, 2, 2, 3])):
        chance.choice([_key, _key, _key, _given, _row_given, _prior, _target, _knob, _wish])(
            chance, recipe, name
        )
    commands = [["check", "r.toml"], _command(chance, recipe, name)]
    return Case("recipe", {"r.toml": toml(recipe)}, tuple(commands))


def _key(chance, recipe, _name):
    key = chance.choice(recipe_keys())
    if key.table in ROWS:
        rows = recipe.setdefault(key.table, [])
        if not isinstance(rows, list) or not rows or not isinstance(rows[0], dict):
            return
        table = chance.choice(rows)
    else:
        table = recipe.setdefault(key.table, {}) if key.table else recipe
    value = key.value(chance)
    if value is None:
        table.pop(key.name, None)
    else:
        table[key.name] = value


def _stated(chance, name, keep=lambda _quantity: True):
    usual = usual_values(name)
    quantity = chance.choice([q for q in sorted(usual) if keep(q)])
    return quantity, quantity_value(chance, usual[quantity], model_unit_of(quantity) or "")


def _given(chance, recipe, name):
    quantity, value = _stated(chance, name)
    recipe.setdefault("given", {})[quantity] = value


def _row_given(chance, recipe, name):
    kind = chance.choice(ROWS)
    rows = [row for row in recipe.get(kind, []) if isinstance(row, dict)]
    names = [q for q in usual_values(name) if q.startswith(f"{kind}_")]
    if rows and names:
        quantity, value = _stated(chance, name, lambda q: q in names)
        chance.choice(rows).setdefault("given", {})[quantity.removeprefix(f"{kind}_")] = value


def _prior(chance, recipe, name):
    quantity, value = _stated(chance, name)
    recipe.setdefault("priors", {})[quantity] = value


def _target(chance, recipe, name):
    outcome = chance.choice(sorted(OUTCOMES))
    quantity = OUTCOMES[outcome].quantity
    usual = usual_values(name).get(quantity, 1.0)
    unit = model_unit_of(quantity) or ""
    told = phrase(chance, [0.0, usual, usual * 1.001, usual * 1e3, -usual], usual, unit)
    recipe.setdefault("targets", {})[outcome] = told


def _knob(chance, recipe, _name):
    knobs = recipe.setdefault("knobs", {})
    name = chance.choice([*knobs, *KNOBS])
    low, high = (chance.choice([0, 1e-9, 1, 10, 60, 66, 1e3, 1e8, -5]) for _ in range(2))
    unit = chance.choice(["g", "kg", "°C", "min", "g/L", "", "%"])
    step = chance.choice(["", "", f" in steps of {number(chance.choice([0, 1, 5, 1e9]))} {unit}"])
    knobs[name] = f"{number(low)} to {number(high)} {unit}{step}"


def _wish(chance, recipe, _name):
    table = chance.choice(["wish", "hold", "limits"])
    key = chance.choice(["thiols", "hops", "bitterness", "alcohol", "hop 1 mass", "é"])
    value = chance.choice(WISHES)
    recipe.setdefault(table, {})[key] = value


def _command(chance, recipe, name):
    heavy = chance.random() < HEAVY_SHARE
    command = chance.choice(HEAVY if heavy else CHEAP)
    knobs = [*recipe.get("knobs", {"mash": ""}), "malt 1 mass", "hop 1 mass", "yeast name"]
    few = ["--draws", "64"]
    words = {
        "report": ["--light", "--quiet", "--draws", "256", "--out", "p.html"],
        "trace": [chance.choice(sorted(usual_values(name)))],
        "export": ["--out", "-"],
        "card": ["--out", "c.html"],
        "relot": _other_lot(chance, recipe),
        "turn": [chance.choice(knobs), *few],
        "midway": ["--reading", _reading(chance, name)],
        "compare": [str(ROOT / "demo-recipes/quillhaven-bitter.toml")],
        "simulate": few,
        "json": [*few, "--json"],
    }
    return ["simulate" if command == "json" else command, "r.toml", *words.get(command, [])]


def _other_lot(chance, recipe):
    rows = [h for h in recipe.get("hop", []) if isinstance(h, dict)] or [{"variety": "x"}]
    row = chance.choice(rows)
    lot = str(row.get("lot") or row.get("variety"))
    alpha = chance.choice(["0 %", "1 %", "25 %", "6.5 %", "6 to 7 %", "0.01 %", "26 %"])
    return [f" {lot}" if lot.startswith("-") else lot, "--alpha", alpha]


def _reading(chance, name):
    quantity, value = _stated(chance, name)
    return f"{quantity} = {value if isinstance(value, str) else value[0]}"
