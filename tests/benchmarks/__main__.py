"""Speed beside its peers, each row measured side by side in one run: `python -m tests.benchmarks`.

Ratios hold, single times do not: the machine is whatever this is run on. It takes two minutes;
`--whole` uses more draws, adds learning beside a long run, and takes long. Named
parts run alone, `--markdown` prints a table for docs/speed.md, and `--beside FOLDER` measures cold
commands against an older checkout.
"""

import argparse
import os
import platform
import subprocess
import sys
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
from scipy.special import ndtri
from scipy.stats import qmc, sobol_indices

import brewsim
from brewsim.study.model.problem import Problem
from tests.benchmarks.learning import LABORATORY, READ, timed
from tests.benchmarks.page import cold_starts, studies
from tests.benchmarks.plain_model import Plain, Script
from tests.benchmarks.row import Row

ROOT = Path(__file__).resolve().parents[2]
PALE = ROOT / "demo-recipes" / "quillhaven-pale.toml"


def best_of(repeats: int, work: Callable[[], object]) -> float:
    """Return the shortest wall time of some repeats, in seconds."""
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)


def ranking(problem: Problem, base: int) -> list[Row]:
    """First- and total-order indices of every outcome, with intervals, against two libraries."""
    model = Plain(problem)
    mine = _ranked(problem, base)
    salib = _salib(model, base)
    scipy_time = best_of(1, lambda: _scipy(model, base))
    label = f"indices of {len(problem.outcomes)} outcomes, {model.count} factors, base {base}"
    return [
        Row(
            label,
            f"{mine:.3f} s",
            f"SALib, bootstrap of 100: {salib:.1f} s",
            f"{salib / mine:.0f}x",
            "200x",
        ),
        Row(
            label,
            f"{mine:.3f} s",
            f"SciPy, no intervals: {scipy_time:.2f} s",
            f"{scipy_time / mine:.1f}x",
            "12x",
        ),
    ]


def _ranked(problem: Problem, base: int) -> float:
    """Return the seconds of our ranking on one thread."""
    with ThreadPoolExecutor(1) as one:
        return best_of(3, lambda: brewsim.rank(problem, base=base // 8, seed=1, executor=one))


def _salib(model: Plain, base: int) -> float:
    from SALib.analyze import sobol as analyze
    from SALib.sample import sobol as sample

    names = [f"x{i}" for i in range(model.count)]
    told = {"num_vars": model.count, "names": names, "bounds": [[0.0, 1.0]] * model.count}
    start = time.perf_counter()
    points = sample.sample(told, base, calc_second_order=False)
    outcomes = model(points.T)
    for y in outcomes:
        analyze.analyze(told, y, calc_second_order=False, num_resamples=100, print_to_console=False)
    return time.perf_counter() - start


def _scipy(model: Plain, base: int) -> object:
    from scipy.stats import uniform

    return sobol_indices(func=model, n=base, dists=[uniform()] * model.count, rng=1)


def drawing(problem: Problem, draws: int) -> list[Row]:
    """All outcomes with quantiles, against a straight script and the bare cost of sampling."""

    def ours(threads: int) -> object:
        with ThreadPoolExecutor(threads) as executor:
            found = brewsim.simulate(problem, draws=draws, seed=1, executor=executor)
        return [np.quantile(found[name].values, [0.05, 0.5, 0.95]) for name in problem.outcomes]

    script = Script(problem)
    dimension = len(problem.factors)

    def floor() -> None:
        for seed in range(8):
            engine = qmc.Sobol(dimension, scramble=True, rng=seed)
            for _ in range(draws // 8 // 16_384):
                ndtri(engine.random(16_384) + 2.0**-31)

    mine, both = (best_of(3, lambda k=k: ours(k)) for k in (1, 2))
    by_hand, bare = best_of(3, lambda: script(draws)), best_of(3, floor)
    work = f"{draws} draws, {len(problem.outcomes)} outcomes with quantiles"
    return [
        Row(
            work,
            f"{mine:.2f} s",
            f"straight script, plain generator: {by_hand:.2f} s",
            f"{mine / by_hand:.2f}",
            "at most 1",
        ),
        Row(
            work,
            f"{mine:.2f} s",
            f"only Sobol' and normal quantiles: {bare:.2f} s",
            f"{mine / bare:.2f}",
            "at most 1.4",
        ),
        Row(
            f"{draws} draws, two threads",
            f"{both:.2f} s",
            f"one thread: {mine:.2f} s",
            f"{mine / both:.2f}x",
            "1.6x",
        ),
    ]


def memory(draws: int) -> Row:
    """Peak memory of a large summary, in a process of its own."""
    code = (
        "import brewsim, resource, sys\n"
        "from dataclasses import replace\n"
        "from brewsim.study.propagation.streaming import summarise_large\n"
        f"problem = brewsim.pose(brewsim.read_recipe({str(PALE)!r}))\n"
        "eight = replace(problem, outcomes=problem.outcomes[:8], targets={})\n"
        f"summarise_large(eight, draws={draws})\n"
        "print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)\n"
    )
    start = time.perf_counter()
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    took, peak = time.perf_counter() - start, int(done.stdout.split()[-1]) / 1024
    return Row(
        f"{draws} draws, 8 outcomes, merged histograms",
        f"{peak:.0f} MiB, {took:.1f} s",
        "",
        "",
        "under 1024 MiB",
    )


def scaling(problem: Problem, draws: int) -> Row:
    """Cost against draws: time of four times the draws over four times the time of one."""
    small = best_of(3, lambda: brewsim.simulate(problem, draws=draws // 4, seed=1))
    large = best_of(3, lambda: brewsim.simulate(problem, draws=draws, seed=1))
    return Row(
        f"cost of {draws} against {draws // 4} draws",
        f"{large:.2f} s",
        f"{small:.2f} s",
        f"{large / (4 * small):.2f}",
        "about 1: linear",
    )


def scaling_in_factors(problem: Problem, base: int) -> Row:
    """Cost against factors: ranking them all against running the whole model once for each."""
    model = Plain(problem)
    active = model.assembly.active

    points = np.random.default_rng(1).random((model.count, base))
    mine, whole = _ranked(problem, base), best_of(3, lambda: model(points))
    return Row(
        f"indices, {len(active)} factors in use, base {base}",
        f"{mine:.2f} s",
        f"the whole model {len(active) + 2} times over: {(len(active) + 2) * whole:.2f} s",
        f"{mine / ((len(active) + 2) * whole):.2f}",
        "below 1: only what follows runs again",
    )


def learning() -> list[Row]:
    """Six batches with four readings each; the error is that of the posterior means."""
    return [
        Row(f"learn from 6 batches, 4 {label} readings each", timed(6, read), "", "", aim)
        for label, read, aim in (
            ("home", READ, "5 s, 0.05 sd"),
            ("laboratory", LABORATORY, "10 s, 0.05 sd"),
        )
    ]


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--whole", action="store_true")
    parser.add_argument("--markdown", action="store_true")
    parser.add_argument("--beside", type=Path, help="a checkout of an older commit")
    parser.add_argument(
        "parts", nargs="*", help="page, cold, drawing, scaling, memory, learning, ranking"
    )
    options = parser.parse_args()
    problem = brewsim.pose(brewsim.read_recipe(PALE))
    small = not options.whole
    mark = "| " if options.markdown else ""
    print(
        f"{platform.system()} {platform.machine()}, {os.cpu_count()} threads,"
        f" Python {platform.python_version()}, NumPy {np.__version__}"
    )
    print(f"{mark}work | brewsim | beside it | ratio | aim")
    if options.markdown:
        print("|---|---|---|---|---|")
    parts: dict[str, Callable[[], list[Row]]] = {
        "page": studies,
        "cold": lambda: cold_starts(options.beside),
        "drawing": lambda: drawing(problem, 2**17 if small else 2**20),
        "scaling": lambda: [
            scaling(problem, 2**17 if small else 2**20),
            scaling_in_factors(problem, 2**10 if small else 2**14),
        ],
        "memory": lambda: [memory(2**18 if small else 2**22)],
        "learning": learning,
        "ranking": lambda: ranking(problem, 2**10 if small else 2**14),
    }
    usual = [name for name in parts if options.whole or name != "learning"]
    for part in [parts[name] for name in options.parts or usual]:
        for row in part():
            told = f"{mark}{row.work} | {row.ours} | {row.peer} | {row.ratio} | {row.aim}"
            print(told, flush=True)


if __name__ == "__main__":
    main()
