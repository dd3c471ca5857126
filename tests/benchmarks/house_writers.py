"""Many processes add batches to one house at once, and some of them are killed.

Run: python tests/benchmarks/house_writers.py --processes 8 --rounds 50 --kills 60
A batch that a process said it had added must be there; every other may be there or not, once.
"""

import argparse
import multiprocessing as mp
import os
import random
import signal
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from brewsim.errors import InputError  # noqa: E402 - the path is set above
from brewsim.logbook.house_store import add_batches  # noqa: E402
from brewsim.logbook.log import read_log  # noqa: E402
from brewsim.priors.library import load_priors  # noqa: E402
from tests.texts import beer, hop  # noqa: E402

RECIPE = beer(hop())


def write(house: Path, said: Path, name: str, rounds: range) -> None:
    """Add a batch a round and note each one that was added."""
    priors = load_priors()
    for number in rounds:
        batch = f"{name} {number}"
        text = f'[[batch]]\nid = "{batch}"\ndate = 2026-03-01\n[batch.readings]\nOG = "1.045"\n'
        add_batches(house, read_log(text, RECIPE, "log.toml"), priors)
        with said.open("a", encoding="utf-8") as stream:
            stream.write(f"{batch}\n")
            stream.flush()
            os.fsync(stream.fileno())


def start(house: Path, name: str, rounds: int) -> mp.Process:
    """Return a writer that goes on where one of its name was killed."""
    said = house.with_name(f"{name}.said")
    done = len(said.read_text(encoding="utf-8").splitlines()) if said.exists() else 0
    process = mp.get_context("fork").Process(
        target=write, args=(house, said, name, range(done, rounds)), name=name
    )
    process.start()
    return process


def run(folder: Path, processes: int, rounds: int, kills: int) -> tuple[int, int, int, int]:
    """Return how many batches were said to be added, are lost, times broken, and kills."""
    house = folder / "HOUSE.toml"
    chance = random.Random(1)  # noqa: S311 - which writer to kill is no secret
    load_priors()
    running = {f"w{n}": start(house, f"w{n}", rounds) for n in range(processes)}
    killed = broken = 0
    while any(process.is_alive() for process in running.values()):
        time.sleep(0.02 + 0.1 * chance.random())
        broken += not whole(house)
        name = chance.choice(list(running))
        process = running[name]
        if killed < kills and process.is_alive() and process.pid is not None:
            os.kill(process.pid, signal.SIGKILL)
            process.join()
            killed += 1
            running[name] = start(house, name, rounds)
    for process in running.values():
        process.join()
    said = [
        line
        for file in sorted(folder.glob("*.said"))
        for line in file.read_text(encoding="utf-8").splitlines()
    ]
    log = read_log(house.read_text(encoding="utf-8"), None, str(house))
    held = [entry.id for entry in log.entries]
    broken += bool(log.faults) + (len(set(held)) < len(held))
    lost = len({*said} - {*held}) + processes * rounds - len(held)
    return len(said), lost, broken, killed


def whole(house: Path) -> bool:
    """Whether the house reads without a fault just now."""
    if not house.exists():
        return True
    try:
        return not read_log(house.read_text(encoding="utf-8"), None, str(house)).faults
    except InputError:
        return False


def main() -> int:
    """Run once and print the count; 0 where nothing was lost."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--processes", type=int, default=8)
    parser.add_argument("--rounds", type=int, default=50)
    parser.add_argument("--kills", type=int, default=60)
    parser.add_argument("--folder", type=Path, default=None)
    asked = parser.parse_args()
    folder = asked.folder or Path(tempfile.mkdtemp())
    said, lost, broken, killed = run(folder, asked.processes, asked.rounds, asked.kills)
    print(f"{said} batches said to be added, {killed} writers killed: lost {lost}, broken {broken}")
    return int(lost > 0 or broken > 0)


if __name__ == "__main__":
    raise SystemExit(main())
