"""Scorecard of causes planted in synthetic logs by physics that is not brewsim's.

Run: python tests/benchmarks/planted_causes.py --logs 10 (of each cause; 80 logs in two minutes)
found: told first, with its kind and its place. partly: its place under another name, its name not
first, or a slip named as what else it may be. wrong: only something else is told. missed: nothing.
"""

import argparse
import sys
import time
from collections import Counter
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from brewsim.answers.odd_causes import OddCause, odd_causes  # noqa: E402 - the path is set above
from brewsim.beer.pose import posed  # noqa: E402
from brewsim.logbook.brew import parse_batches  # noqa: E402
from brewsim.recipe.read import parse_recipe  # noqa: E402
from tests.synthetic_brewery import CAUSES, RECIPE, Planted, year  # noqa: E402

KINDS = {
    "typo": "slip", "stall": "stall", "lot": "lot", "spindle": "instrument", "drift": "drift",
    "tank": "group", "brewer": "group",
}  # fmt: skip
MARKS = ("found", "partly", "wrong", "missed")
QUANTITIES = {
    "original gravity": "original_gravity_sg", "final gravity": "final_gravity_sg",
    "bitterness": "bitterness_ibu", "fermenter volume": "fermenter_volume_l",
}  # fmt: skip


def in_place(planted: Planted, told: OddCause) -> bool:
    """Whether a cause that was told reaches what was planted."""
    if planted.cause in ("typo", "stall"):
        right = QUANTITIES[planted.quantity] in told.quantities
        return right and told.batches == planted.batches
    if planted.cause == "lot":
        return told.batches == planted.batches and "bitterness_ibu" in told.quantities
    if planted.cause == "spindle":
        first = int(told.batches[0][1:]) - int(planted.batches[0][1:])
        return abs(first) <= 1 and len(told.batches) > 1 and "gravity" in told.quantities[0]
    if planted.cause == "drift":
        return QUANTITIES[planted.quantity] in told.quantities
    return told.tag == planted.group and QUANTITIES[planted.quantity] in told.quantities


def marked(planted: Planted, told: tuple[OddCause, ...]) -> str:
    """Return how well what was told names what was planted."""
    if planted.cause == "nothing":
        return "wrong" if told else "found"
    if not told:
        return "missed"
    right = [in_place(planted, one) for one in told]
    named = [one.kind == KINDS[planted.cause] for one in told]
    if right[0] and named[0]:
        return "found"
    return "partly" if any(right) else "wrong"


def main() -> None:
    """Print the scorecard."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--logs", type=int, default=10, help="logs of each cause")
    parser.add_argument("--batches", type=int, default=24)
    parser.add_argument("--first", type=int, default=0, help="the first seed")
    asked = parser.parse_args()
    problem = posed(parse_recipe(RECIPE))[0]
    started = time.process_time()
    whole: Counter[str] = Counter()
    print(f"{'planted':>10} {' '.join(f'{mark:>7}' for mark in MARKS)}")
    for cause in CAUSES:
        score: Counter[str] = Counter()
        for seed in range(asked.first, asked.first + asked.logs):
            text, planted, _ = year(cause, seed, asked.batches)
            score[marked(planted, odd_causes(problem, parse_batches(text, RECIPE)))] += 1
        whole += score
        print(f"{cause:>10} {' '.join(f'{score[mark]:>7}' for mark in MARKS)}", flush=True)
    print(f"{'all':>10} {' '.join(f'{whole[mark]:>7}' for mark in MARKS)}")
    print(f"{asked.batches} batches a log; {time.process_time() - started:.0f} s of processor")


if __name__ == "__main__":
    main()
