"""Wishes as aims: which batch, which window, what is held by default, what is refused."""

import datetime as dt

import pytest

from brewsim.answers.next_beer import next_beer
from brewsim.beer.knob_limits import LEAST_KEPT, kept_present, limited
from brewsim.errors import InputError
from brewsim.logbook.brew import parse_batches
from brewsim.logbook.pose import pose
from brewsim.logbook.wished import aims_of, question_problem
from brewsim.priors.library import load_priors
from brewsim.quantities.statement import Written
from brewsim.recipe.read import parse_recipe
from brewsim.recipe.wishes import read_wish
from brewsim.study.steering.aims import AsStrong, Between, Difference, Fold, JustRight, NoFurtherOut
from tests.small_recipe import TEXT

LOG = """
tasters = ["A", "B", "C"]
[[batch]]
id = "G1"
date = 2026-01-10
[batch.tasted]
thiols = "far too much, far too much, too much"
hops = "too little, just right, too little"
bitterness = "too much, just right, -"
[[batch]]
id = "G2"
date = 2026-02-10
changed = { "precursor 1 dose" = "1 g/L" }
"""
KNOBS = """
[knobs]
"precursor 1 dose" = "0 to 4 g/L in steps of 0.5 g/L"
"hop 1 mass" = "0 to 30 g in steps of 1 g"
"hop 2 mass" = "0 to 40 g in steps of 1 g"
"""
TARGETS = '[targets]\nalcohol = "4 to 5 %"\nthiol_lead = "-1 to 1"\nbitterness = "10 to 20 IBU"\n'


def aims(wishes, holds=None, log=LOG, more=KNOBS):
    recipe = parse_recipe(TEXT + more)
    problem = pose(recipe)
    found = parse_batches(log, TEXT + more, "log", today=dt.date(2026, 6, 1))
    wished, held = (
        {name: read_wish(name, text) for name, text in (texts or {}).items()}
        for texts in (wishes, holds)
    )
    return aims_of(wished, held, problem, found, load_priors()), found, recipe, problem


@pytest.mark.parametrize(
    ("name", "text", "shape", "ends"),
    [
        ("thiols", "half of G1", Fold, (-1.5, -0.5)),
        ("thiols", "as G1", Fold, (-0.5, 0.5)),
        ("thiols", "less than G1", Fold, (float("-inf"), -0.5)),
        ("thiols", "more than G1", Fold, (0.5, float("inf"))),
        ("hops", "x0.5 to x2 of G1", Fold, (-1.0, 1.0)),
        ("thiols", "half as strong as G1", AsStrong, (-0.5, 0.5)),
        ("bitterness", "as G1", Difference, (-5.0, 5.0)),
        ("bitterness", "more than G1", Difference, (5.0, float("inf"))),
        ("alcohol", "as G1", Difference, (-0.003, 0.003)),
        ("final_gravity", "as G1", Difference, (-0.002, 0.002)),
    ],
)
def test_a_phrase_becomes_its_window(name, text, shape, ends):
    aim = aims({name: text})[0].wishes[name]

    assert type(aim) is shape
    assert (aim.low, aim.high) == pytest.approx(ends)


def test_two_beers_and_just_right_become_their_aims():
    found = aims({"thiols": "between G1 and G2", "hops": "just right"})[0]

    assert found.wishes["thiols"] == Between("thiol_activity", ("G1", "G2"))
    assert isinstance(found.wishes["hops"], JustRight)
    assert found.start.id == "G2"
    assert {batch.id for batch in found.tasted} == {"G1", "G2"}


def test_words_on_thiols_are_a_wish_for_just_right():
    found = aims({})[0]

    assert isinstance(found.wishes["thiols"], JustRight)
    assert found.wishes["thiols"].tasters == ("A", "B", "C")


def test_what_tasters_said_of_the_rest_is_held():
    """Hops too little (2 of 3): not less; bitterness a tie, nearer just right: as it was."""
    found = aims({"thiols": "half of G1"})[0]

    assert found.default == ("hops", "bitterness")
    assert (found.holds["hops"].low, found.holds["hops"].high) == (-0.5, float("inf"))
    assert (found.holds["bitterness"].low, found.holds["bitterness"].high) == (-5.0, 5.0)
    assert aims({"thiols": "half of G1"}, {"hops": "as G1"})[0].default == ()


def test_targets_hold_where_no_wish_decides():
    found = aims({"thiols": "half of G1"}, more=KNOBS + TARGETS)[0]

    assert set(found.set_aside) == {"bitterness_ibu", "thiol_lead"}
    assert isinstance(found.holds["alcohol_by_volume_fraction"], NoFurtherOut)


@pytest.mark.parametrize(
    ("wishes", "holds", "told"),
    [
        ({"thiols": "half of G3"}, None, "is no batch of the log"),
        ({"thiols": "half of lager"}, None, "There is: G1, G2"),
        ({"thiols": "half of G1"}, {"thiols": "as G1"}, "is wished for and held; keep one"),
        ({"hops": "as G1"}, {"bitterness": "as G9"}, "hold bitterness"),
    ],
)
def test_a_wish_on_what_is_not_there_is_refused(wishes, holds, told):
    with pytest.raises(InputError, match=told):
        aims(wishes, holds)


def test_a_wish_on_nothing_is_refused():
    log = "[[batch]]\nid = 'G1'\ndate = 2026-01-10\n"
    with pytest.raises(InputError, match="nothing is wished for, and no batch was tasted"):
        aims({}, log=log)


def test_the_next_beer_is_turned_from_the_batch_as_brewed():
    found, log, _, problem = aims({"thiols": "as G2"})

    start = question_problem(found, problem, log)
    assert start.fixed_at("precursor_dose_g_l", 0) == 1.0
    none = LOG.replace("1 g/L", "0 g/L")
    found, log, _, problem = aims({"thiols": "as G2"}, log=none)
    assert question_problem(found, problem, log).fixed_at("precursor_dose_g_l", 0) == 0.0


def test_a_batch_that_left_out_a_line_and_changed_no_knob_is_refused():
    none = LOG.replace('"1 g/L"', '"0 g/L", "boil" = "70 min"')
    found, log, _, problem = aims({"thiols": "as G2"}, log=none)

    with pytest.raises(InputError, match="left out a line and changed boil"):
        question_problem(found, problem, log)


@pytest.mark.parametrize(
    ("name", "text", "told"),
    [
        ("hop 9 mass", "at least 1 g", "there is no knob hop 9 mass"),
        ("hop 1 mass", "15 g", "is no limit; write at least, at most, or a range"),
        ("hop 1 mass", "at most 10 g", "excludes 15 g, where it stands now"),
        ("hop 1 mass", "at least 40 g", "leaves nothing of the knob's own range"),
        ("hop 1 mass", "at least 1 L", "measures a volume"),
    ],
)
def test_a_limit_that_cannot_be_is_refused(name, text, told):
    problem = pose(parse_recipe(TEXT + KNOBS))

    _, faults = limited(problem, {name: Written(text, 3)})

    assert len(faults) == 1
    assert told in faults[0][1]
    assert faults[0][1].startswith("line 3, limits")


def test_a_limit_narrows_a_knob_and_sources_of_aroma_stay_present():
    recipe = parse_recipe(TEXT + KNOBS)
    problem = pose(recipe)
    knobs, faults = limited(problem, {"hop 2 mass": Written("at most 25 g", 1)})
    kept = {k.id: k for k in kept_present(recipe, problem, knobs)}

    assert faults == []
    assert kept["hop 2 mass"].high == pytest.approx(25)
    assert kept["hop 2 mass"].low == pytest.approx(LEAST_KEPT * 20)
    assert kept["precursor 1 dose"].low == pytest.approx(0.5)
    assert kept["hop 1 mass"].low == 0
    free = {k.id: k for k in kept_present(recipe, problem, knobs, ["precursor 1 dose"])}
    assert free["precursor 1 dose"].low == 0


@pytest.mark.slow
def test_half_of_a_tasted_beer_is_answered_with_less_of_a_source():
    recipe = parse_recipe(TEXT + KNOBS)
    log = parse_batches(LOG, TEXT + KNOBS, "log", today=dt.date(2026, 6, 1))
    wish = read_wish("thiols", "half of G1")

    answer = next_beer(recipe, pose(recipe), log, load_priors(), wishes=[wish])

    chosen = answer.steering.chosen
    assert chosen.settings["precursor 1 dose"] < 2
    assert chosen.all_met[0] > answer.steering.unchanged.all_met[0]
    same, following = chosen.folds["thiol_activity"]
    assert same.high / same.low < following.high / following.low
    assert answer.still_too_much is not None
    assert set(answer.still_too_much.just_right) == {"A", "B", "C"}
