"""Run the commands once on the demos, with nothing but what brewsim itself needs.

    python tests/smoke.py

For environments without the test tools: the lowest versions, other versions of Python.
"""

import subprocess
import sys
import tempfile
import time
from pathlib import Path

DEMOS = Path(__file__).resolve().parents[1] / "demo-recipes"
LAGER, BITTER = DEMOS / "quillhaven-lager.toml", DEMOS / "quillhaven-bitter.toml"
BATCHES = DEMOS / "quillhaven-lager-six-batches.toml"
COMMANDS = (
    ("--version",),
    ("--help",),
    ("new", "My pale ale"),
    ("check", "my-pale-ale.toml"),
    ("simulate", BITTER, "--draws", "1024", "--save", "draws.nc"),
    ("rank", BITTER, "--out", "ranks.csv"),
    ("turn", BITTER, "hop 1 mass"),
    ("steer", BITTER),
    ("compare", BITTER, LAGER),
    ("specify", BITTER),
    ("explain", LAGER, BATCHES),
    ("learn", LAGER, BATCHES, "--house", "house.toml"),
    ("simulate", LAGER, "--house", "house.toml", "--draws", "1024"),
    ("trace", BITTER, "bitterness"),
    ("glossary",),
    ("priors", "Fuggle"),
    ("schema",),
    ("export", BITTER, "--out", "bitter.json"),
    ("new", "--from", "bitter.json", "--out", "again.toml"),
    ("report", BITTER, "--draws", "1024"),
)


def main():
    """Run every command in a folder of its own; returns how many went wrong."""
    wrong = 0
    with tempfile.TemporaryDirectory() as folder:
        for words in COMMANDS:
            began = time.monotonic()
            done = subprocess.run(
                [
                    sys.executable,
                    "-W",
                    "error::DeprecationWarning:brewsim",
                    "-m",
                    "brewsim",
                    *words,
                ],
                check=False,
                cwd=folder,
                capture_output=True,
                text=True,
                encoding="utf-8",
            )
            good = done.returncode == 0 and done.stdout and "Traceback" not in done.stderr
            wrong += not good
            told = " ".join(str(getattr(word, "name", word)) for word in words)
            print(f"{'ok   ' if good else 'WRONG'} {time.monotonic() - began:5.1f} s  {told}")
            if not good:
                print(done.stdout[-500:], done.stderr[-1500:], sep="\n")
    return wrong


if __name__ == "__main__":
    sys.exit(main() > 0)
