"""How a command grows with its recipe or its log: processor seconds and megabytes of each.

Run: python tests/benchmarks/growth.py hops check 10 50 100 200
     python tests/benchmarks/growth.py knobs steer 10 20 40 100
     python tests/benchmarks/growth.py batches explain 10 50 100 200
Each hop is of a lot of its own and each knob turns one hop; a batch has three small readings.
"""

import argparse
import os
import resource
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from tests.texts import beer, hop  # noqa: E402 - the path is set above

AIMS = '[targets]\nbitterness = "25 to 35 IBU"\nalcohol = "4.5 to 5.5 %"\n'


def recipe(hops: int, knobs: int) -> str:
    """Return a recipe of so many hop lots, 30 g altogether, and knobs on so many of them."""
    each = 30 / hops
    rows = [
        hop(("boil 60 min", "boil 10 min")[n % 2], f"{each:.3f} g", lot=f"L{n}", alpha="8 %")
        for n in range(hops)
    ]
    turned = "".join(f'"hop {n + 1} mass" = "0 to {3 * each:.3f} g"\n' for n in range(knobs))
    return beer(*rows, AIMS, f"[knobs]\n{turned}" if knobs else "")


def log(batches: int) -> str:
    """Return a log of so many batches, a week apart."""
    return "".join(
        f'[[batch]]\nid = "B{n}"\ndate = {2018 + n // 48}-{n // 4 % 12 + 1:02}-{n % 4 * 7 + 1:02}\n'
        f'[batch.readings]\nOG = "1.0{45 + n % 4}"\nFG = "1.0{10 + n % 3}"\n'
        f'bitterness = "{27 + n % 5} IBU by lab bitterness"\n'
        for n in range(batches)
    )


def asked(what: str, command: str, size: int, folder: Path) -> list[str]:
    """Write the files of one size and return the words of its command."""
    hops = {"hops": size, "knobs": size}.get(what, 2)
    text = recipe(hops, size if what == "knobs" else 2 if what == "hops" else 0)
    (folder / "r.toml").write_text(text, encoding="utf-8")
    if what != "batches":
        more = ["--out", "p.html"] if command == "report" else []
        return [command, "r.toml", *more, "--quiet"][: 2 if command == "check" else None]
    (folder / "l.toml").write_text(log(size), encoding="utf-8")
    more = ["--house", "h.toml"] if command == "learn" else []
    return [command, "r.toml", "l.toml", *more, "--quiet"]


def measured(words: list[str], folder: Path) -> tuple[int, float, float]:
    """Run a command by itself; returns its exit code, processor seconds and megabytes."""
    start = os.fork()
    if start == 0:
        done = subprocess.run(
            [sys.executable, "-m", "brewsim", *words],
            cwd=folder,
            env=os.environ | {"PYTHONPATH": str(ROOT)},
            stdout=subprocess.DEVNULL,
            check=False,
        )
        used = resource.getrusage(resource.RUSAGE_CHILDREN)
        seconds = used.ru_utime + used.ru_stime
        told = f"{done.returncode} {seconds} {used.ru_maxrss / 1024}"
        (folder / "used").write_text(told, encoding="utf-8")
        os._exit(0)
    os.waitpid(start, 0)
    code, seconds_text, megabytes = (folder / "used").read_text(encoding="utf-8").split()
    return int(code), float(seconds_text), float(megabytes)


def main() -> None:
    """Print a line for each size."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("what", choices=("hops", "knobs", "batches"))
    parser.add_argument("command")
    parser.add_argument("sizes", type=int, nargs="+")
    options = parser.parse_args()
    for size in options.sizes:
        with tempfile.TemporaryDirectory() as name:
            words = asked(options.what, options.command, size, Path(name))
            code, seconds, megabytes = measured(words, Path(name))
        told = f"{options.command} with {size} {options.what}: exit {code}"
        print(f"{told}, {seconds:.1f} s, {megabytes:.0f} MB", flush=True)


if __name__ == "__main__":
    main()
