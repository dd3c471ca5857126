"""A house file as data that must survive: its own words, other writers, many batches."""

import json
import stat
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from brewsim.errors import InputError, StudyError
from brewsim.logbook import house_store
from brewsim.logbook.brew import brew
from brewsim.logbook.house import learn, load_house
from brewsim.logbook.house_store import restore
from brewsim.logbook.journal import states
from brewsim.logbook.log import read_log
from brewsim.logbook.sections import VERSION
from tests.logbook.houses import RECIPE, added, ids, log_of

SCRIPT = Path(__file__).parents[1] / "benchmarks" / "house_writers.py"


MINE = """\
# ours since 2024
version = 1
name = "Quillhaven"
notes = "keep this"

[[batch]]  # the first
id = "A"
date = 2026-03-01
recipe = "r"
[batch.readings]
OG = "1.045 by consumer hydrometer"  # before the yeast

# what we no longer brew
[[recipe]]
key = "unused"
text = "anything"

[[recipe]]
key = "r"
text = '''
%s'''
"""


def test_everything_that_stood_there_stays_when_a_batch_is_added(tmp_path):
    path = tmp_path / "HOUSE.toml"
    path.write_text(MINE % RECIPE)

    added(path, log_of("B"))

    after = path.read_text()
    raised = (MINE % RECIPE).replace("version = 1", f"version = {VERSION}")
    assert after.startswith(raised)
    assert ids(path) == ["A", "B"]
    assert after.count("[[recipe]]") == 2


def test_a_batch_entered_otherwise_takes_the_place_of_the_old_one(tmp_path):
    path = tmp_path / "HOUSE.toml"
    path.write_text(MINE % RECIPE)

    whole = added(path, log_of("A", og="1.049")).log

    after = path.read_text()
    assert ids(path) == ["A"]
    assert "1.049 by consumer hydrometer" in after
    assert "1.045" not in after
    assert "# what we no longer brew" in after
    assert any("batch A is entered otherwise" in remark for remark in whole.remarks)
    assert b"1.045" in states(path)[1].content


def test_a_batch_learned_with_a_changed_recipe_keeps_its_own(house):
    before = house.read_bytes()

    added(house, log_of("A", "B", recipe=RECIPE.replace("4 kg", "5 kg")))

    assert house.read_bytes() == before


def test_a_batch_of_the_same_name_and_another_day_is_refused(house):
    before = house.read_bytes()

    with pytest.raises(InputError, match="batch A of 2026-03-01 is in the house"):
        added(house, log_of("A", day="2026-03-02"))

    assert house.read_bytes() == before


def test_a_house_in_one_line_is_refused_and_not_half_kept(tmp_path):
    path = tmp_path / "HOUSE.toml"
    one = '{ id = "A", date = 2026-03-01, recipe = "r", readings = { OG = "1.045" } }'
    text = f"batch = [{one}]\n[[recipe]]\nkey = \"r\"\ntext = '''\n{RECIPE}'''\n"
    path.write_text(text)

    with pytest.raises(InputError, match="laid out so that brewsim cannot add"):
        added(path, log_of("B"))

    assert path.read_text() == text


@pytest.mark.parametrize(
    ("version", "told"), [("999", "written by a newer"), ('"x"', "no version")]
)
def test_a_version_that_is_not_known_is_refused_in_words(house, version, told):
    house.write_text(house.read_text().replace(f"version = {VERSION}", f"version = {version}"))
    before = house.read_bytes()

    with pytest.raises(InputError, match=told):
        added(house, log_of("C"))

    assert house.read_bytes() == before


def test_a_house_of_two_names_is_refused_and_both_stay(tmp_path):
    house, other = tmp_path / "house.toml", tmp_path / "other.toml"
    added(house, log_of("B1"))
    other.hardlink_to(house)
    before = house.read_text(encoding="utf-8")

    with pytest.raises(InputError, match=r"has 2 names \(hard links\), and only this one"):
        added(house, log_of("B2"))
    with pytest.raises(InputError, match="2 names"):
        restore(house)

    assert other.samefile(house)
    assert house.read_text(encoding="utf-8") == before


def test_mode_and_link_of_a_house_stay(house):
    house.chmod(0o600)
    link = house.with_name("link.toml")
    link.symlink_to(house)

    added(link, log_of("C"))

    assert link.is_symlink()
    assert ids(house) == ["A", "B", "C"]
    assert stat.S_IMODE(house.stat().st_mode) == 0o600


def test_odd_characters_come_back_as_they_were_entered(tmp_path):
    path = tmp_path / "HOUSE.toml"
    note = "one\\u2028two\\u0007three\\u007f"
    log = log_of("A", more=f'notes = "{note}"\ntank = "2"\ntags = {{ "malt store" = "loft" }}')

    added(path, log)

    (entry,) = read_log(path.read_text(), None, str(path)).entries
    assert entry.notes == "one\u2028two\x07three\x7f"
    assert entry.tags == {"tank": "2", "malt store": "loft"}


def test_one_text_of_a_recipe_stands_once_whatever_its_keys(house):
    head = f"[[recipe]]\nkey = \"again\"\ntext = '''\n{RECIPE}'''\n"

    added(house, log_of("C", more='recipe = "again"', head=head))

    assert house.read_text().count("[[recipe]]") == 1
    assert ids(house) == ["A", "B", "C"]


@pytest.mark.slow
def test_more_than_a_thousand_batches_and_a_megabyte_lock_nobody_out(tmp_path):
    path = tmp_path / "HOUSE.toml"
    many = [str(number) for number in range(1200)]
    added(path, log_of(*many, more=f'notes = "{"x" * 1000}"'))
    assert path.stat().st_size > 1_000_000

    added(path, log_of("last"))

    assert len(ids(path)) == 1201


def test_a_file_that_would_be_too_large_to_read_is_not_written(house, monkeypatch):
    before = house.read_bytes()
    monkeypatch.setattr(house_store, "MAX_BYTES", len(before) + 10)

    with pytest.raises(InputError, match="would be larger than"):
        added(house, log_of("C"))

    assert house.read_bytes() == before


def test_nothing_to_learn_from_changes_nothing(tmp_path):
    path = tmp_path / "HOUSE.toml"

    with pytest.raises(StudyError, match="no reading"):
        added(path, read_log('[[batch]]\nid = "A"\ndate = 2026-03-01\n', RECIPE, "log.toml"))

    assert not path.exists()


def test_the_later_log_is_told_its_own_faults(house):
    with pytest.raises(InputError) as caught:
        added(house, log_of("C", og="1.9", where="mine.toml"))

    assert caught.value.where == "mine.toml"
    assert caught.value.faults[0].startswith("line 6, batch C, OG")


def test_a_brewed_log_may_be_added_too(house):
    added(house, brew(log_of("C")))

    assert ids(house) == ["A", "B", "C"]


@pytest.mark.slow
def test_writers_at_once_lose_nothing_though_some_are_killed(tmp_path):
    words = [sys.executable, str(SCRIPT), "--processes", "4", "--rounds", "2", "--kills", "2"]

    done = subprocess.run(
        [*words, "--folder", str(tmp_path)], capture_output=True, text=True, check=False
    )

    assert done.returncode == 0, done.stdout + done.stderr
    assert "lost 0, broken 0" in done.stdout


ODD = st.lists(
    st.sampled_from(['"', "'", "'''", '"""', "\\", "\n", "\t", "[[batch]]", "# x", "\u2028", "é"]),
    max_size=5,
).map("".join)


@pytest.mark.slow
@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(st.sampled_from("ABC"), ODD), min_size=1, max_size=4))
def test_a_law_notes_of_any_letters_survive_being_added_and_replaced(tmp_path_factory, steps):
    path = tmp_path_factory.mktemp("law") / "HOUSE.toml"
    path.write_text(f"{MINE % RECIPE}# last\n")
    want = {"A": ""}
    for name, note in steps:
        log = log_of(name, more=f"notes = {json.dumps(note)}")
        added(path, log)
        want[name] = note

    again = read_log(path.read_bytes().decode(), None, str(path))

    assert again.faults == ()
    assert {entry.id: entry.notes for entry in again.entries} == want
    assert "# what we no longer brew" in path.read_text()
    assert "# last\n" in path.read_text()


@pytest.mark.slow
def test_a_house_of_many_batches_is_told_whole(tmp_path):
    log = log_of(*[str(n) for n in range(50)])

    kept, _ = learn(tmp_path / "HOUSE.toml", log, time_limit_s=0)

    assert (kept.held, load_house(tmp_path / "HOUSE.toml").held) == (50, 50)
