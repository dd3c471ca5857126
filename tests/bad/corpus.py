"""The corpus: a good recipe, and cases that each break one line of it."""

import re
import tomllib
from pathlib import Path
from typing import NamedTuple

HERE = Path(__file__).parent
GOOD = (HERE / "good.toml").read_text(encoding="utf-8")
BATCH = "[[batch]]\nid = 'B1'\ndate = 2026-01-01\n"
_PRIOR = {
    "unit": "L/kg",
    "kinds": "{ knowledge = 1.0 }",
    "grade": "assumption",
    "source": "assumption",
    "name": "grain_absorption_l_kg",
}


class Case(NamedTuple):
    """One broken file and what its reader must be told."""

    name: str
    text: str
    expected: str


def recipes(stem):
    """Return the cases of a file of broken recipes."""
    return [_case(stem, case, _recipe(case)) for case in _cases(stem)]


def whole_files(stem):
    """Return the cases of a file whose `whole` (or `prior`) is the broken file."""
    return [_case(stem, case, _whole(case)) for case in _cases(stem)]


def _whole(case):
    if "whole" in case:
        return case["whole"]
    if "prior" in case:
        return _prior(case)
    if "tasted" in case or "sitting" in case:
        return _tasted(case)
    changed = f"changed = {case['changed']}\n" if "changed" in case else ""
    reading = case.get("reading", "bitterness = '22 IBU'")
    return f"{BATCH}{changed}[batch.readings]\n{reading}\n"


def _tasted(case):
    """Return a log of two batches; the second is G2, what is broken stands in either or below."""
    second = "[[batch]]\nid = 'G2'\ndate = 2026-01-20\n"
    table = f"[batch.tasted]\n{case['tasted']}\n" if "tasted" in case else ""
    sitting = f"[[tasting]]\n{case['sitting']}\n" if "sitting" in case else ""
    return f"tasters = ['A', 'B', 'C']\n{BATCH.replace('B1', 'G1')}{table}{second}{sitting}"


def _cases(stem):
    return tomllib.loads((HERE / f"{stem}.toml").read_text(encoding="utf-8"))["case"]


def _case(stem, case, text):
    kinds = ("put", "prior", "drop", "whole", "changed", "reading", "tasted", "sitting")
    told = next((case[kind] for kind in kinds if case.get(kind)), "empty")
    extra = " ".join(str(case[key]) for key in _PRIOR if key in case)
    at = f"{case['at']}-" if "at" in case else ""
    name = f"{stem}: {at}{told} {extra}".encode("ascii", "replace").decode()
    name = " ".join(name.split())
    short = name if len(name) <= 90 else f"{name[:40]}...{name[-45:]}"
    return Case(short, text, case["expected"])


def _recipe(case):
    if "whole" in case:
        return case["whole"]
    blocks = re.split(r"\n(?=\[)", GOOD)
    names = [_name(block, blocks[:place]) for place, block in enumerate(blocks)]
    if case["at"] == "end":
        return f"{GOOD}\n{case['put']}\n"
    place = names.index(case["at"])
    blocks[place] = _changed(blocks[place], case.get("put", ""), case.get("drop", ""))
    return "\n".join(blocks)


def _name(block, before):
    head = re.match(r"\[+(\w+)\]", block)
    if head is None:
        return "top"
    count = sum(other.startswith(head[0]) for other in before)
    return f"{head[1]} {count + 1}" if count else head[1]


def _changed(block, put, drop):
    key = drop or put.partition("=")[0].strip()
    kept = [line for line in block.splitlines() if line.partition("=")[0].strip() != key or not key]
    return "\n".join([*kept, put, ""]).replace("\n\n\n", "\n")


def _prior(case):
    told = _PRIOR | {key: case[key] for key in _PRIOR if key in case}
    return (
        f"[{told['name']}]\n{case['prior']}\nunit = '{told['unit']}'\nkinds = {told['kinds']}\n"
        f"grade = '{told['grade']}'\nsource = '{told['source']}'\n"
    )
