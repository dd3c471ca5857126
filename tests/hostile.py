"""Hostile files and what they cost: `python -m tests.hostile` prints the table.

Each is checked in a process of its own, forked where the libraries are loaded; time is processor
time of that process, memory its largest resident set.
"""

import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import NamedTuple

from tests.bad.corpus import GOOD

MOST_SECONDS = 2.0
MOST_MB = 500.0


class Cost(NamedTuple):
    """Exit code, what was printed on standard error, processor seconds, wall seconds, megabytes."""

    code: int
    err: str
    seconds: float
    wall: float
    megabytes: float


def _top(line):
    """The good recipe with its volume, its boil or its name written otherwise."""
    key = line.partition("=")[0].strip()
    before, _, after = GOOD.partition(f"\n{key} = ")
    return f"{line}\n{GOOD}" if not after else f"{before}\n{line}\n{after.partition(chr(10))[2]}"


_HOP = '[[hop]]\nvariety = "Fuggle"\nmass = "1 g"\nwhen = "boil 5 min"\n'

REFUSED = {
    "volume 1e308": _top('volume = "1e308 L"'),
    "volume of 290 digits": _top(f'volume = "{"9" * 290} L"'),
    "integer of 5,000 digits": _top(f"volume = {'9' * 5000}"),
    "volume nan": _top("volume = nan"),
    "volume inf": _top("volume = inf"),
    "volume negative": _top('volume = "-20 L"'),
    "5,000 hop additions": GOOD + _HOP * 5000,
    "a name of 900 kB": _top(f'name = "{"x" * 900_000}"'),
    "a file of 5 MB": GOOD + "# " + "x" * 5_000_000,
    "a phrase of 500 kB": _top(f'volume = "{"1 " * 250_000}L"'),
    "a time of 500 kB": GOOD.replace("boil 60 min", "whirlpool" + " at" * 160_000),
    "a hop variety of 500 kB": GOOD.replace("Fuggle", "F " * 250_000),
    "a hop line of 500 kB": _top(f'boil = "60 min"\nhop = ["{"1 g F " * 80_000}"]'),
    "an inline key 50,000 deep": _top("water = { " + ".".join("a" * 50_000) + " = 1 }"),
    "a key of 500 kB": _top(f"{'k' * 500_000} = 1"),
    "a dotted key 50,000 deep": _top(".".join("a" * 50_000) + " = 1"),
    "lists 50,000 deep": _top(f"notes = {'[' * 50_000}{']' * 50_000}"),
    "tables 2,000 deep": GOOD + "[" + ".".join("a" * 2000) + "]\n",
    "20,000 keys twice": _top('boil = "60 min"\n' * 20_000),
    "20,000 unknown keys": _top("".join(f"k{n} = 1\n" for n in range(20_000))),
    "20,000 targets": GOOD.replace(
        "[knobs]", "".join(f"t{n} = 1\n" for n in range(20_000)) + "[knobs]"
    ),
    "5,000 knobs": GOOD.replace(
        "[given]", "".join(f'"k{n}" = "1"\n' for n in range(5000)) + "[given]"
    ),
    "100,000 measurements": _top("volume = [" + '"1 L", ' * 100_000 + "]"),
    "quotes without end": _top('notes = "' + '\\"' * 200_000),
    "200,000 opening brackets": GOOD + "[" * 200_000,
    "a unit of look-alikes": _top('volume = "20 ⅬL"'),
    "a hop of look-alikes": GOOD.replace("Fuggle", "Fugglе"),  # the last letter is Cyrillic
    "digits that are not ASCII": _top('volume = "٢٠ L"'),
    "text that runs right to left": _top('name = "\u202eBeer"'),
    "NUL bytes": GOOD + "\0" * 1000,
    "not UTF-8": b"name = '\xff\xfe'\n",
    "a compressed file": b"\x1f\x8b\x08\x00" + bytes(range(256)) * 100,
    "only blanks, 900 kB": " " * 900_000,
    "70,000 empty tables": "".join(f"[t{n}]\n" for n in range(70_000)),
}
WHOLE = {
    "script tags in names": _top('name = "<script>alert(1)</script>"'),
    "template tags in names": _top('name = "{{ 7 * 7 }}{% raw %}"'),
    "path tricks in names": _top('name = "../../../etc/passwd"'),
    "a formula in a name": _top('name = "=1+2|cmd"'),
    "150 hop additions": GOOD + _HOP * 150,
}


_FORKED = """
import atexit, os, re, sys
import brewsim.cli.check, brewsim.cli.commands, brewsim.logbook.pose, brewsim.recipe.read
from brewsim.cli import main
def peak():
    with open("/proc/self/status") as status, open("peak", "w") as out:
        out.write(re.search(r"VmHWM:\\s+(\\d+)", status.read())[1])
for folder in sys.stdin:
    child = os.fork()
    if not child:
        break
    _, status, used = os.wait4(child, 0)
    print(os.waitstatus_to_exitcode(status), used.ru_utime + used.ru_stime, flush=True)
else:
    sys.exit()
os.chdir(folder.rstrip())
os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
os.dup2(os.open("err", os.O_WRONLY | os.O_CREAT), 2)
sys.argv = ["brewsim", "check", "recipe.toml"]
atexit.register(peak)
main()
"""
"""Forks a checking process for every folder it reads the name of: libraries are loaded once."""


class Checks:
    """Checks of hostile files, each in a process of its own that is forked from one."""

    def __enter__(self):
        pipes = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE, "text": True}
        self.server = subprocess.Popen([sys.executable, "-c", _FORKED], **pipes)
        return self

    def __exit__(self, *_):
        self.server.communicate()

    def cost(self, text):
        """Check a hostile file and measure it; the peak is that of its own process."""
        with tempfile.TemporaryDirectory() as name:
            path = Path(name) / "recipe.toml"
            path.write_bytes(text if isinstance(text, bytes) else text.encode())
            start = time.monotonic()
            print(name, file=self.server.stdin, flush=True)
            code, spent = self.server.stdout.readline().split()
            wall = time.monotonic() - start
            told = (Path(name) / "err").read_text()
            megabytes = int((Path(name) / "peak").read_text()) / 1024
        return Cost(int(code), told, float(spent), wall, megabytes)


def main():
    print(f"{'hostile file':34} {'exit':>4} {'cpu s':>6} {'wall s':>6} {'MB':>5}  first fault")
    wanted = " ".join(sys.argv[1:])
    with Checks() as checks:
        for name, text in (REFUSED | WHOLE).items():
            if wanted not in name:
                continue
            found = checks.cost(text)
            first = (found.err.splitlines() or [""])[0].removeprefix("recipe.toml: ")[:60]
            print(
                f"{name:34} {found.code:4} {found.seconds:6.2f} {found.wall:6.2f} "
                f"{found.megabytes:5.0f}  {first}",
                flush=True,
            )


if __name__ == "__main__":
    main()
