"""One value of one quantity reads alike in every command, on the page and beside its JSON."""

import html
import json
import re

import numpy as np
import pytest
import typer
from typer.testing import CliRunner

import brewsim
from brewsim.beer.display_units import rows_of
from brewsim.cli.commands import register
from brewsim.logbook.pose import pose
from brewsim.page.page import render
from brewsim.quantities.catalogue import BY_QUANTITY, outcome_of
from brewsim.quantities.chances import about_fifty, percent
from brewsim.quantities.format import reading, span, value, with_unit
from brewsim.recipe.read import read_recipe
from brewsim.wording.outcomes import Extras, content_of
from tests.door import DEMOS
from tests.small_recipe import TEXT

"""Whole counts with a comma between thousands."""
TARGETS = {
    "SG": "0.99 to 1.1", "°P": "0 to 30 °P", "°C": "20 to 100 °C", "%": "1 to 99 %",
    "% ABV": "1 to 20 %", "L": "1 to 100 L", "bar": "0 to 9 bar", "folds": "-20 to 20",
    "kcal/L": "100 to 2000 kcal/L", "vol": "-8 to 8 vol", "ng/L": "0 to 100000 ng/L",
    "IBU": "1 to 200 IBU", "EBC": "1 to 200 EBC", "odour units": "0 to 1000000",
    "IBU/point": "0 to 9", "g/L": "0 to 30 g/L",
}  # fmt: skip


@pytest.fixture(scope="module")
def run():
    app = typer.Typer()
    register(app)
    runner = CliRunner()

    def printed(*words):
        result = runner.invoke(app, [str(word) for word in words])
        assert result.exit_code == 0, result.output
        return result.output

    return printed


@pytest.fixture(scope="module")
def recipe(tmp_path_factory):
    """Return the lager demo that aims at every quantity of the catalogue."""
    text = (DEMOS / "quillhaven-lager.toml").read_text(encoding="utf-8")
    head, _, rest = text.partition("[targets]")
    after = rest[rest.index("\n[") :]
    aims = "\n".join(f'{row.name} = "{TARGETS[row.unit]}"' for row in BY_QUANTITY.values())
    path = tmp_path_factory.mktemp("aims") / "lager.toml"
    path.write_text(f"{head}[targets]\n{aims}\n{after}", encoding="utf-8")
    return path


def columns(text):
    """Return every column of every table as one text, so that folded cells are whole again."""
    found, last = [], 0
    for line in text.splitlines():
        cells = line.split("│")
        if len(cells) != last:
            found += [[] for _ in cells]
        for column, cell in zip(found[-len(cells) :], cells, strict=True):
            column.append(cell)
        last = len(cells)
    return [flat(" ".join(column)) for column in found]


def flat(text):
    return " ".join(re.sub(r"[│┃|]", " ", text).split())


@pytest.mark.slow
def test_simulate_and_the_page_print_what_json_holds(run, recipe):
    problem = pose(read_recipe(recipe))
    found = json.loads(run("simulate", recipe, "--json", "--draws", "1024"))["outcomes"]
    table = run("simulate", recipe, "--draws", "1024")
    draws = brewsim.simulate(problem, draws=1024, seed=1)
    content = content_of(draws, brewsim.summarise(draws), extras=Extras(looks=rows_of(problem)))
    page = render(content)

    assert {one["outcome"] for one in found} == set(BY_QUANTITY)
    for one in found:
        row = outcome_of(one["outcome"])
        low, median, high = (value(row, one[key]) for key in ("low", "median", "high"))
        cells = r"\s*│\s*".join(map(re.escape, (low, median, high)))
        assert re.search(rf"│\s*{cells}\s", table), (row.label, low, median, high)
        shown = "".join(f"<td>{html.escape(figure)}</td>" for figure in (low, median, high))
        assert shown in page, row.label
        assert row.title in html.unescape(page)


def test_turn_prints_what_json_holds(run):
    lager = DEMOS / "quillhaven-lager.toml"
    aims, words = pose(read_recipe(lager)).targets, ("turn", lager, "hop 1 mass", "--draws", "512")
    found = json.loads(run(*words, "--json"))
    names = found["coords"]["outcome"]["data"]
    table = run(*words)
    dims = found["data_vars"]["low"]["dims"]
    low, high = (
        np.moveaxis(np.array(found["data_vars"][end]["data"]), dims.index("outcome"), 0)
        for end in ("low", "high")
    )

    printed = " ".join(columns(table))
    assert "thiol_lead" in aims
    for name, lows, highs in zip(names, low, high, strict=True):
        row = outcome_of(name)
        if name not in aims:
            continue
        for ends in zip(lows, highs, strict=True):
            assert span(row, *ends) in printed, name
    assert "doublings" not in table


def test_midway_prints_what_json_holds(run):
    words = ("midway", DEMOS / "quillhaven-bitter.toml", "--reading", "preboil_gravity = 1.034")
    found = json.loads(run(*words, "--json"))
    table = run(*words)

    for title in ("plan", "now"):
        for name in found["shown"]:
            band = found[title][name]
            assert value(outcome_of(name), band["middle"]) in table
            assert span(outcome_of(name), band["low"], band["high"]) in flat(table)


@pytest.mark.slow
def test_relot_compare_and_rank_print_what_json_holds(run, tmp_path):
    lager = DEMOS / "quillhaven-lager.toml"
    words = ("relot", lager, "N24", "--alpha", "6.5 %", "--draws", "512")
    bands = json.loads(run(*words, "--json"))["bitterness_ibu"]
    table = flat(run(*words))
    row = outcome_of("bitterness_ibu")
    for band in bands.values():
        assert f"{value(row, band['middle'])} {span(row, band['low'], band['high'])}" in table

    other = tmp_path / "less.toml"
    other.write_text(lager.read_text(encoding="utf-8").replace('"40 g"', '"20 g"'), "utf-8")
    assert "doublings" not in run("compare", lager, other)

    words = ("rank", lager, "--outcome", "bitterness")
    first = max(json.loads(run(*words, "--json"))["indices"], key=lambda one: one["total_order"])
    assert f"{percent(first['total_order'])}" in flat(run(*words))


@pytest.mark.slow
def test_steer_and_specify_print_what_json_holds(run, tmp_path):
    small = tmp_path / "small.toml"
    wanted = '[targets]\nbitterness = "10 to 20 IBU"\n[knobs]\n"hop 1 mass" = "0 to 30 g"\n'
    small.write_text(f"{TEXT}\n{wanted}", encoding="utf-8")
    found = json.loads(run("steer", small, "--json"))
    now = found["now"]
    told = flat(run("steer", small))
    assert about_fifty(now["chance"], now["chance_error"], found["wanted"]) in told

    limits = json.loads(run("specify", small, "--json"))["limits"]
    table = columns(run("specify", small))
    names = limits["coords"]["outcome"]["data"]
    low, high = (
        np.array(limits["data_vars"][f"long_run_{end}"]["data"]) for end in ("low", "high")
    )
    for place, name in enumerate(names):
        row = outcome_of(name)
        promise = with_unit(row, span(row, low[place], high[place]))
        assert any(promise in column for column in table), name


@pytest.mark.slow
@pytest.mark.usefixtures("learned_once")
def test_explain_and_learn_print_what_json_holds(run, tmp_path):
    lager, log = DEMOS / "quillhaven-lager.toml", tmp_path / "log.toml"
    log.write_text(
        '[[batch]]\nid = "A"\ndate = 2026-01-01\n[batch.readings]\n'
        'original_gravity = "1.0485"\nfree_3sh = "1234 ng/L"\nfermenter_volume = "20.4 L"\n',
        encoding="utf-8",
    )
    found = json.loads(run("explain", lager, log, "--json"))["readings"]
    told = flat(run("explain", lager, log))
    for one in found:
        row, expected = outcome_of(one["quantity"]), one["expected"]
        assert (
            f"{row.label}: measured {reading(row, one['measured'])}, expected "
            f"{value(row, expected['low'])} to {with_unit(row, value(row, expected['high']))}"
        ) in told
    assert "wort into the fermenter: measured 20.4" in told
    assert "3SH (grapefruit, passion fruit): measured 1230" in told

    house = tmp_path / "house.toml"
    bands = json.loads(run("learn", lager, log, "--house", house, "--json"))["next_batch"]
    house.unlink()
    table = flat(run("learn", lager, log, "--house", tmp_path / "second.toml"))
    for name, band in bands.items():
        row = outcome_of(name)
        for side in ("before", "after"):
            assert span(row, band[side]["low"], band[side]["high"]) in table, name


def test_trace_says_an_outcome_as_every_command_does(run):
    words = ("trace", DEMOS / "quillhaven-lager.toml", "alcohol")
    node = json.loads(run(*words, "--json"))["nodes"]["alcohol_by_volume_fraction"]
    row = outcome_of("alcohol_by_volume_fraction")

    assert f"= {with_unit(row, value(row, node['value'][0]))} (" in run(*words)
