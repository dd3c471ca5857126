"""Parts of one wort: what each shares, what is its own, and how a wrong one is told."""

import pytest

from brewsim.logbook.entries import Entry
from brewsim.logbook.split_wort import apart, differing, faults_of_split
from brewsim.quantities.statement import Written
from brewsim.recipe.read import parse_recipe
from tests.small_recipe import TEXT
from tests.texts import problem_of


@pytest.fixture(scope="module")
def problem():
    return problem_of(TEXT)


def entry(name="P", *, split="", recipe="k", changed=None, readings=None, line=7):
    changed = {key: Written(text, 8) for key, text in (changed or {}).items()}
    readings = {key: (Written(text, 9),) for key, text in (readings or {}).items()}
    parent = Written(split, 6) if split else ""
    return Entry(name, "", recipe, changed, readings, line=line, split_of=parent)


def test_parts_differ_in_what_either_changed_alone_or_otherwise():
    one = entry(changed={"mash": "66 °C", "boil": "60 min", "volume": "20 L"})
    other = entry(changed={"mash": "67 °C", "boil": "60 min", "chill": "5 min"})

    assert differing(one, other) == {"mash": "66 °C", "volume": "20 L", "chill": "5 min"}
    assert differing(one, one) == {}


@pytest.mark.parametrize(
    ("key", "own"),
    [
        ("yeast temperature", True),
        ("yeast name", True),
        ("yeast thiol_release", True),
        ("yeast attenuation", False),
        ("package carbonation", False),
    ],
)
def test_a_part_releases_by_itself_where_its_yeast_or_warmth_is_another(key, own, problem):
    found = apart(entry(changed={key: "1"}), entry(), problem)

    assert ("release_batch_factor" in found) is own
    assert "batch_attenuation_fraction" in found
    assert "mash_temperature_error_c" not in found


WORT = "is of the wort; write it with P"


@pytest.mark.parametrize(
    ("part", "line", "told"),
    [
        (entry("B", split="X"), 6, "split_of “X” is no batch of this log."),
        (entry("P", split="P"), 6, "split_of names the batch itself; name the other part"),
        (entry("B", split="C"), 6, "split_of “C” is itself a part; name P"),
        (
            entry("B", split="P", recipe="z"),
            6,
            "split_of P, which has another recipe; one wort has",
        ),
        (entry("B", split="P", changed={"mash": "66 °C"}), 8, "changed mash: both parts have it;"),
        (
            entry("B", split="Q"),
            6,
            "changed mash: both parts have it; leave it out of a whole brew",
        ),
        (entry("B", split="P", readings={"OG": "1.045"}), 9, f"OG {WORT}"),
        (
            entry("B", split="P", readings={"original_extract": "11 °P"}),
            9,
            f"original_extract {WORT}",
        ),
    ],
)
def test_what_parts_of_one_wort_cannot_say_is_told_in_its_line(part, line, told, problem):
    parent = entry("P")
    others = [parent, entry("C", split="P"), entry("Q", changed={"mash": "66 °C"})]
    entries = {one.id: one for one in (*others, part)}

    ((at, what),) = faults_of_split(part, entries, parse_recipe(TEXT), problem)

    assert at == line
    assert what.startswith(told)


def test_a_part_with_its_own_yeast_and_beer_is_without_fault(problem):
    part = entry("B", split="P", changed={"yeast temperature": "18 °C"}, readings={"FG": "1.01"})

    assert (
        list(faults_of_split(part, {"P": entry("P"), "B": part}, parse_recipe(TEXT), problem)) == []
    )
