"""brewsim midway: readings in, corrections out."""

import json
import re
from pathlib import Path

READING = ("--reading", "preboil_gravity_sg = 1.030 ± 0.001")


def test_readings_give_what_is_left_and_what_helps(run, demo):
    result = run("midway", demo("bitter"), *READING)

    assert result.exit_code == 0, result.exception
    assert "as measured" in result.output
    assert "spread left" in result.output
    assert "boil longer: " in result.output
    assert re.search(r"\d+ min more", result.output)
    assert "Dilute with water" in result.output


def test_json_lists_every_correction(run, demo):
    content = json.loads(run("midway", demo("bitter"), *READING, "--json").output)

    assert {c["unit"] for c in content["corrections"]} == {"min", "kg", "L"}


def test_a_reading_without_a_name_is_refused(run, demo):
    result = run("midway", demo("bitter"), "--reading", "1.030")

    assert "write name = value" in str(result.exception)


def test_a_doubtful_reading_is_told_first(run, demo):
    result = run("midway", demo("bitter"), "--reading", "preboil_gravity_sg = 1.018")

    assert "hardly possible by the plan" in " ".join(result.output.split("The brew day")[0].split())


def test_a_reading_that_is_there_twice_is_refused(run, demo):
    result = run("midway", demo("bitter"), "--reading", "OG = 1.044", "--reading", "OG=1.045")

    assert "OG is there twice" in str(result.exception)


def test_a_recipe_in_plato_is_shown_in_plato(run, tmp_path, demo):
    text = Path(demo("bitter")).read_text(encoding="utf-8")
    recipe = tmp_path / "plato.toml"
    recipe.write_text(text.partition("[targets]")[0], "utf-8")

    result = run("midway", recipe, "--reading", "preboil_gravity = 8 °P")

    assert "°P" in result.output
    assert "SG" not in result.output


def test_minutes_of_a_shorter_boil_are_less(run, demo):
    strong = ("--reading", "preboil_gravity_sg = 1.046 ± 0.001")
    said = " ".join(run("midway", demo("bitter"), *strong).output.split())

    assert "shorter" in said
    assert re.search(r"\d+ min less", said)
    assert " min more" not in said
