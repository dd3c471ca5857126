"""A house file as data that must survive: full disks, damage, and states restored."""

import errno

import pytest

from brewsim.errors import InputError
from brewsim.logbook import house_draws, house_store, journal
from brewsim.logbook.house import learn
from brewsim.logbook.house_store import restore
from brewsim.logbook.journal import KEPT, journal_path, states
from tests.logbook.houses import added, ids, log_of


def full(*_):
    raise OSError(errno.ENOSPC, "No space left on device")


def test_a_disk_that_is_full_for_the_draws_loses_no_word(tmp_path, monkeypatch):
    path = tmp_path / "HOUSE.toml"
    monkeypatch.setattr(house_draws, "write_whole", full)

    kept, _ = learn(path, log_of("A"), time_limit_s=0)

    assert ids(path) == ["A"]
    assert any("could not be kept" in remark for remark in kept.remarks)
    assert kept.batches == 1


def test_a_disk_that_is_full_for_the_house_leaves_it_as_it_was(house, monkeypatch):
    before = house.read_bytes()
    monkeypatch.setattr(house_store, "write_whole", full)

    with pytest.raises(OSError, match="No space left"):
        added(house, log_of("C"))

    assert house.read_bytes() == before


def test_the_journal_keeps_the_last_ten_states(house):
    for number in range(KEPT + 3):
        added(house, log_of(f"more {number}"))

    kept = states(house)

    assert len(kept) == KEPT
    assert kept[0].content == house.read_bytes()
    assert [s.number for s in kept] == sorted((s.number for s in kept), reverse=True)
    assert len(list(journal_path(house).iterdir())) == KEPT


def test_a_house_damaged_by_hand_is_restored(house):
    whole = house.read_bytes()
    house.write_bytes(whole[:40])

    restore(house)

    assert house.read_bytes() == whole
    assert states(house)[1].content == whole[:40]


def test_a_house_that_is_gone_is_restored(house):
    whole = house.read_bytes()
    house.unlink()

    restore(house)

    assert house.read_bytes() == whole


def test_the_state_before_the_last_change_is_restored_and_back(house):
    one = house.read_bytes()
    added(house, log_of("C"))
    two = house.read_bytes()

    restore(house)
    assert house.read_bytes() == one
    restore(house)
    assert house.read_bytes() == two
    restore(house, 1)
    assert house.read_bytes() == one


def test_a_state_that_is_not_there_is_told(tmp_path, house):
    with pytest.raises(InputError, match="has no state 77; it has 1"):
        restore(house, 77)
    with pytest.raises(InputError, match="no state in"):
        restore(tmp_path / "none.toml")
    with pytest.raises(InputError, match="the only state"):
        restore(house)


def test_a_change_by_hand_is_kept_before_the_next_one(house):
    by_hand = house.read_text() + "\n# by hand\n"
    house.write_text(by_hand)

    added(house, log_of("C"))

    assert by_hand.encode() in [state.content for state in journal.states(house)]
