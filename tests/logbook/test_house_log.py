"""Another log added to a house: what was learned stays what it was."""

from dataclasses import replace

import pytest

from brewsim.errors import InputError
from brewsim.logbook.brew import brew, parse_batches
from brewsim.logbook.house_file import house_text
from brewsim.logbook.house_log import LATEST, latest
from brewsim.logbook.log import merge
from tests.texts import beer

RECIPE = beer()
SPINDLE = '[instrument."lab spindle"]\nkind = "laboratory hydrometer"\n'


def log_of(name, *readings, head="", recipe=RECIPE, more=""):
    text = f'{head}\n[[batch]]\nid = "{name}"\ndate = 2024-09-14\n{more}\n[batch.readings]\n'
    return parse_batches(text + "\n".join(readings) + "\n", recipe, "log.toml")


def kept(log):
    """The log as the house file has it."""
    return parse_batches(house_text(log), None, "HOUSE.toml")


def added(old, new):
    """The house of one log with another's batches, as its file has them."""
    return kept(brew(merge(kept(old), new)))


def test_a_reading_keeps_the_instrument_it_was_taken_by():
    old, new = log_of("A", 'OG = "1.044"'), log_of("B", 'OG = "1.045"', head=SPINDLE)

    both = added(old, new)

    assert [b.readings[0].instrument for b in both.batches] == [
        "consumer hydrometer",
        "lab spindle",
    ]


def test_a_reading_written_without_an_instrument_by_an_older_version_still_loads():
    text = house_text(log_of("A", 'OG = "1.044"')).replace(" by consumer hydrometer", "")

    again = parse_batches(text, None, "HOUSE.toml")

    assert str(again.entries[0].readings["OG"][0]) == "1.044"
    assert again.batches[0].readings[0].instrument == "consumer hydrometer"


def recipe_table(text):
    return f"[[recipe]]\nkey = \"bitter\"\ntext = '''\n{text}'''\n"


def test_a_changed_recipe_needs_a_key_of_its_own():
    one = log_of("A", 'OG = "1.044"', head=recipe_table(RECIPE), more='recipe = "bitter"')
    other = recipe_table(RECIPE.replace("4 kg", "5 kg"))
    two = log_of("B", 'OG = "1.044"', head=other, more='recipe = "bitter"')

    with pytest.raises(InputError, match="recipe “bitter” is another text in the house"):
        added(one, two)

    same = log_of("B", 'OG = "1.044"', head=recipe_table(RECIPE), more='recipe = "bitter"')
    assert len(added(one, same).entries) == 2


def test_an_instrument_in_another_case_is_the_houses():
    other = SPINDLE.replace("lab spindle", "Lab Spindle")
    old = log_of("A", 'OG = "1.044 by lab spindle"', head=SPINDLE)

    both = added(old, log_of("B", 'OG = "1.044"', head=other))

    assert [b.readings[0].instrument for b in both.batches] == ["lab spindle"] * 2


def test_calibrations_are_learned_from_however_old_the_batch_they_stand_with():
    check = '[[calibration]]\ninstrument = "lab spindle"\nread = "1.002"\nknown = "1.000"\n'
    first = log_of("A", 'OG = "1.044"', head=SPINDLE + check).batches[0]
    later = tuple(replace(first, id=str(n), readings=first.readings[:1]) for n in range(LATEST))

    found = latest((first, *later))

    assert [b.id for b in found] == [b.id for b in later]
    assert [r.known for b in found for r in b.readings if r.known is not None] == [1.0]
    assert latest((first, *later[1:])) == (first, *later[1:])


OTHERWISE = {
    "notes": {"more": 'notes = "long boil"'},
    "tank": {"more": 'tank = "T2"'},
    "changed": {"more": 'changed = { "malt 1 mass" = "4.2 kg" }'},
}


@pytest.mark.parametrize("what", sorted(OTHERWISE))
def test_a_batch_that_is_entered_otherwise_takes_the_place_of_the_old_one(what):
    old, new = log_of("A", 'OG = "1.044"'), log_of("A", 'OG = "1.044"', **OTHERWISE[what])
    house = kept(old)

    whole = merge(house, new)
    (entry,), (before,), (now,) = (log.entries for log in (whole, house, new))

    assert (entry.notes, entry.tags, entry.changed) == (now.notes, now.tags, now.changed)
    assert entry != before
    assert any("batch A is entered otherwise than before" in told for told in whole.remarks)


@pytest.mark.parametrize(
    "readings", [['OG = "1.046"'], ['OG = "1.044"', 'FG = "1.010"'], ['FG = "1.010"']]
)
def test_readings_that_are_entered_otherwise_take_the_place_of_the_old_ones(readings):
    whole = merge(kept(log_of("A", 'OG = "1.044"')), log_of("A", *readings))

    (entry,) = whole.entries
    said = {name: [str(t) for t in texts] for name, texts in entry.readings.items()}
    assert said == {line.split(" = ")[0]: [line.split('"')[1]] for line in readings}
    assert any("batch A is entered otherwise" in told for told in whole.remarks)


def test_the_same_batch_entered_again_is_no_remark():
    old = kept(log_of("A", 'OG = "1.044"'))

    whole = merge(old, log_of("A", 'OG = "1.044"'))

    assert whole.entries == old.entries
    assert not any("entered otherwise" in told for told in whole.remarks)
