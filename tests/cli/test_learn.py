"""`brewsim learn`: what is now known, the next batch before and after, no batch twice."""

import json

import pytest

pytestmark = [pytest.mark.slow, pytest.mark.usefixtures("learned_once")]


def test_learning_writes_a_house_that_the_other_commands_take(run, demo, tmp_path):
    house = tmp_path / "HOUSE.toml"

    first = run("learn", demo("lager"), demo("lager-six-batches"), "--house", house, "--json")
    told = json.loads(first.output)
    after = run("simulate", demo("lager"), "--house", house, "--draws", 4096, "--json")

    ends = told["next_batch"]["bitterness_ibu"]
    width = {key: ends[key]["high"] - ends[key]["low"] for key in ends}
    assert told["batches"] == 6
    assert width["after"] < 0.7 * width["before"]
    assert any(row["instrument"] == "Quillhaven spindle" for row in told["instruments"])
    assert after.exit_code == 0

    before = house.read_bytes()
    again = run("learn", demo("lager"), demo("lager-six-batches"), "--house", house, "--json")

    assert json.loads(again.output)["batches"] == 6
    assert house.read_bytes() == before


def test_what_is_known_is_said_in_words_with_before_and_after(run, demo, tmp_path):
    result = run("learn", demo("lager"), demo("lager-six-batches"), "--house", tmp_path / "H.toml")

    assert "after 6 batches" in result.output
    assert "Quillhaven spindle reads low" in result.output
    assert "posterior" not in result.output
