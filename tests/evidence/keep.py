"""The page of what the numbers rest on, made anew from the priors and the demo recipes."""

import json
from collections import Counter
from dataclasses import replace
from pathlib import Path

import numpy as np

from brewsim.beer.pose import posed
from brewsim.priors.library import load_priors
from brewsim.quantities.catalogue import outcome_of
from brewsim.recipe.read import read_recipe
from brewsim.study.propagation.simulate import simulate
from tests.regression.estimates import DEMOS, NAMES

BEFORE = Path(__file__).with_name("before.json")
PAGE = Path(__file__).resolve().parents[2] / "docs" / "evidence.md"
GRADES = ("published", "secondary", "common practice", "from memory", "assumption")
SOFT = ("from memory", "assumption")


def grade_counts():
    """Return how many priors have each grade."""
    counts = Counter(prior.grade for prior in load_priors().everything())
    return {grade: counts[grade] for grade in GRADES}


def soft_shares(path, draws=4096):
    """Return outcome -> share of its variance that goes when every soft input is held.

    Soft inputs rest on assumption or memory; held at their medians. On the outcome's own scale.
    """
    problem, rows = posed(read_recipe(path))
    soft = {(r.quantity, r.what) for r in rows if any(word in r.grade for word in SOFT)}
    held = [f for f in problem.factors if (f.quantity, f.label) in soft]
    fixed = dict(problem.fixed)
    fixed |= {f.quantity: np.array([f.distribution.median]) for f in held if f.row is None}
    kept = tuple(f for f in problem.factors if f not in held)
    hard = replace(problem, factors=kept, fixed=fixed, knobs=())
    both = [simulate(one, draws, seed=1) for one in (problem, hard)]
    shares = {}
    for name in problem.outcomes:
        whole, left = (_variance(d[name].values, outcome_of(name).scale) for d in both)
        shares[name] = round(max(0.0, 1 - left / whole), 3)  # below 0 is sampling noise
    return shares


def _variance(values, scale):
    if scale == "log2":
        values = np.log2(np.maximum(values, 1e-12))
    return float(np.var(values))


def found():
    """Return the counts and the shares of today."""
    return {
        "grades": grade_counts(),
        "shares": {name: soft_shares(DEMOS / f"{name}.toml") for name in NAMES},
    }


def page(now):
    """Return the page in Markdown."""
    before = json.loads(BEFORE.read_text(encoding="utf-8"))
    lines = ["# What the numbers rest on", "", "Written by `python -m tests.evidence --write`.", ""]
    lines += ["## Priors by grade", "", "| grade | before the evidence was gone through | now |"]
    lines += ["|---|---|---|"]
    lines += [f"| {g} | {before['grades'][g]} | {now['grades'][g]} |" for g in GRADES]
    lines += ["", "## Share of the spread that rests on assumption or memory", ""]
    lines += [
        "Of an outcome's variance, what goes when every such input is held at its median.",
        "",
    ]
    lines += ["| recipe | outcome | before | now |", "|---|---|---|---|"]
    for recipe, shares in now["shares"].items():
        for name, share in shares.items():
            old = before["shares"].get(recipe, {}).get(name)
            told = "–" if old is None else f"{100 * old:.0f} %"
            label = outcome_of(name).label
            lines.append(f"| {recipe} | {label} | {told} | {100 * share:.0f} % |")
    return "\n".join([*lines, ""])
