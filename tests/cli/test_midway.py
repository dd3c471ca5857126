"""brewsim midway: readings in, corrections out."""

import json

READING = ("--reading", "preboil_gravity_sg = 1.030 ± 0.001")


def test_readings_give_what_is_left_and_what_helps(run, demo):
    result = run("midway", demo("bitter"), *READING)

    assert result.exit_code == 0, result.exception
    assert "as measured" in result.output
    assert "spread left" in result.output
    assert "boil longer" in result.output
    assert "Dilute with water" in result.output


def test_json_lists_every_correction(run, demo):
    content = json.loads(run("midway", demo("bitter"), *READING, "--json").output)

    assert {c["unit"] for c in content["corrections"]} == {"min", "kg", "L"}


def test_a_reading_without_a_name_is_refused(run, demo):
    result = run("midway", demo("bitter"), "--reading", "1.030")

    assert "write name = value" in str(result.exception)
