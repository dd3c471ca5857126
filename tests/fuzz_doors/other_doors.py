"""Inputs of the other doors: logs, house files, files of priors, interchange documents."""

import copy
import json
import tomllib
from functools import cache
from pathlib import Path

from brewsim.priors.library import load_priors
from brewsim.quantities.catalogue import OUTCOMES
from brewsim.quantities.dimensions import model_unit_of
from tests.door import DEMOS, ROOT
from tests.fuzz_doors.doors import Case, toml, usual_values
from tests.fuzz_doors.values import number, quantity_value
from tests.priors.tables import GOOD

LAGER = str(DEMOS / "quillhaven-lager.toml")
INSTRUMENTS = ("", " by consumer hydrometer", " by lab bitterness", " by volume mark", " by é")
DATES = ("0001-01-01", "2026-02-30", "9999-12-31", "2026-03-14", "14.3.2026", "3/4/2026", "-1")
WORDS = ("far too much", "too much", "just right", "too little", "far too little", "none", "é")
OWN = {
    "grain_absorption_l_kg": GOOD,
    "malt": {
        "Pilsner malt": {
            "moisture_fraction": {
                "family": "beta",
                "mean": 0.04,
                "sd": 0.01,
                "unit": "",
                "kinds": {"lot": 1.0},
                "grade": "assumption",
                "source": "assumption",
            }
        }
    },
    "hop": {"Fuggle": {"aliases": ["Fuggles"]}},
}
FAMILIES = ("normal", "lognormal", "beta", "uniform", "triangular", "fixed", "gamma", "x")
SHAPES = {
    "normal": ("mean", "sd"),
    "lognormal": ("median", "log_sd"),
    "beta": ("mean", "sd"),
    "uniform": ("low", "high"),
    "triangular": ("low", "mode", "high"),
    "gamma": ("shape", "scale"),
    "student_t": ("location", "scale", "degrees"),
    "arcsine": ("low", "high"),
    "half_normal": ("sd",),
    "constant": ("value",),
}
SHARE = 0.03


@cache
def _logs():
    found = [tomllib.loads(p.read_text("utf-8")) for p in sorted(DEMOS.glob("*batch*.toml"))]
    return [*found, tomllib.loads((DEMOS / "quillhaven-lager-second.toml").read_text("utf-8"))]


def log_case(chance):
    """A log with one to three of its values changed; few of those that are read are studied."""
    log = copy.deepcopy(chance.choice(_logs()))
    for _ in range(chance.choice([1, 1, 2, 3])):
        chance.choice([_reading, _reading, _place, _taste, _any_leaf])(chance, log)
    command = ["explain", LAGER, "l.toml", "--quiet"]
    heavy = chance.random() < SHARE
    if heavy:
        command = chance.choice(
            [
                command,
                ["learn", LAGER, "l.toml", "--house", "h.toml", "--quiet"],
                ["steer", LAGER, "--batches", "l.toml", "--quiet"],
                ["specify", LAGER, "--log", "l.toml"],
            ]
        )
    return Case("log", {"l.toml": toml(log)}, (command if heavy else ["read", "l.toml"],))


def _inner(holder, key):
    """Return a table inside a table; a loose one where something else stands there by now."""
    found = holder.setdefault(key, {})
    return found if isinstance(found, dict) else {}


def _batch(chance, log):
    rows = log.get("batch")
    tables = [row for row in rows if isinstance(row, dict)] if isinstance(rows, list) else []
    return chance.choice(tables) if tables else {}


def _reading(chance, log):
    usual = usual_values("quillhaven-lager")
    read = [entry.quantity for entry in OUTCOMES.values() if entry.quantity in usual]
    quantity = chance.choice(sorted(usual) if chance.random() < 0.3 else sorted(set(read)))
    batch = _batch(chance, log)
    told = quantity_value(chance, usual[quantity], model_unit_of(quantity) or "")
    if isinstance(told, str) and chance.random() < 0.5:
        told += chance.choice(INSTRUMENTS)
    _inner(batch, "readings")[quantity] = told


def _place(chance, log):
    batch = _batch(chance, log)
    key = chance.choice(["id", "date", "recipe", "tank", "changed", "split_of", "notes"])
    value = chance.choice([*DATES, "G1", "", "x" * 300, "\u202e"])
    if key == "changed":
        grams = number(chance.choice([0, 1e-9, 20, 1e3, 1e9, -1]))
        value = {chance.choice(["hop 1 mass", "malt 1 mass", "mash", "boil"]): f"{grams} g"}
    batch[key] = value


def _taste(chance, log):
    batch = _batch(chance, log)
    words = ", ".join(chance.choice(WORDS) for _ in range(chance.randint(0, 5)))
    key = chance.choice(["thiols", "hops", "bitterness", "in_front", "x"])
    _inner(batch, "tasted")[key] = words
    if chance.random() < 0.3:
        count = f"{chance.randint(-1, 9)} of {chance.choice([0, 1, 3, 10**9])}"
        pair = {"date": "2026-04-20", "pairs": [f"G1 > G2: {count}"]}
        log["tasting"] = [pair]


def _leaves(content):
    for key, value in content.items() if isinstance(content, dict) else enumerate(content):
        yield content, key
        if isinstance(value, dict | list):
            yield from _leaves(value)


def _any_leaf(chance, content):
    """Change any value of a document: a number to an extreme, a text, a kind; or take it away."""
    leaves = list(_leaves(content))
    if not leaves:
        return
    holder, key = chance.choice(leaves)
    value = holder[key]
    if chance.random() < 0.15:
        del holder[key]
    elif isinstance(value, int | float) and not isinstance(value, bool):
        holder[key] = chance.choice([0, -value, value * 1e3, value / 1e3, 1e308, -1, 1e-300, 999])
    else:
        holder[key] = chance.choice(["", "x", 0, 1e9, True, [], {}, ["x"], "9" * 400, "\u202eé"])


def _whole_prior(chance, own):
    """State a whole prior of a shipped name, in any family, somewhere between usual and absurd."""
    shipped = load_priors().scalars
    name = chance.choice(sorted(shipped))
    usual = abs(load_priors().scalar(name).value) or 1.0
    family = chance.choice(sorted(SHAPES))
    times = sorted(chance.choice([0, 1e-6, 0.1, 0.5, 0.9, 1, 1.1, 2, 10, 1e3]) for _ in range(3))
    values = dict(zip(SHAPES[family], (usual * factor for factor in times), strict=False))
    plain = {"log_sd": [0.01, 0.3, 1, 3], "degrees": [1, 2, 3, 9], "shape": [0.1, 1, 4, 1e3]}
    values |= {key: chance.choice(plain[key]) for key in values if key in plain}
    if chance.random() < SHARE:
        values |= {"lower": usual * times[0], "upper": usual * times[2]}
    kept = {key: shipped[name][key] for key in ("unit", "kinds")}
    own[name] = kept | {"family": family, "grade": "assumption", "source": "assumption"} | values


def priors_case(chance):
    """A brewery's own priors with one to three values changed."""
    own = copy.deepcopy(OWN)
    for _ in range(chance.choice([1, 1, 2, 3])):
        if chance.random() < 0.6:
            _whole_prior(chance, own)
        elif chance.random() < 0.3:
            _inner(own, "grain_absorption_l_kg")["family"] = chance.choice(FAMILIES)
        elif chance.random() < 0.3:
            usual = usual_values("quillhaven-lager")
            quantity = chance.choice(sorted(usual))
            middle = usual[quantity] * chance.choice([0, 1, -1, 1e3, 1e-3, 1e300])
            own[quantity] = OWN["grain_absorption_l_kg"] | {
                "median": middle,
                "log_sd": chance.choice([0, 0.1, 1, 30, -1, 1e300]),
                "unit": model_unit_of(quantity) or "",
            }
        else:
            _any_leaf(chance, own)
    commands = [["check", LAGER, "--priors", "o.toml"]]
    commands.append(["simulate", LAGER, "--priors", "o.toml", "--draws", "64"])
    if chance.random() < SHARE:
        commands.append(["priors", "--compare", "o.toml", "--recipe", LAGER])
    return Case("priors", {"o.toml": toml(own)}, tuple(commands))


@cache
def _house():
    """Return a house of one tasted batch."""
    batch = _logs()[0]["batch"][0] | {"recipe": "lager"}
    recipe = {"key": "lager", "text": Path(LAGER).read_text("utf-8")}
    return {"version": 2, "batch": [batch], "recipe": [recipe]}


def house_case(chance):
    """A house file with one to three of its values changed."""
    house = copy.deepcopy(_house())
    for _ in range(chance.choice([1, 1, 2, 3])):
        chance.choice([_any_leaf, _any_leaf, _reading, _place])(chance, house)
    command = ["house", "h.toml", "--check"]
    if chance.random() < SHARE:
        command = chance.choice(
            [["house", "h.toml"], ["simulate", LAGER, "--house", "h.toml", "--draws", "64"]]
        )
    return Case("house", {"h.toml": toml(house)}, (command,))


@cache
def _documents():
    folder = ROOT / "tests/interchange/documents"
    return [json.loads(p.read_text("utf-8")) for p in sorted(folder.glob("*.json"))]


def document_case(chance):
    """An interchange document with one to three of its values changed."""
    document = copy.deepcopy(chance.choice(_documents()))
    for _ in range(chance.choice([1, 1, 2, 3])):
        _any_leaf(chance, document)
    text = json.dumps(document)
    new = ["new", "--from", "d.json", "--recipe", "1", "--out", "n.toml"]
    then = [["check", "n.toml"], ["simulate", "n.toml", "--draws", "64"]]
    then.append(["export", "n.toml", "--out", "-"])
    return Case("interchange", {"d.json": text}, (new, *then))
