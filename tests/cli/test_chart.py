"""brewsim chart: what it prints, draws and refuses."""

import json
import re

import pytest

from brewsim.errors import InputError
from brewsim.wording.run_charts import chart_sentences
from tests.synthetic_brewery import RECIPE, year


@pytest.fixture(scope="module")
def logged(tmp_path_factory):
    folder = tmp_path_factory.mktemp("year")
    recipe, log = folder / "recipe.toml", folder / "log.toml"
    recipe.write_text(RECIPE)
    log.write_text(year("stall", 1)[0])
    return recipe, log


def charted(run, logged, *more):
    return run("chart", *logged, "--no-band", *more)


def test_the_stalled_batch_its_value_and_the_rule_stand_in_one_sentence(run, logged):
    told = " ".join(charted(run, logged).stdout.split())

    assert re.search(r"Final gravity, B0\d to B\d\d, above.*beyond a control limit \(B07\)", told)
    assert "[Western Electric 1956, tests 1" in told
    assert "Capability of the logged batches" in told
    assert told.index("the fermentation stalled") < told.index("beyond a control limit")


def test_charts_are_drawn_as_svg_and_as_a_page_without_scripts(run, logged, tmp_path):
    svg, page = tmp_path / "charts.svg", tmp_path / "charts.html"
    charted(run, logged, "--out", svg)
    charted(run, logged, "--out", page)

    assert svg.read_text().count('role="img"') == 4
    assert "var(--" not in svg.read_text()
    text = page.read_text()
    assert text.count("<figure>") == 4
    assert "<script" not in text
    assert "B07 beyond a control limit" in text


def test_tables_are_written_as_csv(run, logged):
    assert charted(run, logged, "--out", "-").stdout.startswith('"Run charts, 20')


def test_json_has_every_signal_by_the_name_of_its_rule(run, logged):
    found = {
        one["quantity"]: one for one in json.loads(charted(run, logged, "--json").stdout)["charts"]
    }
    gravity = found["final_gravity_sg"]

    assert {"first": "B07", "last": "B07"}.items() <= next(
        s for s in gravity["signals"] if s["rule"] == "Western Electric 1956, test 1"
    ).items()
    assert len(gravity["level"]) == len(gravity["batches"]) == 24


@pytest.mark.parametrize(
    ("more", "told"),
    [
        (("--by", "tnak"), "Did you mean tank?"),
        (("--out", "charts.pdf"), "ends in .svg, .html or .csv"),
        (("--out", "c.csv", "--json"), "with --json there are none"),
    ],
)
def test_what_cannot_be_is_refused(run, logged, more, told):
    done = charted(run, logged, *more)

    assert isinstance(done.exception, InputError)
    assert told in str(done.exception)


def test_a_log_without_signals_says_so():
    assert chart_sentences([], {})[0].startswith("No batch breaks a rule")
