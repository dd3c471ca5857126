"""Run edge inputs in this process under a watchdog, and judge what comes back."""

import contextlib
import random
import re
import signal
import tempfile
import time
import warnings
from collections import Counter
from functools import cache
from pathlib import Path
from typing import NamedTuple
from unittest import mock

from brewsim.cli import worker_process
from brewsim.errors import InputError
from brewsim.logbook import brew
from tests.door import Done, brewsim
from tests.fuzz_doors.doors import bases, recipe_case, toml
from tests.fuzz_doors.other_doors import LAGER, document_case, house_case, log_case, priors_case

DOORS = {
    "recipe": (recipe_case, 0.55),
    "log": (log_case, 0.15),
    "house": (house_case, 0.06),
    "priors": (priors_case, 0.12),
    "interchange": (document_case, 0.12),
}
MOST_TIMES = 20
LEAST_USUAL = 0.25
HANGS = 180.0
_NO_FIGURE = re.compile(r"(?<![\w“])[-−+]?(?:nan|inf|NaN|Infinity)(?![\w”])")


class Longest(NamedTuple):
    """The longest command so far."""

    seconds: float = 0.0
    what: str = ""


class HungError(BaseException):
    """Raised by the watchdog; no `except Exception` holds it."""


def made(number, seed, door=None):
    """Return input `number` of a seed, of one door or of all in their shares."""
    chance = random.Random(f"doors-{seed}-{number}")  # noqa: S311 - no secret
    names = sorted(DOORS)
    picked = chance.choices(names, [DOORS[name][1] for name in names])[0]
    return DOORS[door or picked][0](chance)


def _rung(*_):
    raise HungError


def _done(words, folder):
    """Run one command; returns what it said and its processor seconds."""
    signal.signal(signal.SIGPROF, _rung)
    start = time.process_time()
    signal.setitimer(signal.ITIMER_PROF, HANGS)
    try:
        read = words[0] == "read"
        done = _read(folder / words[1]) if read else brewsim(*words, folder=folder)
    except HungError:
        done = Done(1, "", "HungError")
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
    return done, time.process_time() - start


def _read(path):
    """Read a log as every command on a log begins, without its studies."""
    try:
        brew.read_batches(path, LAGER)
    except InputError as error:
        return Done(2, "", str(error))
    return Done(0, "", "")


@cache
def usual_seconds(command):
    """Return what a command takes on a recipe or log as it should be, once it is warm."""
    words = {
        "read": ["read", "l.toml"],
        "report": ["report", "r.toml", "--light", "--quiet", "--draws", "256"],
        "trace": ["trace", "r.toml", "bitterness_ibu"],
        "export": ["export", "r.toml", "--out", "-"],
        "relot": ["relot", "r.toml", "N24", "--alpha", "6 %"],
        "turn": ["turn", "r.toml", "mash", "--draws", "64"],
        "midway": ["midway", "r.toml", "--reading", "preboil_gravity = 1.04"],
        "compare": ["compare", "r.toml", LAGER],
        "simulate": ["simulate", "r.toml", "--draws", "64"],
        "explain": ["explain", LAGER, "l.toml", "--quiet"],
        "learn": ["learn", LAGER, "l.toml", "--house", "h.toml", "--quiet"],
    }.get(command, [command, "r.toml"])
    if command in ("house", "priors", "new"):
        return 1.0
    log = Path(LAGER).with_name("quillhaven-lager-six-batches.toml")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "r.toml").write_text(toml(bases()["quillhaven-lager"]), encoding="utf-8")
        (folder / "l.toml").write_text(log.read_text("utf-8"), encoding="utf-8")
        _done(words, folder)
        return max(LEAST_USUAL, _done(words, folder)[1])


def _fault(words, done, seconds):
    """Return what is wrong with what a command did, "" where nothing is."""
    if done.code not in (0, 2):
        return _place_of(done.err)
    if done.code == 2 and (not done.err.strip() or "Traceback" in done.err):
        return "refused without a word"
    if done.code == 2 and re.search(r"<class|object at 0x|__line__", done.err):
        return f"not in words: {done.err[:100]}"
    if done.code == 0 and (found := _NO_FIGURE.search(done.out)):
        start = max(found.start() - 60, 0)
        return f"{words[0]} prints no figure: …{done.out[start : found.end() + 20]!r}"
    if seconds > MOST_TIMES * usual_seconds(words[0]):
        return f"{words[0]} takes more than {MOST_TIMES} times its usual"
    return ""


def _place_of(err):
    frames = re.findall(r'File "[^"]*/(brewsim/[^"]+)", line (\d+)', err)
    last = (err.strip().splitlines() or ["?"])[-1]
    where = ":".join(frames[-1]) if frames else "?"
    return f"{where} {last[:120]}"


def tried(case):
    """Run the commands of a case; yields (words, ending, fault, seconds)."""
    helper = mock.patch.object(worker_process, "helper", contextlib.nullcontext)
    with tempfile.TemporaryDirectory() as name, helper, warnings.catch_warnings():
        warnings.simplefilter("error")
        for file, text in case.files.items():
            (Path(name) / file).write_text(text, encoding="utf-8", errors="surrogatepass")
        for words in case.commands:
            done, seconds = _done(words, Path(name))
            fault = _fault(words, done, seconds)
            ending = "finding" if fault else {0: "whole", 2: "refused"}[done.code]
            yield words, ending, fault, seconds
            if done.code != 0:
                return


def run(inputs, seed, first=0, door=None, say=print):
    """Try inputs; returns (counts by door and ending, findings by place, the longest)."""
    counts, findings, longest = Counter(), {}, Longest()
    for number in range(first, first + inputs):
        case = made(number, seed, door)
        for words, ending, fault, seconds in tried(case):
            counts[case.door, ending] += 1
            if seconds > longest.seconds:
                longest = Longest(seconds, f"input {number}: {' '.join(words)}")
            if fault:
                key = re.sub(r"[0-9.]{3,}", "#", fault)
                if key not in findings:
                    say(f"input {number} ({case.door}, {words[0]}): {fault}", flush=True)
                findings.setdefault(key, []).append(number)
        if (number - first + 1) % 1000 == 0:
            say(f"{number - first + 1} inputs, {len(findings)} kinds of findings", flush=True)
    return counts, findings, longest
