"""explain and learn on the shipped log of six invented batches."""

import json
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
LOG = ROOT / "demo-recipes" / "quillhaven-lager-batches.toml"


@pytest.fixture(scope="module")
def explained(run, demo):
    result = run("explain", demo("lager"), LOG, "--json")
    assert result.exit_code == 0, result.exception
    return json.loads(result.output)


def test_shares_of_every_batch_add_up_to_its_deviation(explained):
    for one in explained["attributions"]:
        total = sum(share["estimate"] for share in one["shares"])

        assert total == pytest.approx(one["reached"] - one["reference"], abs=1e-9)


def test_the_batch_that_was_mashed_too_hot_is_told_by_its_final_gravity(explained):
    """Batch Q4 of the log was made with a mash too hot, and nobody wrote it down."""
    (odd,) = [
        one
        for one in explained["attributions"]
        if one["batch"] == "Q4" and one["outcome"].startswith("final")
    ]
    brew = [share for share in odd["shares"] if share["kind"] == "batch"]
    largest = max(brew, key=lambda share: abs(share["estimate"]))

    assert "mash temperature" in largest["label"]
    assert largest["low"] > 0


def test_an_unknown_batch_is_refused_with_the_known_ones(run, demo):
    result = run("explain", demo("lager"), LOG, "--batch", "Q9")

    assert "there is Q1, Q2" in str(result.exception)


def test_a_house_narrows_the_next_prediction_and_refuses_a_batch_twice(run, demo, tmp_path):
    house = tmp_path / "quillhaven.toml"

    learned = run("learn", demo("lager"), LOG, "--house", house, "--json")
    again = run("learn", demo("lager"), LOG, "--house", house)
    before = json.loads(run("simulate", demo("lager"), "--json", "--draws", "4096").output)
    after = json.loads(
        run("simulate", demo("lager"), "--json", "--draws", "4096", "--house", house).output
    )

    assert learned.exit_code == 0, learned.exception
    assert json.loads(learned.output)["batches"] == 6
    assert "learned once" in str(again.exception)
    wide, narrow = (
        next(row for row in found["outcomes"] if row["outcome"] == "bitterness_ibu")
        for found in (before, after)
    )
    assert narrow["high"] - narrow["low"] < 0.8 * (wide["high"] - wide["low"])
