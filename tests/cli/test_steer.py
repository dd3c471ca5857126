"""brewsim steer: what the knobs can do, in sentences and as JSON."""

import json

import pytest


@pytest.mark.slow
def test_steering_says_today_each_knob_and_what_is_in_the_way(run, demo):
    result = run("steer", demo("lager"), "--chance", "0.9", "--quiet")

    assert result.exit_code == 0, result.exception
    assert "As the recipe stands" in result.output
    assert "Fewest knobs: turn" in result.output
    assert "In a batch where all else is the same, nine in ten: " in " ".join(result.output.split())
    assert "Kept noticeable in every setting" in result.output
    assert "alone" in result.output
    assert "Checked on fresh draws" in result.output


def test_json_holds_both_chances_and_what_the_search_saw(run, demo):
    found = json.loads(run("steer", demo("lager"), "--knob", "hop 2 mass", "--json").output)

    assert set(found["best"]) >= {"chance", "searched", "most_likely_truth", "settings"}
    assert [single["knob"] for single in found["singles"]] == ["hop 2 mass"]
