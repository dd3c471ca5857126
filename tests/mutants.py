"""Change one operator or number of answers/ or logbook/ and see whether a test notices.

`python -m tests.mutants 60 --seed 1` samples places over all files of the two rooms, writes each
change into a copy of this checkout, runs the tests that MAPPED names, and prints how each ended.
The same tests have to pass on the code as it is first.
"""

import argparse
import ast
import os
import random
import re
import shutil
import sys
import tempfile
import time
from functools import cache
from pathlib import Path

import numpy  # noqa: F401, ICN001 - loaded once, before the forks
import pytest
import scipy.stats  # noqa: F401
import xarray  # noqa: F401

ROOT = Path(__file__).resolve().parents[1]
ROOMS = ("answers", "logbook")
LONGEST = 300.0
_RAN_NOTHING = (pytest.ExitCode.USAGE_ERROR, pytest.ExitCode.NO_TESTS_COLLECTED)
_LOG = " ".join(
    f"logbook/test_{part}"
    for part in ("entries", "document", "readings", "log", "tables", "sections")
)
_TASTED = "logbook/test_tasting logbook/test_tasting_words logbook/test_tasting_tables"
_BAD = "bad/test_corpus.py::test_a_broken_batch_log_is_refused_in_words"
_SPEC = "answers/test_specification_asked"
_HOUSE = "logbook/test_house_latest logbook/test_house_file logbook/test_house_store"
_WORDS = "wording/test_batches"
MAPPED = {
    r"answers/ratio_sides": "answers/test_ratio_sides answers/test_kept",
    r"answers/(forecast|fewest_moves)": "answers/test_fewest_moves answers/test_kept",
    r"answers/kept": "answers/test_kept cli/test_steer",
    r"answers/corrections": "answers/test_corrections answers/test_brew_day",
    r"answers/brew_day": "answers/test_brew_day cli/test_midway",
    r"answers/brew_card": "answers/test_brew_card",
    r"answers/(coverage|published_brews)": "answers/test_coverage_of published/test_coverage",
    r"answers/odd_causes": f"answers/test_odd_causes {_WORDS}",
    r"answers/explanation": f"answers/test_from_log answers/test_explanation {_WORDS}",
    r"answers/from_log": f"answers/test_from_log {_WORDS}",
    r"answers/what_teaches": "logbook/test_wished cli/test_tasted",
    r"answers/(log_table|single_reading)": "answers/test_single_reading answers/test_odd_causes",
    r"answers/learned_inputs": "answers/test_learned_inputs",
    r"answers/learned_log": "cli/test_learn cli/test_explain",
    r"answers/leading_assumptions": "answers/test_leading_assumptions",
    r"answers/(label_verdicts|spec.*)": f"{_SPEC} answers/test_spec_question cli/test_specify",
    r"answers/lot_substitution": "answers/test_coverage_of answers/test_lot_substitution",
    r"answers/(next_beer|second_batches)": "logbook/test_wished cli/test_tasted",
    r"answers/over_rating": "answers/test_from_log answers/test_over_rating",
    r"answers/(over_time|log_in_time)": "answers/test_over_time answers/test_run_charts",
    r"answers/prior_comparison": "answers/test_everything_asked cli/test_priors",
    r"answers/run_charts": "answers/test_run_charts",
    r"answers/sources": "answers/test_sources",
    r"answers/fifty": "answers/test_fifty answers/test_everything",
    r"answers/everything": "answers/test_everything_asked answers/test_everything",
    r"answers/kinds": f"{_SPEC} page/test_page kinds",
    r"answers/wish_dials": "answers/test_wish_dials",
    r"logbook/(house\w*|journal)": f"{_HOUSE} logbook/test_house_log logbook/test_house",
    r"logbook/columns": "logbook/test_frames wording/test_specification_log cli/test_specify",
    r"logbook/own_instruments": "logbook/test_readings logbook/test_own_instruments",
    r"logbook/(as_brewed|brew|pose)": f"logbook/test_as_brewed {_LOG}",
    r"logbook/slips": "logbook/test_slips",
    r"logbook/card_entry": f"cli/test_log {_LOG}",
    r"logbook/(split_wort|tast\w*)": f"{_TASTED} {_LOG} {_BAD}",
    r"logbook/log$": f"{_LOG} logbook/test_house_log",
    r"logbook/wished": "logbook/test_wished cli/test_tasted",
    r"logbook/": f"{_LOG} logbook/test_frames {_BAD}",
}
SWAPPED = {
    ast.Lt: ast.LtE,
    ast.LtE: ast.Lt,
    ast.Gt: ast.GtE,
    ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.And: ast.Or,
    ast.Or: ast.And,
}


def places(tree):
    """Return every node of a module that can be changed, in the order of the walk."""
    types = {id(part) for node in ast.walk(tree) for part in _annotations(node)}
    return [node for node in ast.walk(tree) if id(node) not in types and _can_change(node)]


def _annotations(node):
    """Yield what says how a thing is declared: types, and the options of its decorators."""
    for decorator in getattr(node, "decorator_list", ()):
        yield from ast.walk(decorator)
    for name in ("annotation", "returns"):
        held = getattr(node, name, None)
        if held is not None:
            yield from ast.walk(held)


def _can_change(node):
    if isinstance(node, ast.Compare):
        return type(node.ops[0]) in SWAPPED
    if isinstance(node, ast.BinOp):
        return type(node.op) in SWAPPED and not isinstance(node.left, ast.Constant | ast.JoinedStr)
    if isinstance(node, ast.Constant):
        return isinstance(node.value, int | float)
    return isinstance(node, ast.BoolOp)


def change(node):
    """Change a node; returns what was done, in words."""
    before = ast.unparse(node)
    if isinstance(node, ast.Compare):
        node.ops[0] = SWAPPED[type(node.ops[0])]()
    elif isinstance(node, ast.BinOp | ast.BoolOp):
        node.op = SWAPPED[type(node.op)]()
    else:
        node.value = not node.value if isinstance(node.value, bool) else node.value + 1
    return f"{before} -> {ast.unparse(node)}"


def tests_of(name):
    """Return the tests of a module, told as answers/name or logbook/name."""
    words = next(told for pattern, told in MAPPED.items() if re.match(pattern, name)).split()
    words.insert(0, "answers/test_defaults")
    return [
        f"tests/{word}" + ("" if "::" in word or (ROOT / "tests" / word).is_dir() else ".py")
        for word in words
    ]


def sampled(count, seed, of=""):
    """Return (file, number of the place in it) of a sample, without repeats.

    `of` is a pattern of room/name, such as logbook/house; of few places all are the sample.
    """
    found = [
        (path, number)
        for room in ROOMS
        for path in sorted((ROOT / "brewsim" / room).glob("*.py"))
        if re.match(of, f"{room}/{path.stem}")
        for number in range(len(places(ast.parse(path.read_text("utf-8")))))
    ]
    return random.Random(seed).sample(found, min(count, len(found)))  # noqa: S311 - no secret


def ending(folder, tests):
    """Run tests in a process of its own; returns killed, survived or timed out.

    Raises RuntimeError where pytest ran none of them.
    """
    child = os.fork()
    if child == 0:
        os.chdir(folder)
        sys.dont_write_bytecode = True
        sys.path[:] = [str(folder), *[p for p in sys.path if Path(p or ".").resolve() != ROOT]]
        with Path(os.devnull).open("w") as silent:
            os.dup2(silent.fileno(), 1)
            os.dup2(silent.fileno(), 2)
        os._exit(int(pytest.main(["-x", "-q", "-p", "no:cacheprovider", *tests])))
    end = time.monotonic() + LONGEST
    while time.monotonic() < end:
        pid, status = os.waitpid(child, os.WNOHANG)
        if pid:
            code = os.waitstatus_to_exitcode(status)
            if code in _RAN_NOTHING:
                raise RuntimeError(f"pytest ran nothing of {tests}")
            return "survived" if code == pytest.ExitCode.OK else "killed"
        time.sleep(0.2)
    os.kill(child, 9)
    os.waitpid(child, 0)
    return "timed out"


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("count", type=int, nargs="?", default=60)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--of", default="", help="only of files whose room/name this matches")
    options = parser.parse_args()
    counts = {"killed": 0, "survived": 0, "timed out": 0}
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "copy"
        left = shutil.ignore_patterns(".git", ".venv*", "__pycache__", ".mypy_cache")
        shutil.copytree(ROOT, folder, ignore=left)
        passes = cache(lambda *tests: ending(folder, tests) == "survived")
        for path, number in sampled(options.count, options.seed, options.of):
            tests = tests_of(f"{path.parent.name}/{path.stem}")
            if not passes(*tests):
                raise SystemExit(f"fail as they are: {tests}")
            tree = ast.parse(path.read_text("utf-8"))
            node = places(tree)[number]
            line, told = node.lineno, change(node)
            copy = folder / path.relative_to(ROOT)
            copy.write_text(ast.unparse(tree), encoding="utf-8")
            found = ending(folder, tests)
            copy.write_text(path.read_text("utf-8"), encoding="utf-8")
            counts[found] += 1
            print(f"{found:9} {path.parent.name}/{path.name}:{line} {told[:120]}", flush=True)
    print(counts)


if __name__ == "__main__":
    main()
