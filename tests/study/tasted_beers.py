"""A small brewery that is linear on the tasters' scale: two batches and a panel of three."""

from dataclasses import replace

import numpy as np

from brewsim.distributions.constructors import constant, lognormal, normal, uniform
from brewsim.study.inference.panel import Panel, Trait
from brewsim.study.inference.sensory_answers import (
    Difference,
    InFront,
    Ladder,
    Pair,
    Ranking,
    Word,
)
from brewsim.study.model.batch import Batch, Reading
from brewsim.study.model.factor import Kinds
from brewsim.study.model.problem import Problem

TASTERS = ("a", "b", "c")
FIRST, SECOND = ("G1", "thiols"), ("G2", "thiols")
HOPS, BITTER = ("G1", "hops"), ("G1", "bitter")

PANEL = Panel(
    {
        "cup scatter": Trait(lognormal(0.5, 0.5), lognormal(1.0, 0.3)),
        "day frame": Trait(constant(0.5)),
        "just right": Trait(lognormal(0.5, 0.4)),
        "too much": Trait(lognormal(1.0, 0.4)),
        "words": Trait(None, lognormal(1.0, 0.3)),
        "ideal thiols": Trait(normal(1.6, 1.0), normal(0.0, 0.7)),
        "ideal hops": Trait(normal(1.6, 1.0), normal(0.0, 0.7)),
        "in front hops": Trait(normal(0.0, 1.0), normal(0.0, 0.7)),
        "in front bitterness": Trait(normal(0.0, 1.0), normal(0.0, 0.7)),
        "hiding": Trait(uniform(0.0, 1.0)),
    }
)


def thiols(base, knob, effect, brew):
    return base + knob * effect + brew


def hops(base_hops, brew_hops):
    return base_hops + brew_hops


def bitter(base_bitter):
    return base_bitter


def brewery(knob=0.0, *, event=False):
    problem = Problem.of(
        [thiols, hops, bitter],
        {
            "base": (normal(2.0, 1.0), Kinds(1.0)),
            "effect": (normal(-0.8, 0.5), Kinds(1.0)),
            "brew": (normal(0.0, 0.6), Kinds(0.0, 0.0, 1.0)),
            "base_hops": (normal(1.5, 0.7), Kinds(1.0)),
            "brew_hops": (normal(0.0, 0.3), Kinds(0.0, 0.0, 1.0)),
            "base_bitter": (normal(2.0, 0.4), Kinds(1.0)),
        },
        fixed={"knob": knob},
        outcomes=["thiols", "hops", "bitter"],
    )
    factors = tuple(replace(f, event=event and f.id == "brew") for f in problem.factors)
    return replace(problem, factors=factors)


def word(place=2, taster="", cup=FIRST, attribute="thiols"):
    return Word(cups=(cup,), panel=PANEL, taster=taster, attribute=attribute, place=place)


def in_front(chosen=0, taster=""):
    return InFront(
        cups=(FIRST, HOPS, BITTER),
        panel=PANEL,
        taster=taster,
        attributes=("thiols", "hops", "bitterness"),
        chosen=chosen,
    )


def pair(count=3, asked=3):
    return Pair(cups=(FIRST, SECOND), panel=PANEL, count=count, asked=asked)


def difference(method, count=4, asked=6):
    return Difference(cups=(FIRST, SECOND), panel=PANEL, count=count, asked=asked, method=method)


def ranking(taster=""):
    return Ranking(cups=(FIRST, SECOND), panel=PANEL, taster=taster, places=((0,), (1,)))


def ladder(place=1, taster=""):
    return Ladder(
        cups=(FIRST,),
        panel=PANEL,
        taster=taster,
        attribute="thiols",
        place=place,
        shares=(0.25, 0.5, 0.75, 1.0),
    )


KINDS = {
    "word, named": tuple(word(taster=t) for t in TASTERS),
    "word, strangers": (word(),) * 3,
    "in front": tuple(in_front(taster=t) for t in TASTERS),
    "pair 3": (pair(),),
    "order with ties": tuple(ranking(t) for t in TASTERS[:2]),
    "odd one out, 6": (difference("triangle"),),
    "two and two, 6": (difference("tetrad"),),
    "blend ladder": tuple(ladder(taster=t) for t in TASTERS[:2]),
}
_TOGETHER = (
    "word, named",
    "in front",
    "pair 3",
    "order with ties",
    "odd one out, 6",
    "blend ladder",
)
KINDS["all together"] = (
    *(answer for kind in _TOGETHER for answer in KINDS[kind]),
    *(word(taster=t, cup=SECOND) for t in TASTERS),
    *(word(taster=t, cup=HOPS, attribute="hops") for t in TASTERS),
)


def two_batches(answers=(), read=2.0, *, event=False):
    """Return two batches, the first with a reading of its bitterness and all the answers."""
    reading = (Reading("bitter", read, 0.2),)
    return [
        Batch("G1", brewery(0.0, event=event), reading, answers=tuple(answers)),
        Batch("G2", brewery(1.0, event=event), ()),
    ]


def answered(answer, ys, scores, rng):
    """Return an answer drawn at random, given one sample of the cups and of the people."""
    outcomes = answer.outcomes
    logs = [np.ravel(o.log(ys, scores))[0] + o.log_ways for o in outcomes]
    chances = np.exp(logs)
    assert abs(chances.sum() - 1) < 1e-9, answer
    return outcomes[rng.choice(len(outcomes), p=chances / chances.sum())]
