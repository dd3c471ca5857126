"""Steering from a tasted batch and explaining the second one, as a brewer types it."""

import json
from pathlib import Path

import pytest

from tests.door import brewsim

pytestmark = [pytest.mark.slow, pytest.mark.usefixtures("learned_once")]
FAST = ("--quiet",)


@pytest.fixture(scope="module")
def demos():
    return Path(__file__).resolve().parents[2] / "demo-recipes"


def steer(demos, folder, *more, log="quillhaven-lager-batches.toml"):
    recipe = demos / "quillhaven-lager.toml"
    return brewsim("steer", recipe, "--batches", demos / log, *FAST, *more, folder=folder)


@pytest.fixture(scope="module")
def steered(demos, tmp_path_factory):
    """Return what is said of the tasted batch, and the folder with the picture of its moves."""
    folder = tmp_path_factory.mktemp("steered")
    return steer(demos, folder, "--picture", "moves.svg"), folder


def test_a_tasted_batch_gives_a_move_a_nearer_one_and_where_thiols_came_from(steered):
    done, folder = steered
    said = " ".join(done.out.split())

    assert done.code == 0, done.err
    for told in (
        "From G1, with thiols half of G1 wished for.",
        "Held: hops (too little in G1), bitterness (just right in G1)",
        "The nearest useful move:",
        "Where the thiols of G1 came from",
        "By their words just right lies",
        "of 50 next brews",
    ):
        assert told.lower() in said.lower(), told
    assert [path.name for path in folder.iterdir()] == ["moves.svg"]


def test_moves_are_named_in_the_table_as_in_the_first_line(steered):
    said = steered[0].out
    table = said[said.index("Moves from G1") : said.index("Where the thiols")]

    assert "in G1 itself" in " ".join(table.split())
    assert "hop 1" not in table
    assert "precursor 1" not in table


def test_a_picture_has_a_row_for_each_move(steered):
    drawn = (steered[1] / "moves.svg").read_text(encoding="utf-8")

    assert drawn.startswith("<svg")
    assert "you want: half of G1" in drawn
    assert drawn.count("<circle") == drawn.count(" of 50</text>") >= 3


def test_the_same_in_json(demos, tmp_path):
    found = json.loads(steer(demos, tmp_path, "--json").out)

    assert found["made_by"]["seed"] == 1
    assert found["made_by"]["draws"] > 0
    assert found["start"] == "G1"
    assert found["aims"]["thiols"] == "half of G1"
    assert found["chosen"]["all_met"][0] > found["unchanged"]["all_met"][0]
    assert sum(s["mean"] for s in found["origin"]["sources"]) == pytest.approx(1.0, abs=1e-6)


@pytest.mark.parametrize(
    ("more", "told"),
    [
        (("--wish", "thiols: half of G7"), "is no batch of the log"),
        (("--wish", "half of G1"), "says not of what"),
        (("--wish", "thiol: half of G1"), "Did you mean thiols"),
        (("--knob", "hop 9 mass"), "there is no knob hop 9 mass"),
        (("--house", "h.toml"), "leave --house or --batches out"),
    ],
)
def test_a_wrong_question_is_refused_in_words(demos, tmp_path, more, told):
    done = steer(demos, tmp_path, *more)

    assert done.code == 2
    assert told in done.err
    assert done.err.endswith("nothing was written.\n") or "brewsim:" in done.err


def test_a_wish_without_a_log_says_what_to_add(demos, tmp_path):
    recipe = demos / "quillhaven-lager.toml"
    done = brewsim("steer", recipe, "--wish", "thiols: half of G1", folder=tmp_path)

    assert done.code == 2
    assert "add --batches LOG" in done.err


@pytest.mark.slow(9)
def test_the_second_batch_is_told_apart_from_its_recipe(demos, tmp_path):
    recipe, log = demos / "quillhaven-lager.toml", demos / "quillhaven-lager-second.toml"
    done = brewsim("explain", recipe, log, *FAST, folder=tmp_path)
    said = " ".join(done.out.split())

    assert done.code == 0, done.err
    assert "G2 against G1, thiols:" in said
    assert "which is recipe" in said
    assert "No other cause is needed" in said
