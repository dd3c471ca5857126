"""Wishes, holds and limits that cannot be are refused in words before anything is learned."""

import tomllib
from pathlib import Path

import pytest

from tests.bad.corpus import GOOD
from tests.door import brewsim

CASES = tomllib.loads((Path(__file__).parent / "wishes.toml").read_text(encoding="utf-8"))["case"]
LOG = """tasters = ["A", "B", "C"]
[[batch]]
id = "G1"
date = 2026-01-10
[batch.tasted]
thiols = "too much, too much, -"
[[batch]]
id = "G2"
date = 2026-02-10
"""


def tables(case):
    names = [name for name in ("wish", "hold", "limits") if name in case]
    return "".join(f"\n[{name}]\n{case[name]}\n" for name in names)


def test_there_are_as_many_wrong_lines_as_were_promised():
    told = tomllib.loads((Path(__file__).parent / "tastings.toml").read_text(encoding="utf-8"))

    assert len(told["case"]) + len(CASES) >= 40


@pytest.mark.parametrize("case", CASES, ids=lambda case: str(case.get("asked") or tables(case)))
def test_a_wrong_wish_is_refused_in_words_and_nothing_is_written(case, tmp_path):
    (tmp_path / "good.toml").write_text(GOOD + tables(case), encoding="utf-8")
    (tmp_path / "log.toml").write_text(LOG, encoding="utf-8")
    asked = ("--wish", case["asked"]) if "asked" in case else ()

    done = brewsim("steer", "good.toml", "--batches", "log.toml", *asked, folder=tmp_path)

    assert done.code == 2, done.err
    assert "Traceback" not in done.err
    assert case["expected"] in " ".join(done.err.split()), done.err
    assert sorted(path.name for path in tmp_path.iterdir()) == ["good.toml", "log.toml"]
