"""A house as text: what is added to it, and what is left as it stands."""

from dataclasses import replace

import pytest

from brewsim.errors import InputError
from brewsim.logbook.brew import Batches
from brewsim.logbook.house_file import (
    house_text_with,
)
from brewsim.logbook.log import merge, read_log
from tests.texts import beer

RECIPE = beer()


OLD = f"""# ours
version = 1

# the first
[[batch]]
id = "A"
date = 2026-01-02
recipe = "k"
[batch.readings]
OG = "1.045"

# the last
[[batch]]
id = "C"
date = 2026-01-04
recipe = "k"

[[recipe]]
key = "k"
text = '''
{RECIPE}'''
"""


def whole(old, text, taken=None):
    """The log of a house and another one, as if brewed."""
    house = read_log(old, None, "house.toml")
    both = merge(house, read_log(text, RECIPE, "log.toml"))
    fields = {name: getattr(both, name) for name in both.__dataclass_fields__}
    return house, Batches(**fields, taken=taken or {})


def batch(name, day, more=""):
    return f'[[batch]]\nid = "{name}"\ndate = 2026-01-0{day}\n{more}'


def test_a_changed_batch_is_replaced_and_a_new_one_added_and_all_else_stays():
    changed = batch("A", 2, 'notes = "n"\n') + batch("B", 3, '[batch.readings]\nFG = "1.01"\n')
    house, both = whole(OLD, changed)
    found = house_text_with(OLD, house, both)

    head, rest = OLD.replace("version = 1", "version = 2").split('[[batch]]\nid = "A"')
    after = rest.split('OG = "1.045"\n')[1]
    replaced = '[[batch]]\nid = "A"\ndate = 2026-01-02\nrecipe = "k"\nnotes = "n"\n'
    added = (
        '[[batch]]\nid = "B"\ndate = 2026-01-03\nrecipe = "k"\n[batch.readings]\n"FG" = "1.01"\n'
    )
    assert found == f"{head}{replaced}{after}\n{added}"


def test_of_two_changed_batches_each_stands_in_its_own_place():
    house, both = whole(OLD, batch("A", 2, 'notes = "a"\n') + batch("C", 4, 'notes = "c"\n'))
    found = house_text_with(OLD, house, both)

    assert [e.notes for e in read_log(found, None, "h").entries] == ["a", "c"]
    assert found.index("# the first") < found.index('"a"') < found.index("# the last")
    assert found.index("# the last") < found.index('"c"') < found.index("[[recipe]]")


def test_what_is_known_is_not_written_again():
    house, both = whole(OLD, batch("A", 2, '[batch.readings]\nOG = "1.045"\n'))

    assert house_text_with(OLD, house, both) == OLD.replace("version = 1", "version = 2") + ""


def test_new_instruments_checks_sittings_and_recipes_are_added_once():
    more = (
        '[instrument.mine]\nkind = "volume mark"\n[[calibration]]\ninstrument = "mine"\n'
        'read = "1"\nknown = "2"\n[[tasting]]\npairs = ["A > C: 1 of 1"]\n'
        '[[recipe]]\nkey = "m"\ntext = "new"\n[[recipe]]\nkey = "unused"\ntext = "other"\n'
        + batch("D", 5, 'recipe = "m"\n')
    )
    taken = {("A", "OG", "1.045"): "consumer hydrometer"}
    house, both = whole(OLD, more, taken)
    first = house_text_with(OLD, house, both)
    again, both = whole(first, more)

    assert 'OG = "1.045 by consumer hydrometer"' in first
    assert first.count("[[recipe]]") == 2
    assert 'key = "unused"' not in first
    for part in ("[[calibration]]", '[instrument."mine"]', "[[tasting]]", 'id = "D"', 'key = "m"'):
        assert first.count(part) == 1
    assert house_text_with(first, again, both) == first


def test_an_empty_file_becomes_a_house():
    house, both = whole("", batch("A", 1))
    fresh = replace(both, recipes=both.recipes)

    assert house_text_with("", house, fresh).startswith("\n[[batch]]")


def test_a_layout_that_would_lose_a_word_is_refused():
    recipe = f"[[recipe]]\nkey = 'k'\ntext = '''\n{RECIPE}'''\n"
    text = f"batch = [{{ id = 'A', date = 2026-01-02, recipe = 'k' }}]\n{recipe}"
    house, both = whole(text, batch("B", 3))

    with pytest.raises(InputError, match="is laid out so that brewsim cannot add to it") as caught:
        house_text_with(text, house, both)
    assert caught.value.where == "house.toml"
