"""The page of the audit of kinds, made anew from the priors and the demo recipes."""

import json
from pathlib import Path

from brewsim.answers.kinds import kind_rows, own_scatter
from brewsim.logbook.pose import pose
from brewsim.priors.library import load_priors
from brewsim.recipe.read import read_recipe
from brewsim.wording.kinds import kinds_document
from tests.regression.estimates import DEMOS, NAMES

BEFORE = json.loads(Path(__file__).with_name("before.json").read_text(encoding="utf-8"))
PAGE = Path(__file__).resolve().parents[2] / "docs" / "kinds.md"


def scatters():
    """Return the scatter of the demos' outcomes, by recipe."""
    return {name: own_scatter(pose(read_recipe(DEMOS / f"{name}.toml"))) for name in NAMES}


def page(found):
    """Return the page as it should read, with the scatters found."""
    return kinds_document(kind_rows(load_priors()), BEFORE, found)
