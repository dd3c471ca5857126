"""What stated 95 % intervals are worth: `python -m tests.benchmarks.coverage [--seeds 200] [part]`.

Share of seeds in which each interval holds the truth, and the share in which the program itself
says that the figures are rough. Parts: drawn (16,384 draws), ranked (base 1,024), shared (base
256), learned (a forecast after learning, and the means learned).
"""

import argparse
import json
from collections.abc import Callable, Iterator
from dataclasses import replace

import numpy as np

import brewsim
from brewsim import Batch, Kinds, Problem, Reading, normal, simulate, summarise
from tests.benchmarks.scrambles import problems, split, targeted

MODELS = {
    "light": "OTL circuit",
    "faint": "faint",
    "step": "steps",
    "heavy": "heavy",
    "rare": "rare",
    "correlated": "correlated",
}
FIGURES = ("estimate", "standard_uncertainty", "low", "high", "in_target")
Result = tuple[np.ndarray, np.ndarray, bool]


def drawn(problem: Problem, seed: int, finer: int = 1) -> Result:
    table = summarise(simulate(problem, 16_384 * finer, seed=seed))
    found, said = (
        np.array([float(table[f"{name}{end}"][0]) for name in FIGURES]) for end in ("", "_error")
    )
    return found, said, bool(json.loads(table.attrs["notes"]))


def ranked(problem: Problem, seed: int, finer: int = 1) -> Result:
    return _shares(
        brewsim.rank(problem, base=1024 * finer, seed=seed), ("first_order", "total_order")
    )


def shared(problem: Problem, seed: int, finer: int = 1) -> Result:
    return _shares(brewsim.shapley(problem, base=256 * finer, seed=seed), ("shapley",))


def _shares(table: object, names: tuple[str, ...]) -> Result:
    found = np.concatenate([table[name].to_numpy()[0] for name in names])
    high = np.concatenate([table[f"{name}_high"].to_numpy()[0] for name in names])
    return found, high - found, bool(json.loads(table.attrs["notes"]))


STUDIES: dict[str, tuple[Callable[..., Result], int]] = {
    "drawn": (drawn, 128),
    "ranked": (ranked, 64),
    "shared": (shared, 64),
}


def lines(study: Callable[..., Result], finer: int, seeds: int) -> Iterator[str]:
    """Yield a line for each model."""
    known = problems()
    for label, name in MODELS.items():
        problem = targeted(known[name])
        if study is ranked and problem.correlations:
            continue
        with split(2):
            truth = np.mean([study(problem, 10**6 + s, finer)[0] for s in range(2)], axis=0)
        found, said, told = map(
            np.array, zip(*(study(problem, s) for s in range(seeds)), strict=True)
        )
        holds = (np.abs(found - truth) <= said + 1e-12).mean(axis=0)
        yield f"{label} | {' '.join(f'{share:.3f}' for share in holds)} | {told.mean():.2f}"


def total(a, b):
    return a + b


def learned(seeds: int) -> Iterator[str]:
    """Yield the line of a forecast after one reading, linear and normal, and of the means."""
    own = normal(0.0, 1.0)
    problem = Problem.of([total], {"a": own, "b": (own, Kinds(0, 0, 1))})
    batches = [Batch("1", problem, (Reading("total", 2.0, 0.3),))]
    mean, spread = 2 / 2.09, np.sqrt(2 - 1 / 2.09)
    truth = np.array([mean, spread, mean - 1.644854 * spread, mean + 1.644854 * spread])
    holds, off, inside = [], [], []
    for seed in range(seeds):
        known = brewsim.update(problem, batches, seed=seed)
        table = summarise(simulate(replace(problem, learned=known), seed=seed))
        found = np.array([float(table[name][0]) for name in FIGURES[:4]])
        said = np.array([float(table[f"{name}_error"][0]) for name in FIGURES[:4]])
        holds.append(np.abs(found - truth) <= said)
        errors = [
            (known.mean(name) - 2 / 2.09) / np.sqrt(1 - 1 / 2.09)
            for name in ("a @knowledge", "b @batch 1")
        ]
        off.append(np.sqrt(np.mean(np.square(errors))) / known.precision)
        inside.append(np.max(np.abs(errors)) <= known.worst)
    yield f"forecast | {' '.join(f'{share:.3f}' for share in np.mean(holds, axis=0))} | 0"
    yield (
        f"means: error over what is said {np.sqrt(np.mean(np.square(off))):.2f}, "
        f"both within `worst` {np.mean(inside):.3f} | |"
    )


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seeds", type=int, default=200)
    parser.add_argument("parts", nargs="*")
    options = parser.parse_args()
    for part in options.parts or [*STUDIES, "learned"]:
        print(f"| {part} | covers | says rough |\n|---|---|---|")
        found = (
            learned(options.seeds) if part == "learned" else lines(*STUDIES[part], options.seeds)
        )
        for line in found:
            print(f"| {line} |", flush=True)


if __name__ == "__main__":
    main()
