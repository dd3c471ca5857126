"""Estimates of every demo recipe at a fixed seed."""

import json
from pathlib import Path

import brewsim
from brewsim.logbook.pose import pose
from brewsim.recipe.read import read_recipe

TABLE = Path(__file__).with_name("estimates.json")
DEMOS = Path(__file__).resolve().parents[2] / "demo-recipes"
NAMES = ("quillhaven-bitter", "quillhaven-lager", "quillhaven-pale")


def estimates(name):
    """Return estimate, low and high of every outcome of a demo recipe, to 9 figures."""
    draws = brewsim.simulate(pose(read_recipe(DEMOS / f"{name}.toml")), draws=4096, seed=1)
    found = brewsim.summarise(draws)
    return {
        str(outcome): {
            figure: float(f"{float(found[figure].sel(outcome=outcome)):.9g}")
            for figure in ("estimate", "low", "high")
        }
        for outcome in found["outcome"].to_numpy()
    }


def write():
    """Write the table of all demo recipes."""
    table = {name: estimates(name) for name in NAMES}
    TABLE.write_text(json.dumps(table, indent=1) + "\n", encoding="utf-8")
