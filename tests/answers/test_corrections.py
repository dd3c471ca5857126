"""What can still be done on a brew day, on a batch that obeys rules worked out by hand."""

from types import SimpleNamespace

import numpy as np
import pytest

from brewsim.answers.brew_day import _with_extract
from brewsim.answers.corrections import (
    Band,
    Work,
    _after,
    _dry,
    _not_judged,
    _solved,
    bands_of,
    corrections,
    with_dials,
)
from brewsim.beer.pose import posed
from brewsim.quantities.catalogue import outcome_of
from brewsim.recipe.read import parse_recipe
from tests.texts import beer, hop

OG, IBU, VOLUME = "original_gravity_sg", "bitterness_ibu", "fermenter_volume_l"
DME = '[[sugar]]\nname = "Dry malt extract"\nmass = "1 kg"\n'


def dialled(*blocks):
    return with_dials(posed(_with_extract(parse_recipe(beer(*blocks))))[0])


def test_every_correction_has_a_dial_where_the_recipe_has_its_row():
    hops = (hop(), hop(when="whirlpool 20 min at 80 °C"), hop(when="boil 10 min"))
    problem = dialled(*hops)

    assert [(k.id, k.quantity, k.row, k.unit) for k in problem.knobs] == [
        ("boil", "boil_time_min", None, "min"),
        ("water", "topup_l", None, "L"),
        ("extract", "sugar_mass_kg", 0, "kg"),
        ("hops boil along 0", "hop_boil_time_min", 0, ""),
        ("hops boil along 1", "hop_boil_time_min", 1, ""),
    ]
    assert all(k.low == 0 for k in problem.knobs)
    assert [k.high for k in problem.knobs] == [180, np.inf, np.inf, 180, 180]


def test_the_row_for_more_extract_is_the_one_of_which_there_is_none():
    problem = dialled(DME)
    (row,) = (k.row for k in problem.knobs if k.id == "extract")

    assert problem.row_labels["sugar"] == ("Dry malt extract", "Dry malt extract")
    assert problem.fixed_at("sugar_mass_kg", row) == 0
    assert problem.fixed_at("sugar_mass_kg", 1 - row) == 1


class Batch:
    """A wort of 20 L and 10 points: what is boiled, added and diluted adds up in points.

    A minute of boil is 0.1 point, a kilogram of extract 2, a litre of water -1; bitterness rises
    by 1 IBU a minute that the hops boil along. `missing` points are wanted beside today's.
    """

    def __init__(self, missing=2.0, *, boil=60.0, hops=(60.0,), after=(), aim=OG, steps=0.1):
        self.aim, self.missing, self.steps = aim, missing, steps
        start = {"boil": boil, "water": 0.0, "extract": 0.0}
        self.start = start | {f"hops boil along {i}": t for i, t in enumerate(hops)}
        self.rows = {name: outcome_of(name) for name in (OG, IBU, VOLUME)}
        self.dials = {
            name: SimpleNamespace(quantity=name, unit={"water": "L", "extract": "kg"}.get(name, ""))
            for name in self.start
        }
        known = set(after)
        self.planned = SimpleNamespace(
            graph=SimpleNamespace(upstream=lambda names: known if names == [OG] else set())
        )
        problem = SimpleNamespace(fixed={"evaporation_l_h": np.array([3.0])})
        self.evaluator = SimpleNamespace(problem=problem)
        self.met = abs(missing) < 1e-9

    def now(self, dial):
        return self.start[dial]

    def off(self, settings):
        moved = {dial: value - self.start[dial] for dial, value in settings.items()}
        points = self.steps * moved.get("boil", 0) + 2 * moved.get("extract", 0)
        return points - moved.get("water", 0) - self.missing

    def bands(self, settings):
        along = sum(v - self.start[d] for d, v in settings.items() if d.startswith("hops"))
        gravity = 1.05 + (self.off(settings) + self.missing) / 1000
        middles = {OG: gravity, IBU: 30.0 + along, VOLUME: 20.0}
        return {name: Band(y, y, y) for name, y in middles.items()}


def told(work, measured=()):
    found, remarks = corrections(work, measured)
    return {c.name: (round(c.amount, 3), c.unit, c.reaches, c.moves) for c in found}, remarks


def test_a_weak_wort_is_boiled_longer_or_given_extract():
    assert told(Batch(2.0)) == (
        {
            "boil longer": (20.0, "min", True, True),
            "add dry malt extract": (1.0, "kg", True, True),
            "dilute with water after the boil": (0.0, "L", False, True),
        },
        [],
    )


def test_a_strong_wort_is_boiled_shorter_or_diluted():
    """The boil is cut no further than its longest hop; 3 points less take 30 min."""
    found, _ = told(Batch(-2.0, boil=90.0, hops=(65.0, 10.0)))

    assert found["boil shorter"] == (20.0, "min", True, True)
    assert found["dilute with water after the boil"] == (2.0, "L", True, True)
    assert told(Batch(-4.0, boil=90.0, hops=(65.0, 10.0)))[0]["boil shorter"] == (
        25,
        "min",
        False,
        True,
    )
    assert told(Batch(-9.0, boil=90.0, hops=()))[0]["boil shorter"] == (60, "min", False, True)
    assert told(Batch(-2.0, boil=20.0, hops=()))[0]["boil longer"] == (0, "min", False, True)


def test_hops_that_are_in_already_boil_along_by_as_much():
    first, second, *_ = corrections(Batch(2.0, hops=(60.0, 10.0)), ())[0]

    assert first.remark == "timed hops go in as many minutes before the end as planned"
    assert second.remark == "if the timed hops are in already and boil along"
    assert (first.outcomes[IBU].middle, second.outcomes[IBU].middle) == pytest.approx((30, 70))
    assert second.outcomes[OG] == first.outcomes[OG]


@pytest.mark.parametrize(
    ("missing", "hops", "remarks"),
    [
        (-2.0, (10.0,), ["timed hops go in as many minutes before the end as planned"]),
        (2.0, (), [""]),
        (0.004, (60.0,), []),
    ],
)
def test_a_boil_is_told_once_where_its_hops_do_not_boil_along(missing, hops, remarks):
    """Half a minute is the least that is told."""
    work = Batch(missing, boil=90.0, hops=hops)
    boils = [c for c in corrections(work, ())[0] if c.name.startswith("boil")]

    assert [one.remark for one in boils] == remarks


def test_amounts_too_small_to_be_shown_are_no_correction():
    """0.5 min, 0.005 kg and 0.05 L are the least."""
    assert "boil longer" in told(Batch(0.05))[0]
    assert "boil longer" not in told(Batch(0.049))[0]
    assert "add dry malt extract" in told(Batch(0.0101))[0]
    assert "add dry malt extract" not in told(Batch(0.0099))[0]
    assert "dilute with water after the boil" in told(Batch(-0.0501))[0]
    assert "dilute with water after the boil" not in told(Batch(-0.0499))[0]


def test_most_of_each_are_three_hours_three_tenths_of_extract_and_as_much_water():
    weak, strong = told(Batch(99.0))[0], told(Batch(-99.0))[0]

    assert weak["boil longer"] == (180.0, "min", False, True)
    assert weak["add dry malt extract"] == (6.0, "kg", False, True)
    assert strong["dilute with water after the boil"] == (20.0, "L", False, True)


def test_a_boil_leaves_half_of_the_wort():
    """3 L/h are 0.05 L a minute: 200 min for 10 of 20 L, so three hours; at 6 L/h 100 min."""
    work = Batch()
    assert _dry(work, 60.0) == 240.0
    work.evaluator.problem.fixed["evaporation_l_h"] = np.array([6.0])
    assert _dry(work, 60.0) == pytest.approx(160.0)
    work.evaluator.problem.fixed["evaporation_l_h"] = np.array([0.0])
    assert _dry(work, 60.0) == 240.0


def test_what_moves_nothing_reaches_nothing_and_the_nearer_end_is_taken():
    work = Batch(2.0)

    assert _solved(work, lambda _x: {}, 0.0, 9.0) == (0.0, False, False)
    assert _solved(work, lambda x: {"water": x}, -9.0, 9.0)[:2] == (pytest.approx(-2), True)
    assert _solved(work, lambda x: {"water": x}, 3.0, 9.0) == (3.0, False, True)
    assert _solved(work, lambda x: {"water": x}, -9.0, -3.0) == (-3.0, False, True)
    assert _solved(work, lambda x: {"water": x}, -2.0, 9.0) == (-2.0, True, True)
    level = lambda x: {"water": 1.0 if x in (1.0, 2.0) else 5.0}  # noqa: E731 - both ends alike
    assert _solved(work, level, 1.0, 2.0).moves is False


def test_what_comes_before_a_reading_is_not_judged():
    found, (remark,) = told(Batch(2.0, after=("boil",)), [OG.replace("sg", "x"), OG])
    assert (found, remark) == ({}, remark)

    work = Batch(2.0, after=("boil", "extract"), aim=IBU)
    found, (remark,) = told(work, [OG])
    assert list(found) == ["dilute with water after the boil"]
    assert remark.startswith(
        "boiling longer or shorter and adding dry malt extract is not judged: it comes before the "
        "reading of original gravity; to see what it would do, give what was read earlier instead"
    )
    found, (remark,) = told(Batch(2.0, after=("boil", "extract", "water"), aim=IBU), [OG])
    assert found == {}
    assert remark.startswith("nothing can be judged: all of it comes before the reading of")


def test_a_reading_is_named_that_a_correction_would_have_moved():
    work = Batch(after=("boil",))

    assert _after(work, "boil", [OG, IBU]) == OG
    assert _after(work, "water", [OG, IBU]) == ""
    assert _not_judged({"boil": OG, "water": "", "extract": OG}).startswith("boiling longer or")


@pytest.mark.parametrize(("aim", "after", "told"), [(OG, (), "original gravity is measured and")])
def test_a_measured_aim_and_one_that_is_met_are_left(aim, after, told):
    found, (remark,) = corrections(Batch(2.0, after=after, aim=aim), [aim])
    met, (good,) = corrections(Batch(0.0), [])

    assert (found, met) == ([], [])
    assert remark.startswith(told)
    assert good == "original gravity is where it was planned; nothing is to be done about it"


def test_bands_are_five_fifty_and_ninety_five_in_a_hundred():
    values = np.arange(101.0)

    assert bands_of({"a": values, "b": 2 * values}) == {
        "a": Band(5, 50, 95),
        "b": Band(10, 100, 190),
    }


@pytest.mark.parametrize(
    ("aim", "off", "met"),
    [
        (OG, 4.9e-5, True),
        (OG, 5.1e-5, False),
        (OG, -5.1e-5, False),
        ("free_3sh_ng_l", 0.0049, True),
        ("free_3sh_ng_l", 0.0051, False),
    ],
)
def test_an_aim_is_met_to_a_digit_more_than_it_is_shown_with(aim, off, met):
    """A gravity has three decimals; without a number of them half a hundredth of it counts."""
    wanted = 1.0 if aim != OG else 1.05
    evaluator = SimpleNamespace(
        outcomes=(aim,),
        problem=SimpleNamespace(knobs=()),
        at=lambda _settings: {aim: np.full(3, wanted + off)},
    )

    assert Work(evaluator, aim, wanted, SimpleNamespace(units={})).met is met
