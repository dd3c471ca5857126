"""Measure long logs drawn from the model itself: coverage, trust, processor time, memory.

python -m tests.benchmarks.year 6,12,24,48,100 --seeds 2 --readings 4
                                      a line per log; every log runs in a process of its own
--scatter 0.5                         a brewery with half the scatter from batch to batch; its
                                      learned scatter and the coverage of six held-back batches
--time 60                             work allowed, in seconds of the reference machine
"""

import argparse
import resource
import subprocess
import sys
import time
from dataclasses import replace

import numpy as np

import brewsim
from brewsim.logbook.house import house_of, with_house
from brewsim.study.inference.likelihood import LEAST_BATCHES, Model
from brewsim.study.inference.posterior import Learned
from brewsim.study.inference.update import update
from brewsim.study.model.batch import Batch, Reading
from brewsim.study.model.common_random_numbers import CommonDraws, Evaluator
from brewsim.study.model.problem import Problem
from brewsim.study.model.sampling import Plan
from brewsim.study.model.scatter import COMMON_SD, EVERYTHING, OWN_SD, SCATTER, scale_of
from tests.benchmarks.learning import LAGER, READ, Readings

SIX = (
    *READ,
    ("preboil_gravity_sg", "spindle", 0.0007, 0.002, "linear"),
    ("postboil_volume_l", "mark", 0.003, 0.01, "log"),
)
HELD = 6
INFORMED = 0.9
"""A latent whose posterior spread is below this share of the prior's was informed."""


def drawn(
    problem: Problem,
    count: int,
    read: Readings,
    rng: np.random.Generator,
    scatter: float | None,
) -> tuple[list[Batch], np.ndarray, dict[str, float]]:
    """Return batches with readings of a hidden truth, what was truly there, and the truth.

    What was there is each reading's predicted value on its scale, the instrument's error in it.
    `scatter` is what the spread from batch to batch is of the usual one; None draws it.
    """
    readings = tuple(Reading(q, 1.0, n, i, b, scale=s) for q, i, n, b, s in read)
    blank = [Batch(f"b{i}", problem, readings) for i in range(count)]
    model = Model(blank, own_scatter=True)
    state = rng.standard_normal((len(model.names), 1))
    if scatter is not None and model.mixing.scatters:
        state[model.mixing.everything] = (np.log(scatter) + COMMON_SD**2) / COMMON_SD
        state[[row for row, _ in model.mixing.scatters]] = OWN_SD
    there = model.predicted(state)[:, 0]
    noise = np.array([r.noise for _, r in model.readings])
    seen = there + noise * rng.standard_normal(len(noise))
    value = iter(np.where([r.scale == "log" for _, r in model.readings], np.exp(seen), seen))
    filled = [
        replace(b, readings=tuple(replace(r, value=float(next(value))) for r in b.readings))
        for b in blank
    ]
    return filled, there, dict(zip(model.names, model.scores(state)[:, 0], strict=True))


def held_back(learned: Learned, read: Readings, truth: dict[str, float], ids: list[str]) -> str:
    """Return how many values of batches not learned from lie in the nine-in-ten forecast."""
    after = with_house(learned.problem, house_of(learned))
    names = [q for q, *_ in read]
    plan = Plan(8, 2048, 1)
    drawn = {
        which: Evaluator(posed, CommonDraws([posed], plan), names).at()
        for which, posed in (("after", after), ("before", learned.problem))
    }
    exact = tuple(Reading(name, 1.0, 1.0) for name in names)
    model = Model([Batch(i, learned.problem, exact) for i in ids])
    if model.mixing.scatters:
        raise ValueError("fewer batches are to be held back, their scatter is in the truth")
    state = np.array([[truth[name]] for name in model.names])
    actual = model.predicted(state).reshape(len(ids), len(names))
    inside = 0
    widths = []
    for values, name in zip(actual.T, names, strict=True):
        low, high = np.quantile(drawn["after"][name], [0.05, 0.95])
        inside += int(((low <= values) & (values <= high)).sum())
        widths.append((high - low) / np.subtract(*np.quantile(drawn["before"][name], [0.95, 0.05])))
    told = ", ".join(f"{w:.2f}" for w in widths)
    return f"held back {inside} of {actual.size} inside; width x {told}"


def scatter_learned(learned: Learned) -> str:
    """Return the learned scatter of everything, and of one factor as a rule."""
    draws = learned.draws
    if EVERYTHING not in draws:
        return "no scatter learned"
    own = [scale_of(draws[EVERYTHING], d) for n, d in draws.items() if n.endswith(SCATTER)]
    usual = np.exp(np.mean(np.log(own), axis=0))
    low, middle, high = np.quantile(usual, [0.05, 0.5, 0.95])
    return f"scatter {middle:.2f} ({low:.2f} to {high:.2f})"


def fitted(learned: Learned, batches: list[Batch]) -> np.ndarray:
    """Return what was there in every draw, (readings, draws)."""
    model = Model(batches, own_scatter=True)
    size = len(learned.replicate)
    scores = np.array([learned.draws.get(name, np.zeros(size)) for name in model.names])
    return model.read([plan.evaluate(scores) for plan in model.plans], scores)


def one(count: int, seed: int, readings: int, scatter: float | None, limit_s: float | None) -> str:
    """Learn from one log and return its line."""
    problem = brewsim.pose(brewsim.read_recipe(LAGER))
    rng = np.random.default_rng((seed, count, readings))
    read = READ if readings == len(READ) else SIX
    usual = 1.0 if count < LEAST_BATCHES and scatter is None else scatter
    batches, there, truth = drawn(problem, count + HELD, read, rng, usual)
    later = [batch.id for batch in batches[count:]]
    batches, there = batches[:count], there[: count * readings]
    wall, cpu = time.perf_counter(), time.process_time()
    learned = update(problem, batches, seed=1, time_limit_s=limit_s, own_scatter=True)
    wall, cpu = time.perf_counter() - wall, time.process_time() - cpu
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    low, high = np.quantile(fitted(learned, batches), [0.05, 0.95], axis=1)
    inside = (low <= there) & (there <= high)
    informed = [n for n in truth if n in learned.draws and learned.moments[n][1] < INFORMED]
    ends = {n: np.quantile(learned.draws[n], [0.05, 0.95]) for n in informed}
    covered = [ends[n][0] <= truth[n] <= ends[n][1] for n in informed]
    lasting = [c for n, c in zip(informed, covered, strict=True) if "@batch" not in n]
    odd = sum(abs(s.residual) > 3.5 for s in learned.surprises)
    return (
        f"{count:4d} x {readings}, seed {seed}: readings {inside.mean():.0%} "
        f"({inside.sum()} of {len(inside)}), informed latents {np.mean(covered):.0%} of "
        f"{len(covered)} (lasting {sum(lasting)} of {len(lasting)}), "
        f"{'trusted' if learned.trusted else 'NOT trusted'}, memory {learned.memory:.2f}, drift "
        f"{learned.drift:.1f}, worst {learned.worst:.2f}, unexplained {odd}; "
        f"{held_back(learned, read, truth, later)}; {scatter_learned(learned)}; {cpu:.1f} s of "
        f"processor, {wall:.1f} s, {memory:.0f} MB"
    )


def main() -> None:
    """Run every log in a process of its own, so that memory is its own."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("counts", help="numbers of batches, with commas between")
    parser.add_argument("--seeds", type=int, default=2)
    parser.add_argument("--first", type=int, default=1)
    parser.add_argument("--readings", type=int, choices=(4, 6), default=4)
    parser.add_argument("--scatter", type=float)
    parser.add_argument("--time", type=float, default=None)
    parser.add_argument("--inside", action="store_true", help=argparse.SUPPRESS)
    asked = parser.parse_args()
    for count in map(int, asked.counts.split(",")):
        for seed in range(asked.first, asked.first + asked.seeds):
            if asked.inside:
                print(one(count, seed, asked.readings, asked.scatter, asked.time), flush=True)
                continue
            passed = [str(count), "--seeds", "1", "--first", str(seed), "--inside"]
            for name in ("readings", "scatter", "time"):
                given = getattr(asked, name)
                passed += [] if given is None else [f"--{name}", str(given)]
            subprocess.run([sys.executable, "-m", "tests.benchmarks.year", *passed], check=False)


if __name__ == "__main__":
    main()
