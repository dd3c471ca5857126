"""What the shipped log of six invented batches does to predictions."""

import json
from pathlib import Path

import pytest

pytestmark = [pytest.mark.slow, pytest.mark.usefixtures("learned_once")]

ROOT = Path(__file__).resolve().parents[2]
LOG = ROOT / "demo-recipes" / "quillhaven-lager-six-batches.toml"


def test_a_house_narrows_the_next_and_holds_a_batch_once(run, demo, tmp_path):
    house = tmp_path / "quillhaven.toml"

    learned = run("learn", demo("lager"), LOG, "--house", house, "--json")
    again = run("learn", demo("lager"), LOG, "--house", house)
    before = json.loads(run("simulate", demo("lager"), "--json", "--draws", "4096").output)
    after = json.loads(
        run("simulate", demo("lager"), "--json", "--draws", "4096", "--house", house).output
    )

    other = tmp_path / "other.toml"
    text = Path(demo("lager")).read_text(encoding="utf-8")
    other.write_text(text.replace("80 ± 3 %", "80 ± 1 %"), encoding="utf-8")
    set_aside = run("simulate", other, "--draws", "64", "--house", house)

    lots = [
        json.loads(run("relot", demo("lager"), "N24", "--alpha", "6.5 %", "--json", *more).output)
        for more in ((), ("--house", house))
    ]

    assert learned.exit_code == 0, learned.exception
    assert "what the house learned about mash efficiency" in set_aside.stderr
    assert "is not used here" in set_aside.stderr
    bands = [lot["bitterness_ibu"]["new lot, rescaled"] for lot in lots]
    assert bands[1]["high"] - bands[1]["low"] < 0.9 * (bands[0]["high"] - bands[0]["low"])
    assert json.loads(learned.output)["batches"] == 6
    assert again.exit_code == 0, again.exception
    assert "now holds 6 batches" in " ".join(again.output.split())
    wide, narrow = (
        next(row for row in found["outcomes"] if row["outcome"] == "bitterness_ibu")
        for found in (before, after)
    )
    assert narrow["high"] - narrow["low"] < 0.8 * (wide["high"] - wide["low"])
