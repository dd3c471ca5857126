"""`brewsim house`: what a brewery is, whether its file is sound, and the state before."""

import json
import shutil

import pytest

from brewsim.errors import InputError
from brewsim.logbook.house_store import add_batches
from brewsim.logbook.log import read_log
from brewsim.priors.library import load_priors
from tests.texts import beer, hop


def log_of(name, more="", reading='OG = "1.045"'):
    text = f'[[batch]]\nid = "{name}"\ndate = 2026-03-01\n{more}\n[batch.readings]\n{reading}\n'
    return read_log(text, beer(hop()), "log.toml")


@pytest.fixture
def house(tmp_path):
    path = tmp_path / "HOUSE.toml"
    add_batches(path, log_of("A", 'tank = "T1"\nbrewer = "Ada"'), load_priors())
    add_batches(path, log_of("B", 'tank = "T1"'), load_priors())
    return path


def test_a_sound_house_is_told_in_a_few_lines(run, house):
    said = run("house", house, "--check").output

    assert "is sound: 2 batches from 2026-03-01 to 2026-03-01, 2 readings" in " ".join(said.split())
    assert "Batches by tank: T1 (2)." in said
    assert "Batches by brewer: Ada (1)." in said
    assert "There are no draws beside it yet" in said
    assert "against the usual one" not in said


def test_damaged_draws_are_told(run, house):
    house.with_suffix(".draws.npz").write_bytes(b"")

    assert "damaged" in run("house", house, "--check").output


def test_a_house_with_faults_is_refused_with_all_of_them(run, house):
    house.write_text(house.read_text().replace('"1.045 by', '"1.9 by').replace('"T1"', "[1]", 1))

    faults = run("house", house, "--check").exception.faults

    assert len(faults) == 3
    assert all(fault.startswith("line ") for fault in faults)


def test_the_state_before_comes_back(run, house):
    after = house.read_bytes()

    said = run("house", house, "--restore")

    assert said.exit_code == 0
    assert "is now as it was in state 1" in " ".join(said.output.split())
    assert b'id = "B"' not in house.read_bytes()
    run("house", house, "--restore", "--state", 2)
    assert house.read_bytes() == after


def test_a_state_without_restore_is_asked_back(run, house):
    assert isinstance(run("house", house, "--state", 1).exception, InputError)


def test_json_has_everything_that_is_printed(run, house):
    told = json.loads(run("house", house, "--check", "--json").output)

    assert [(b["id"], b["tags"]) for b in told["batches"]] == [
        ("A", {"tank": "T1", "brewer": "Ada"}),
        ("B", {"tank": "T1"}),
    ]
    assert [row["state"] for row in told["states"]] == [2, 1]
    assert told["draws"] == "are missing"


@pytest.mark.slow
def test_what_a_brewery_is_stands_against_the_usual_one(run, tmp_path):
    house = tmp_path / "HOUSE.toml"
    bitter = 'bitterness = "40 IBU by lab bitterness"'
    for name in "ABC":
        add_batches(house, log_of(name, reading=bitter), load_priors())

    said = run("house", house).output

    assert "What this brewery is, against the usual one:" in said
    bitterness = next(line for line in said.splitlines() if line.startswith("bitterness (IBU)"))
    usual, here = (int(cell.split(" to ")[0]) for cell in bitterness.split("│")[1:3])
    assert here > usual
    assert "usual brewery" in said
    assert "after 3 batches" in " ".join(said.split())


def test_an_id_never_steers_a_terminal(run, tmp_path, demo):
    shutil.copy(demo("lager"), tmp_path / "r.toml")
    log = tmp_path / "log.toml"
    log.write_text('[[batch]]\nid = "A\\u001b]0;x\\u0007"\ndate = 2026-03-01\n')

    (fault,) = run("explain", tmp_path / "r.toml", log).exception.faults

    assert "characters that cannot be printed" in fault
    assert "\x1b" not in fault
