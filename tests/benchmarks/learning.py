"""Measure learning on the real model: time, precision, calibration, coverage.

python tests/benchmarks/learning.py time        six and twelve batches: seconds, error over seeds
python tests/benchmarks/learning.py plain 300   against a plain sampler running 300 s
python tests/benchmarks/learning.py ranks 480   calibration and coverage, as many fits as fit;
                                                ranks-laboratory for a laboratory's readings
python tests/benchmarks/learning.py tasted 240  calibration of every kind of tasters' answers
"""

import sys
import time
from pathlib import Path

import numpy as np
from scipy import stats

import brewsim
from brewsim.logbook.brew import read_batches
from brewsim.study.inference import update as updating
from brewsim.study.inference.elliptical_slice import prior_reference, slice_step
from brewsim.study.inference.likelihood import Model
from brewsim.study.inference.linearisation import Linearisation
from brewsim.study.inference.update import update
from brewsim.study.model.batch import Batch, Reading
from brewsim.study.model.problem import Problem
from tests.benchmarks import tasted

ROOT = Path(__file__).resolve().parents[2]
LAGER = ROOT / "demo-recipes" / "quillhaven-lager.toml"
LOG = ROOT / "demo-recipes" / "quillhaven-lager-six-batches.toml"
READ = (
    ("original_gravity_sg", "spindle", 0.0007, 0.002, "linear"),
    ("final_gravity_sg", "spindle", 0.0007, 0.002, "linear"),
    ("bitterness_ibu", "lab", 0.86, 1.8, "linear"),
    ("fermenter_volume_l", "mark", 0.003, 0.01, "log"),
)
LABORATORY = (
    ("original_gravity_sg", "bench meter", 0.00008, 0.00024, "linear"),
    ("final_gravity_sg", "bench meter", 0.00008, 0.00024, "linear"),
    ("bitterness_ibu", "lab", 0.86, 1.8, "linear"),
    ("free_3sh_ng_l", "thiol assay", 0.1, 0.18, "log"),
)
Readings = tuple[tuple[str, str, float, float, str], ...]


def blank(problem: Problem, count: int, first: int = 0, read: Readings = READ) -> list[Batch]:
    """Return batches with the four readings at a placeholder value."""
    readings = tuple(Reading(q, 1.0, n, i, b, scale=s) for q, i, n, b, s in read)
    return [Batch(f"b{first + i}", problem, readings) for i in range(count)]


def brewed(
    batches: list[Batch], rng: np.random.Generator, truth: np.ndarray | None = None
) -> tuple[list[Batch], dict[str, float]]:
    """Return the batches with readings simulated from a hidden truth, and the truth by latent."""
    model = Model(batches)
    state = rng.standard_normal((len(model.names), 1)) if truth is None else truth
    noise = np.array([r.noise for _, r in model.readings])
    value = model.predicted(state)[:, 0] + noise * rng.standard_normal(len(noise))
    value = np.where([r.scale == "log" for _, r in model.readings], np.exp(value), value)
    values = iter(value)
    filled = [
        Batch(
            b.id,
            b.problem,
            tuple(
                Reading(r.quantity, float(next(values)), r.noise, r.instrument, r.bias, r.scale)
                for r in b.readings
            ),
        )
        for b in batches
    ]
    return filled, dict(zip(model.names, state[:, 0], strict=True))


def ensemble(model: Model, seed: int, chains: int) -> np.ndarray:
    """Return the last state of independent chains: one draw from each."""
    run = updating._start(Linearisation(model), np.random.default_rng(seed), chains, None)
    run.settle(3)
    for _ in range(3):
        run.sweep()
    return run.state


def timed(count: int, read: Readings, seeds: int = 8) -> str:
    """Learn from invented batches: seconds, and the error of the means against a long run."""
    problem = brewsim.pose(brewsim.read_recipe(LAGER))
    batches, _ = brewed(blank(problem, count, read=read), np.random.default_rng(5))
    names, found, seconds, used = Model(batches).names, [], [], []
    for seed in range(seeds):
        start, cpu = time.perf_counter(), time.process_time()
        found.append(update(problem, batches, seed=seed))
        seconds.append(time.perf_counter() - start)
        used.append(time.process_time() - cpu)
    long = update(problem, batches, seed=99, burn=10, keep=150, time_limit_s=0)
    truth = np.array([long.mean(n) for n in names])
    spread = np.array([long.standard_deviation(n) for n in names])
    error = (np.array([[one.mean(n) for n in names] for one in found]) - truth) / spread
    by_latent = np.sqrt(np.mean(error**2, axis=0))
    return (
        f"{np.median(seconds):.1f} s ({np.median(used):.1f} s of processor), rms error of "
        f"{len(names)} means {rms(error):.3f} sd over {seeds} seeds (worst {by_latent.max():.2f}), "
        f"own estimate {np.mean([one.precision for one in found]):.3f}"
    )


def timing() -> None:
    """Six and twelve batches with a home brewer's readings, six with a laboratory's."""
    jobs = (("home", 6, READ), ("laboratory", 6, LABORATORY), ("home", 12, READ))
    for label, count, read in jobs:
        print(f"{count} batches x 4 readings, {label}: {timed(count, read)}", flush=True)


def plain(limit_s: float) -> None:
    """Compare with elliptical slices around the prior alone, run long, on the demo log."""
    log = read_batches(LOG, LAGER)
    model = Model(log.batches)
    names, chains = model.names, 256
    rng = np.random.default_rng(99)
    reference = prior_reference(len(names))
    state = rng.standard_normal((len(names), chains))
    level = model.log_likelihood(state)
    for power in np.linspace(0, 1, 121)[1:] ** 3:
        state, level = slice_step(model.log_likelihood, reference, rng, state, level, power)
    started, steps, total, square = time.perf_counter(), 0, 0.0, 0.0
    groups = []
    while time.perf_counter() - started < limit_s:
        state, level = slice_step(model.log_likelihood, reference, rng, state, level)
        steps += 1
        if time.perf_counter() - started < limit_s / 3:
            total, square, groups = 0.0, 0.0, []
            continue
        total, square = total + state.mean(axis=1), square + (state**2).mean(axis=1)
        groups.append(state.reshape(len(names), 8, -1).mean(axis=2))
    mean = total / len(groups)
    spread = np.sqrt(square / len(groups) - mean**2)
    own = np.mean(groups, axis=0).std(axis=1, ddof=1) / np.sqrt(8) / spread
    halves = [np.mean(part, axis=(0, 2)) for part in np.array_split(np.array(groups), 2)]
    drift = np.abs(halves[0] - halves[1]) / spread
    learned = update(log.batches[-1].problem, log.batches, keep=60, time_limit_s=0)
    gap = np.array([learned.mean(n) for n in names]) - mean
    ratio = np.array([learned.standard_deviation(n) for n in names]) / spread
    print(
        f"plain sampler: {steps} steps of {chains} chains, its own error {rms(own):.3f} sd (worst "
        f"{own.max():.3f}); means differ by rms {rms(gap / spread):.3f} sd, worst "
        f"{np.abs(gap / spread).max():.3f}; ratio of sds {ratio.min():.3f} to {ratio.max():.3f}, "
        f"{np.mean(np.abs(ratio - 1) < 0.05):.0%} within 5 %; drift of its halves up to "
        f"{drift.max():.3f} sd; furthest: "
        + ", ".join(
            f"{names[i]} {gap[i] / spread[i]:+.3f} (own error {own[i]:.3f}, drift {drift[i]:.3f})"
            for i in np.argsort(-np.abs(gap / spread))[:4]
        ),
        flush=True,
    )


def rms(values: np.ndarray) -> float:
    """Root of the mean square."""
    return float(np.sqrt(np.mean(np.square(values))))


def ranks(limit_s: float, seed: int = 7, read: Readings = READ, batches: int = 3) -> None:
    """Simulation-based calibration, and coverage of the next batch's readings.

    Talts et al. 2018, arXiv 1804.06788; one draw from each of 127 chains is the rank sample.
    """
    problem = brewsim.pose(brewsim.read_recipe(LAGER))
    rng, started = np.random.default_rng(seed), time.perf_counter()
    empty, following = blank(problem, batches, 0, read), blank(problem, 1, 99, read)
    after = Model(following)
    before = with_noise(after, rng.standard_normal((len(after.names), 8192)), rng)
    prior_width = np.subtract(*np.quantile(before, [0.95, 0.05], axis=1))
    table, inside, widths, fit = [], [], [], 0
    while time.perf_counter() - started < limit_s:
        filled, truth = brewed(empty, rng)
        model = Model(filled)
        state = ensemble(model, fit, 128)[:, :127]
        hidden = np.array([truth[n] for n in model.names])
        table.append((state < hidden[:, None]).sum(axis=1))
        wide = np.repeat(state, 16, axis=1)
        where = {n: i for i, n in enumerate(model.names)}
        future = rng.standard_normal((len(after.names), wide.shape[1]))
        actual = rng.standard_normal((len(after.names), 1))
        for i, name in enumerate(after.names):
            if name in where:
                future[i], actual[i] = wide[where[name]], truth[name]
        expected = with_noise(after, future, rng)
        low, high = np.quantile(expected, [0.05, 0.95], axis=1)
        seen = with_noise(after, actual, rng)[:, 0]
        inside.append((low <= seen) & (seen <= high))
        widths.append((high - low) / prior_width)
        fit += 1
    counts = np.array(table)
    chance = np.array([_uniform(column) for column in counts.T])
    order = np.argsort(chance)[:3]
    print(
        f"{fit} fits of {batches} batches x 4 readings in {limit_s:.0f} s; {len(chance)} latents: "
        f"smallest p {chance.min():.5f}, bound {0.01 / len(chance):.5f}; p values against uniform "
        f"(KS) {stats.kstest(chance, 'uniform').pvalue:.2f}; lowest: "
        + ", ".join(f"{model.names[i]} {chance[i]:.4f}" for i in order)
    )
    for i, (quantity, *_) in enumerate(read):
        share, narrow = np.mean(inside, axis=0)[i], np.mean(widths, axis=0)[i]
        print(f"  next {quantity}: {share:.3f} inside the 90 % interval, width x {narrow:.2f}")
    print(f"  all four readings together: {np.mean(inside):.3f}", flush=True)


def with_noise(model: Model, state: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Return readings as they would be read, on their own scale."""
    predicted = model.predicted(state)
    noise = np.array([r.noise for _, r in model.readings])[:, None]
    return predicted + noise * rng.standard_normal(predicted.shape)


def _uniform(column: np.ndarray) -> float:
    return float(stats.chisquare(np.bincount(column // 16, minlength=8)).pvalue)


if __name__ == "__main__":
    word = sys.argv[1] if len(sys.argv) > 1 else "time"
    seconds = float(sys.argv[2]) if len(sys.argv) > 2 else 300.0
    first = int(sys.argv[3]) if len(sys.argv) > 3 else 7
    jobs = {
        "time": timing,
        "plain": lambda: plain(seconds),
        "ranks": lambda: ranks(seconds, first),
        "ranks-laboratory": lambda: ranks(seconds, first, LABORATORY),
        "tasted": lambda: tasted.calibration(int(seconds)),
    }
    jobs[word]()
