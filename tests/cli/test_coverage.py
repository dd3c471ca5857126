"""brewsim coverage: the table of published brews."""

import json
import re

import pytest

from brewsim.answers import coverage, published_brews

pytestmark = pytest.mark.slow


@pytest.fixture(autouse=True)
def _two_series(monkeypatch):
    def few(priors):
        return published_brews.read_series(priors)[1:4]

    monkeypatch.setattr(coverage, "read_series", few)


def test_coverage_prints_both_tables_and_every_source(run):
    result = run("coverage", "--draws", "256")

    assert result.exit_code == 0
    assert "judged half" in result.output
    assert len(re.findall(r"^final gravity +│", result.output, re.MULTILINE)) == 6
    assert "The same brews with the priors" in result.output
    assert "dry malt extract" in result.output
    assert "Outside the interval of 99 %:" in result.output
    assert max(map(len, result.output.splitlines())) <= 80


def test_coverage_json_holds_both_tables_and_the_sources(run):
    content = json.loads(run("coverage", "--draws", "256", "--json").output)

    assert {row["half"] for row in content["coverage"]} == {"fitted", "judged", "both"}
    assert {row["n"] for row in content["first"]} == {19, 25, 27, 34, 44, 61, 62, 106}
    assert all(source["source"] for source in content["sources"])
