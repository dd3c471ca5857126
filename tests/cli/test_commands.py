"""The commands: what they print, as text and as JSON."""

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest


def test_check_says_what_was_understood_and_assumed(run, demo):
    result = run("check", demo("lager"))

    assert result.exit_code == 0
    assert "I understood" in result.output
    assert "I assumed" in result.output
    assert "nine in ten" in result.output


def test_check_json_names_a_grade_for_every_assumption(run, demo):
    content = json.loads(run("check", demo("bitter"), "--json").output)
    assumed = [row for row in content["inputs"] if row["assumed"]]

    assert len(assumed) > 20
    assert all(row["grade"] for row in assumed)


@pytest.mark.slow
def test_simulate_prints_every_outcome_with_its_target(run, demo):
    result = run("simulate", demo("bitter"), "--draws", "1024")

    assert result.exit_code == 0
    assert re.search(r"strength.*% ABV.* of 50", result.output)
    assert "All targets together" in result.output
    assert max(map(len, result.output.splitlines())) <= 80


def test_simulate_json_is_the_same_for_the_same_seed(run, demo):
    words = ("simulate", demo("lager"), "--draws", "256", "--json", "--seed", "0")

    assert run(*words).output == run(*words).output


def test_rank_shows_shares_with_their_sampling_interval(run, demo):
    result = run("rank", demo("lager"), "--outcome", "thiol_lead")

    assert result.exit_code == 0
    assert re.search(r"\d+ % │\s+\d+ to \d+", result.output)


def test_rank_by_kind_adds_up_to_everything(run, demo):
    content = json.loads(run("rank", demo("lager"), "--by", "kind", "--json").output)
    total = {}
    for row in content["indices"]:
        total.setdefault(row["outcome"], []).append(row["total_order"])

    assert all(sum(shares) >= 0.95 for shares in total.values())


def test_an_unknown_outcome_is_met_with_the_nearest_name(run, demo):
    result = run("rank", demo("lager"), "--outcome", "alcohl")

    assert "Did you mean alcohol?" in str(result.exception)


def test_trace_goes_down_to_inputs_with_units_and_sources(run, demo):
    result = run("trace", demo("lager"), "bitterness_ibu")

    assert result.exit_code == 0
    assert result.output.startswith("bitterness_ibu = ")
    assert "IBU" in result.output
    assert "(given) = " in result.output
    assert "Malowicki" in result.output
    assert "[no source]" not in result.output


def test_priors_are_shown_in_words(run):
    result = run("priors", "Hersbrucker Spat")

    assert result.exit_code == 0
    assert "nine in ten between" in result.output


def test_glossary_lists_every_quantity_with_a_source(run):
    entries = json.loads(run("glossary", "--json").output)["quantities"]

    assert len(entries) > 300
    assert all(entry["source"] for entry in entries)


def test_schema_is_a_json_schema(run):
    schema = json.loads(run("schema").output)

    assert "volume" in schema["properties"]


def test_a_new_recipe_passes_check_and_is_never_overwritten(run, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)

    made = run("new", "Quillhaven <b>porter</b>")
    again = run("new", "Quillhaven <b>porter</b>")

    assert made.exit_code == 0
    (path,) = tmp_path.glob("*.toml")
    assert run("check", path).exit_code == 0
    assert "there already" in str(again.exception)


@pytest.mark.slow
def test_report_writes_one_page_and_prints_its_sentences(shelf):
    printed, page = shelf.report("bitter")
    told = " ".join(printed.split())

    assert re.search(r"Quillhaven bitter: .* \d+ of 50 meet all four targets", told)
    assert "Do: " in told
    assert "Why: " in told
    assert "nine chances in ten" not in told
    assert page.read_text(encoding="utf-8").lower().startswith("<!doctype html>")
    assert list(page.parent.iterdir()) == [page]


def test_help_answers_without_loading_the_libraries():
    """A cold `--help` must not import SciPy, xarray or Plotly."""
    code = (
        "import sys; from brewsim.cli import app; from brewsim.cli.commands import register; "
        "register(app); print([m for m in ('scipy', 'xarray', 'plotly') "
        "if m in sys.modules])"
    )

    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)

    assert done.stdout.strip() == "[]"


@pytest.mark.slow
def test_wrong_input_exits_with_2_and_every_fault(tmp_path):
    recipe = tmp_path / "wrong.toml"
    recipe.write_text('name = "x"\nvolume = "20 gal"\nboil = "an hour"\ncolour = "red"\n')

    done = subprocess.run(
        [sys.executable, "-m", "brewsim", "report", str(recipe)],
        capture_output=True,
        text=True,
        check=False,
        cwd=tmp_path,
    )

    assert done.returncode == 2
    assert "Traceback" not in done.stderr
    assert all(word in done.stderr for word in ("US gal", "boil", "colour", "faults"))
    assert [p.name for p in tmp_path.iterdir()] == ["wrong.toml"]


@pytest.mark.slow
def test_bottles_that_could_burst_come_before_the_numbers(run, demo, tmp_path):
    text = Path(demo("bitter")).read_text(encoding="utf-8")
    recipe = tmp_path / "lively.toml"
    package = '[package]\ncontainer = "bottle"\npriming = "25 g/L sucrose"\nrating = "3 vol"\n'
    before, _, after = text.partition("[package]")
    recipe.write_text(before + package + after[after.index("\n[") :], "utf-8")

    said = run("simulate", recipe, "--draws", "256").output
    calm = run("simulate", demo("bitter"), "--draws", "256").output
    content = json.loads(run("simulate", recipe, "--draws", "256", "--json").output)

    assert said.startswith("DANGER. ")
    assert "forced-ferment test" in said
    assert "DANGER" not in calm
    assert len(content["dangers"]) == 1
