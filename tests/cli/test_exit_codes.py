"""Exit codes of the street door: 0 fine, 2 wrong input, never a traceback."""

import json

import pytest

from tests.bad.corpus import GOOD
from tests.door import DEMOS, brewsim

LAGER = str(DEMOS / "quillhaven-lager.toml")
FINE = [
    ("--help",),
    ("check", LAGER),
    ("check", LAGER, "--json"),
    ("simulate", LAGER, "--draws", "64"),
    ("trace", LAGER, "bitterness_ibu"),
    ("glossary", "--json"),
    ("priors", "Fuggle"),
    ("schema",),
    ("new", "My beer"),
]
WRONG = [
    (("nonsense",), "nonsense"),
    (("check",), "RECIPE"),
    (("check", "nope.toml"), "nope.toml"),
    (("check", "."), "."),
    (("check", LAGER, "--colour"), "--colour"),
    (("check", LAGER, "--priors", "nope.toml"), "nope.toml"),
    (("simulate", LAGER, "--draws", "many"), "write 16384 or auto"),
    (("simulate", LAGER, "--draws", "3"), "write 64 to 67108864, or auto"),
    (("simulate", LAGER, "--draws", "nan"), "write 16384 or auto"),
    (("simulate", LAGER, "--draws", "99999999999"), "is out of range"),
    (("simulate", LAGER, "--seed", "x"), "--seed"),
    (("simulate", LAGER, "--house", "nope.toml"), "nope.toml: cannot be opened"),
    (("simulate", LAGER, "--draws", "64", "--save", "no/x.nc"), "nothing was written"),
    (("rank", LAGER, "--outcome", "alcohl"), "Did you mean alcohol?"),
    (("rank", LAGER, "--by", "colour"), "--by"),
    (("turn", LAGER, "hop 9 mass"), "hop 9 mass"),
    (("trace", LAGER, "bitternes_ibu"), "Did you mean bitterness_ibu"),
    (("priors", "Fugle"), "Fugle"),
    (("report", LAGER, "--chance", "7"), "--chance"),
    (("compare", LAGER), "OTHER"),
    (("compare", LAGER, "nope.toml"), "nope.toml"),
]


@pytest.mark.parametrize("words", FINE, ids=lambda words: " ".join(words)[-40:])
def test_a_command_that_can_do_its_work_exits_with_0(words, tmp_path):
    done = brewsim(*words, folder=tmp_path)

    assert done.code == 0, done.err
    assert done.out


@pytest.mark.parametrize(("words", "told"), WRONG, ids=lambda part: " ".join(part)[-40:])
def test_a_command_that_cannot_exits_with_2_and_says_why(words, told, tmp_path):
    done = brewsim(*words, folder=tmp_path)

    assert done.code == 2, done.err
    assert told.lower() in done.err.lower()
    assert "Traceback" not in done.err
    assert list(tmp_path.iterdir()) == []


def test_no_command_at_all_shows_the_help(tmp_path):
    done = brewsim(folder=tmp_path)

    assert done.code in (0, 2)
    assert "report" in done.out + done.err


def test_a_bug_of_ours_is_no_wrong_input(tmp_path, monkeypatch):
    def broken(*_):
        raise ZeroDivisionError

    monkeypatch.setattr("brewsim.recipe.read.read_recipe", broken)

    assert brewsim("check", LAGER, folder=tmp_path).code == 1


def test_every_fault_of_a_file_is_told_at_once_in_the_order_of_its_lines(tmp_path):
    text = GOOD.replace("20 L", "20 gal").replace("60 min", "an hour").replace("4 kg", "4")
    (tmp_path / "r.toml").write_text(text, encoding="utf-8")

    done = brewsim("simulate", "r.toml", folder=tmp_path)
    lines = [line.split(",")[0] for line in done.err.splitlines()[:-1]]

    assert done.code == 2
    assert lines == sorted(lines, key=lambda line: int(line.split("line ")[1]))
    assert len(lines) >= 4
    assert done.err.endswith(f"{len(lines)} faults; nothing was written.\n")


def test_json_for_machines_holds_null_where_there_is_no_number(tmp_path):
    (tmp_path / "r.toml").write_text(GOOD, encoding="utf-8")
    done = brewsim("simulate", "r.toml", "--draws", "64", "--json", folder=tmp_path)

    def refuse(constant):
        raise AssertionError(f"{constant} is no JSON")

    assert json.loads(done.out, parse_constant=refuse)["draws"] >= 64
