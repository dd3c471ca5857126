"""Fuzzing that can be repeated: `python -m tests.fuzz --minutes 10 --seed 1`.

Demo recipes, phrases, own priors and batch logs are broken by a small grammar, one input a
number; `--only N` runs input N again and prints it. Whatever is not a clear refusal (InputError) or
a whole result is a finding, reported once for each place in the code it comes from.
"""

import argparse
import random
import re
import sys
import tempfile
import time
import traceback
import warnings
from collections import Counter
from pathlib import Path

import numpy as np

import brewsim
from brewsim.beer.display_units import rows_of
from brewsim.beer.pose import posed
from brewsim.errors import BrewsimError, InputError
from brewsim.logbook import brew
from brewsim.priors.library import load_priors
from brewsim.quantities.format import value
from brewsim.quantities.phrases import read_phrase
from brewsim.recipe.read import parse_recipe
from tests.fuzz_words import NUMBERS, SHAPES, UNITS, WORDS

ROOT = Path(__file__).resolve().parents[1]
DEMOS = {path.stem: path.read_text("utf-8") for path in sorted(ROOT.glob("demo-recipes/*.toml"))}
RECIPES = {name: text for name, text in DEMOS.items() if "batches" not in name}
LOGS = {name: text for name, text in DEMOS.items() if "batches" in name}
SLOW = 5.0
UNIT_ENDS = re.compile(r'= *"([^"]*)"')


def phrase(chance):
    """A phrase of the grammar with any numbers and units."""
    shape = chance.choice(SHAPES)
    unit = chance.choice(UNITS)
    while "{n}" in shape:
        shape = shape.replace("{n}", _number(chance), 1)
    return shape.replace("{u}", unit)


def _number(chance):
    if chance.random() < 0.5:
        return f"{chance.choice([1, 10, 100]) * chance.random():.{chance.randint(0, 3)}f}"
    return chance.choice(NUMBERS)


def _value(chance):
    kind = chance.random()
    if kind < 0.6:
        return f'"{phrase(chance)}"'
    if kind < 0.75:
        return f'"{chance.choice(WORDS)}"'
    if kind < 0.85:
        return "[" + ", ".join(f'"{phrase(chance)}"' for _ in range(chance.randint(0, 4))) + "]"
    if kind < 0.95:
        return chance.choice([*NUMBERS, "true", "1979-05-27", "{ a = 1 }", "[]", "{}", '""'])
    return chance.choice(WORDS)


def broken(text, others, chance):
    """A text with one to four of its lines changed."""
    lines = text.splitlines()
    spare = [line for other in others for line in other.splitlines()]
    for _ in range(chance.randint(1, 4)):
        place = chance.randrange(len(lines))
        line, change = lines[place], chance.random()
        if change < 0.45 and "=" in line:
            lines[place] = f"{line.partition('=')[0]}= {_value(chance)}"
        elif change < 0.55 and UNIT_ENDS.search(line):
            digits = [m.span() for m in re.finditer(r"[0-9.]+", line)] or [(0, 0)]
            start, end = chance.choice(digits)
            lines[place] = line[:start] + _number(chance) + line[end:]
        elif change < 0.63:
            del lines[place]
        elif change < 0.70:
            lines.insert(chance.randrange(len(lines)), line)
        elif change < 0.82:
            lines.insert(place, chance.choice(spare))
        elif change < 0.88:
            other = chance.randrange(len(lines))
            lines[place], lines[other] = lines[other], line
        elif line:
            at = chance.randrange(len(line))
            lines[place] = (
                line[:at] + chance.choice("\"'[]{}=#.,\\\t °µ½0-\u00a0\u200b") + line[at:]
            )
        if not lines:
            break
    return "\n".join(lines) + "\n"


OWN = """[grain_absorption_l_kg]
family = "lognormal"
median = 1.04
log_sd = 0.15
unit = "L/kg"
kinds = { knowledge = 0.7, batch = 0.3 }
grade = "assumption"
source = "assumption"
note = "x"
[malt."Pilsner malt".moisture_fraction]
family = "beta"
mean = 0.04
sd = 0.01
unit = ""
kinds = { lot = 1.0 }
grade = "assumption"
source = "assumption"
[hop."Fuggle"]
aliases = ["Fuggles"]
"""


def made(number, seed):
    """Input `number`: what it is, and its text."""
    chance = random.Random(f"{seed}-{number}")  # noqa: S311 - no secret
    kind = chance.random()
    if kind < 0.15:
        return "phrase", phrase(chance), chance
    if kind < 0.25:
        return "priors", broken(OWN, [OWN, *RECIPES.values()], chance), chance
    if kind < 0.35 and LOGS:
        text = chance.choice(sorted(LOGS.values()))
        return "log", broken(text, [*LOGS.values()], chance), chance
    text = chance.choice(sorted(RECIPES.values()))
    return "recipe", broken(text, [*RECIPES.values()], chance), chance


def tried(kind, text, chance, folder):
    """Run one input; return "refused" or "whole"; anything else is raised."""
    if kind == "phrase":
        try:
            read_phrase(text, chance.choice(["L", "kg", "fraction", "°C", "g/L", "SG", "°P", ""]))
        except ValueError:
            return "refused"
        return "whole"
    try:
        if kind == "recipe":
            _brewed(text, chance)
        elif kind == "priors":
            (folder / "own.toml").write_text(text, encoding="utf-8")
            priors = load_priors(folder / "own.toml")
            posed(parse_recipe(RECIPES["quillhaven-lager"]), priors)
        else:
            (folder / "log.toml").write_text(text, encoding="utf-8")
            brew.read_batches(folder / "log.toml", ROOT / "demo-recipes/quillhaven-lager.toml")
    except InputError as error:
        told = str(error)
        if "Traceback" in told or "<class" in told or "object at 0x" in told:
            raise AssertionError(f"a fault is not in words: {told}") from error
        return "refused"
    return "whole"


def _brewed(text, chance):
    problem, rows = posed(parse_recipe(text))
    for row in rows:
        if re.search(r"\b(nan|inf)\b", f"{row.value} {row.spread}".lower()):
            if re.search(r"\b(nan|inf)\b", text.lower()):
                continue
            raise AssertionError(f"shown: {row}")
    if chance.random() < 0.3:
        draws = brewsim.simulate(problem, draws=64)
        summary = brewsim.summarise(draws)
        for name, row in rows_of(problem, problem.outcomes).items():
            lacks = not np.isfinite(draws[name]).all()
            if lacks and draws.attrs["not_finite"] == "[]":
                raise AssertionError(f"{name} is not finite and nobody says so")
            told = value(row, float(summary["median"].sel(outcome=name)))
            if "nan" in told or "inf" in told:
                raise AssertionError(f"{name} is shown as {told}")


def place_of(error):
    """Where in the code an error comes from: type, file and line."""
    frames = traceback.extract_tb(error.__traceback__)
    own = [f for f in frames if "/brewsim/" in f.filename] or list(frames)
    return f"{type(error).__name__} at {Path(own[-1].filename).name}:{own[-1].lineno} {error}"[:200]


def run(minutes, seed, first=0, most=None):
    """Try inputs for so many minutes, `most` at the most; return (counts, findings by place)."""
    counts, findings = Counter(), {}
    end, number = time.monotonic() + 60 * minutes, first
    with tempfile.TemporaryDirectory() as name, warnings.catch_warnings():
        warnings.simplefilter("error")
        while time.monotonic() < end and (most is None or number < first + most):
            kind, text, chance = made(number, seed)
            start = time.process_time()
            try:
                counts[kind, tried(kind, text, chance, Path(name))] += 1
            except (Exception, RecursionError) as error:  # noqa: BLE001 - that is what we look for
                fault = "no line" if isinstance(error, BrewsimError) else "crash"
                key = re.sub(r"[0-9.]{3,}", "#", place_of(error))
                if key not in findings:
                    print(f"{fault}, input {number} ({kind}): {place_of(error)}", flush=True)
                findings.setdefault(key, []).append(number)
                counts[kind, "finding"] += 1
            spent = time.process_time() - start
            if spent > SLOW:
                print(f"slow, input {number} ({kind}): {spent:.1f} s", flush=True)
                findings.setdefault("slow", []).append(number)
            number += 1
    return counts, findings


def end_with(findings):
    """Print each kind of finding with its first input, and leave with 1 if there is any."""
    for place, numbers in findings.items():
        print(f"{len(numbers):5} {place} (first: {numbers[0]})")
    sys.exit(1 if findings else 0)


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--minutes", type=float, default=1.0)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", type=int, help="run this one input and print it")
    options = parser.parse_args()
    if options.only is not None:
        kind, text, chance = made(options.only, options.seed)
        print(f"# {kind}\n{text}")
        with tempfile.TemporaryDirectory() as name, warnings.catch_warnings():
            warnings.simplefilter("error")
            print(tried(kind, text, chance, Path(name)))
        return
    counts, findings = run(options.minutes, options.seed)
    for (kind, ending), count in sorted(counts.items()):
        print(f"{kind:8} {ending:8} {count}")
    print(f"{sum(counts.values())} inputs, {len(findings)} kinds of findings")
    end_with(findings)


if __name__ == "__main__":
    main()
