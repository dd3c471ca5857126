"""The lager in the glass: seconds of processor, the moves, holds on and off, the whole grid.

python tests/benchmarks/glass.py
"""

import sys
import time
from collections.abc import Callable
from dataclasses import replace
from itertools import product
from pathlib import Path
from typing import TypeVar

import numpy as np

from brewsim.answers.next_beer import NextBeer, next_beer
from brewsim.logbook.brew import read_batches
from brewsim.logbook.pose import pose
from brewsim.priors import library
from brewsim.recipe.read import read_recipe
from brewsim.study.inference.update import update
from brewsim.study.model.sampling import Plan
from brewsim.study.propagation.simulate import simulate
from brewsim.study.propagation.sweep import snap
from brewsim.study.steering.fewest_knobs import FewestKnobs
from brewsim.study.steering.relative_steering import Report, search_from
from brewsim.wording.move_rows import move_table
from brewsim.wording.move_words import moved_words

DEMOS = Path(__file__).resolve().parents[2] / "demo-recipes"
LAGER = DEMOS / "quillhaven-lager.toml"
ONE, TWO = (DEMOS / f"quillhaven-lager-{name}.toml" for name in ("batches", "second"))
Found = TypeVar("Found")


def timed(work: Callable[[], Found]) -> tuple[Found, float]:
    """Return what some work gives and the processor seconds it took."""
    before = time.process_time()
    return work(), time.process_time() - before


def speed() -> None:
    """Print seconds of processor beside those of one simulation of 16,384 draws."""
    priors, problem = library.load_priors(), pose(read_recipe(LAGER))
    _, base = timed(lambda: simulate(problem, draws=16_384))
    print(f"simulate, 16,384 draws: {base:.2f} s", flush=True)
    for label, path, most in (("one", ONE, 5.0), ("two", TWO, 8.0)):
        log = read_batches(path, LAGER, priors)
        learned, used = timed(lambda log=log: update(problem, log.batches))
        answers = sum(len(batch.answers) for batch in log.batches)
        print(
            f"learning {label} tasted ({answers} answers): {used:.1f} s of processor (wanted "
            f"{most:.0f}), {used / base:.0f} simulations; trusted {learned.trusted}",
            flush=True,
        )
    answer = answered()
    _, used = timed(lambda: search_from(answer.question, answer.knobs))
    print(f"choice over {len(answer.knobs)} knobs: {used:.1f} s (wanted 2), {used / base:.1f}")


def answered() -> NextBeer:
    """Return the answer to the demo's wish."""
    priors, recipe = library.load_priors(), read_recipe(LAGER)
    return next_beer(recipe, pose(recipe), read_batches(ONE, LAGER, priors), priors, teach=False)


def moves() -> None:
    """Print the table of moves, the choice without holds, and the best of a whole grid."""
    answer = answered()
    steering, question = answer.steering, answer.question
    for row in move_table(answer).rows:
        print(" | ".join(cell.replace("\n", " ") for cell in row), flush=True)
    free = replace(question, holds=())
    found = search_from(free, answer.knobs)
    plan = Plan(8, 2048, 104_730)
    report = Report(question, plan)
    for label, settings in (
        ("holds on", steering.chosen.settings),
        ("off", found.chosen_by(Report(free, plan).gain)),
    ):
        move = report.move(settings)
        hops, bitter = (move.folds[n][0].middle for n in ("hop_aroma_activity", "bitterness_ibu"))
        print(
            f"{label}: {moved_words(question.problem, settings)}: wish {50 * move.wish[0]:.1f}, "
            f"with holds {50 * move.all_met[0]:.1f} ± {50 * move.all_met[1]:.1f}; same wort: hops "
            f"x{hops:.2f}, bitterness {bitter:+.1f} IBU",
            flush=True,
        )
    best = grid(answer, search_from(question, answer.knobs))
    there, here = report.move(best), report.move(steering.chosen.settings)
    print(
        f"whole grid of three knobs: {moved_words(question.problem, best)}: "
        f"{50 * there.all_met[0]:.1f} ± {50 * there.all_met[1]:.1f}; chosen "
        f"{50 * here.all_met[0]:.1f} ± {50 * here.all_met[1]:.1f}"
    )


def grid(answer: NextBeer, found: FewestKnobs, points: int = 9) -> dict[str, float]:
    """Return the best of all settings of the three dials that do most, on the search's draws."""
    dials = [k for k in answer.knobs if not k.choices]
    ranked = [name for (name,) in (list(s) for s in found.singles()) if name in found.now]
    order = [k for name in ranked for k in dials if k.id == name][:3]
    places = [snap(k, np.linspace(k.low, k.high, points)).tolist() for k in order]
    rows = [dict(zip((k.id for k in order), row, strict=True)) for row in product(*places)]
    return max(rows, key=found.look)


if __name__ == "__main__":
    jobs = {"speed": speed, "moves": moves}
    for name in sys.argv[1:] or jobs:
        jobs[name]()
