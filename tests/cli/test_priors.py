"""Priors of one's own: an entry to begin with, and what a file changes."""

import json

import pytest

from brewsim.errors import InputError
from brewsim.priors.library import load_priors
from brewsim.priors.starter import KINDS, starter_prior
from tests.door import DEMOS
from tests.door import brewsim as command


@pytest.mark.parametrize("kind", KINDS)
def test_a_new_entry_of_every_kind_reads_without_a_fault(kind, tmp_path):
    done = command("priors", "--new", kind, 'My "own" Größe', folder=tmp_path)
    path = tmp_path / "own.toml"
    path.write_text(done.out, encoding="utf-8")
    shipped, own = load_priors(), load_priors(path)
    listed = {"hop": "hop_lot"}.get(kind, kind)

    assert done.code == 0
    assert shipped.find(listed, 'My "own" Größe') is None
    entry = own.find(listed, 'my "own" größe')
    assert entry.tables
    assert {table["grade"] for table in entry.tables.values()} == {"assumption"}
    assert "# " in done.out


def test_a_new_entry_can_be_brewed_with(tmp_path):
    entry = command("priors", "--new", "hop", "My variety", folder=tmp_path).out
    (tmp_path / "own.toml").write_text(entry, encoding="utf-8")
    text = (DEMOS / "quillhaven-bitter.toml").read_text(encoding="utf-8")
    recipe = text.replace('"Fuggle"\nalpha   = "4.6 %"', '"My variety"')
    (tmp_path / "mine.toml").write_text(recipe, encoding="utf-8")

    assert "My variety" in recipe
    assert command("check", "mine.toml", folder=tmp_path).code == 2
    assert command("check", "mine.toml", "--priors", "own.toml", folder=tmp_path).code == 0


@pytest.mark.parametrize(
    ("kind", "name", "told"),
    [
        ("hops", "X", "“hops” is no kind; write one of hop, malt"),
        ("hop", "  ", 'name it: brewsim priors --new hop "My own"'),
        ("hop", "a\x1b[31m", "name it"),
        ("hop", "fuggles", "is there already, as Fuggle"),
    ],
)
def test_a_wrong_wish_for_an_entry_is_refused_in_words(kind, name, told):
    with pytest.raises(InputError) as fault:
        starter_prior(kind, name, load_priors())

    assert told in str(fault.value)


WIDER = """
[evaporation_factor]
family = "lognormal"
median = 1.0
log_sd = 0.5
unit = ""
kinds = { knowledge = 1.0 }
grade = "assumption"
source = "assumption"
"""


@pytest.mark.slow
def test_compare_says_which_inputs_and_intervals_a_file_changes(tmp_path):
    (tmp_path / "own.toml").write_text(WIDER, encoding="utf-8")

    done = command("priors", "--compare", "own.toml", folder=tmp_path)
    told = json.loads(command("priors", "--compare", "own.toml", "--json", folder=tmp_path).out)

    assert done.code == 0
    assert "own.toml changes in Quillhaven lager: " in done.out
    assert len(told["changed"]) == 1
    assert "vaporation" in told["changed"][0]
    assert any(row["before"] != row["after"] for row in told["outcomes"])


def test_compare_says_where_a_file_changes_nothing(tmp_path):
    entry = command("priors", "--new", "yeast", "Another yeast", folder=tmp_path).out
    (tmp_path / "own.toml").write_text(entry, encoding="utf-8")

    done = command(
        "priors",
        "--compare",
        "own.toml",
        "--recipe",
        DEMOS / "quillhaven-bitter.toml",
        folder=tmp_path,
    )

    assert done.code == 0
    assert "changes nothing in Quillhaven bitter" in done.out


def test_compare_refuses_a_file_with_faults(tmp_path):
    (tmp_path / "own.toml").write_text(WIDER.replace("0.5", "-1"), encoding="utf-8")

    done = command("priors", "--compare", "own.toml", folder=tmp_path)

    assert done.code == 2
    assert "evaporation_factor" in done.err
