"""A reading beside its house, and an explanation's sums: figures made by hand."""

from types import SimpleNamespace
from typing import ClassVar

import numpy as np
import pytest

from brewsim.answers import over_rating as rating
from brewsim.answers.explanation import Explained
from brewsim.answers.from_log import FromLog, ReadingInHouse, _in_house
from brewsim.answers.over_rating import OverRating, over_rating
from brewsim.study.model.targets import Target


def reading(first, house, *, ordinary=20.0, shares=()):
    cause = SimpleNamespace(ordinary=ordinary, shares=shares, outcome="y", batch="A")
    return ReadingInHouse(SimpleNamespace(chance=first), cause, 18.0, 22.0, house)


@pytest.mark.parametrize(
    ("first", "house", "chance", "odd"),
    [
        (0.04, None, 0.04, True),
        (0.05, None, 0.05, False),
        (0.9, 0.01, 0.01, True),
        (0.02, 0.9, 0.02, True),
        (0.2, 0.05, 0.05, False),
    ],
)
def test_the_chance_is_the_less_likely_of_house_and_forecast(first, house, chance, odd):
    found = reading(first, house)

    assert (found.chance, found.odd, found.ordinary) == (chance, odd, 20.0)


def test_in_a_long_log_fewer_are_odd_the_least_likely_first():
    """Up to 24 readings 1 in 20, of 48 readings 1 in 40."""
    chances = [0.03, 0.01, 0.02, *[0.9] * 21]
    short = FromLog(None, tuple(reading(c, None) for c in chances), (), 1)
    long = FromLog(None, short.readings * 2, (), 1)

    assert [r.chance for r in short.odd] == [0.01, 0.02, 0.03]
    assert [r.chance for r in long.odd] == [0.01, 0.01, 0.02, 0.02]
    assert FromLog(None, (), (), 0).odd == ()


@pytest.mark.parametrize(
    ("expected", "ends"),
    [(2.0, (20 - 3.29, 20 + 3.29)), (0.0, (18.5, 21.5)), (None, (18.5, 21.5))],
)
def test_the_band_of_a_house_is_its_own_scatter_or_else_the_width_of_the_forecast(expected, ends):
    surprise = SimpleNamespace(low=16.0, high=19.0, chance=0.5)
    cause = SimpleNamespace(ordinary=20.0, outcome="y", chance=lambda scatter: len(scatter) / 10)
    scatter = [SimpleNamespace(quantity="x", expected=9.0)]
    if expected is not None:
        scatter.append(SimpleNamespace(quantity="y", expected=expected))

    found = _in_house(surprise, cause, scatter)

    assert (found.low, found.high) == pytest.approx(ends)
    assert found.in_house == len(scatter) / 10


def share(kind, estimate, low=-1.0, high=1.0, *, returns=False):
    return SimpleNamespace(kind=kind, estimate=estimate, low=low, high=high, returns=returns)


def explained(chance, *house):
    recipe = SimpleNamespace(
        shares=(
            share("knowledge", 1.0, returns=True),
            share("lot", -0.5, returns=True),
            share("batch", 0.25),
            share("knowledge", 2.0, returns=True),
        )
    )
    return Explained(reading(chance, None, shares=house), recipe, ())


def test_parts_by_kind_add_up_to_the_deviation_and_those_that_return():
    found = explained(0.5)

    assert found.by_kind() == {
        "knowledge": 3.0,
        "lot": -0.5,
        "batch": 0.25,
        "instrument": 0.0,
        "measurement": 0.0,
    }
    assert found.returns() == 2.5


@pytest.mark.parametrize(
    ("chance", "house", "odd"),
    [
        (0.09, (), True),
        (0.1, (), False),
        (0.5, (share("lot", 1.0, 0.1, 2.0),), True),
        (0.5, (share("batch", -1.0, -2.0, -0.1),), True),
        (0.5, (share("batch", 1.0, 0.0, 2.0),), False),
        (0.5, (share("batch", -1.0, -2.0, 0.0),), False),
        (0.5, (share("instrument", 1.0, 0.1, 2.0),), False),
    ],
)
def test_a_batch_is_odd_whose_chance_is_small_or_whose_brew_or_lot_clearly_moved(
    chance, house, odd
):
    assert explained(chance, *house).odd is odd


class Drawn(dict):
    """Draws of the excess of a bottle, in two replicates."""

    attrs: ClassVar = {"replicates": 2}

    def __init__(self, above, of=1000):
        super().__init__()
        values = [1.0] * above + [0.0] * (of - above)
        self["rating_excess_vol"] = SimpleNamespace(to_numpy=lambda: np.array(values))


def bottle(container="bottle"):
    return SimpleNamespace(package=SimpleNamespace(container=container))


def sought(monkeypatch, chance, high, *, trusted):
    heard = []

    def rare(problem, limits, *, least, seed):
        heard.append((problem, limits, least, seed))
        return SimpleNamespace(trusted=trusted, chance=chance, high=high, low=0.0)

    monkeypatch.setattr(rating, "rare_chance", rare)
    return heard


def test_a_chance_that_enough_draws_show_is_counted(monkeypatch):
    heard = sought(monkeypatch, 0.0, 0.0, trusted=True)
    found = over_rating(bottle(), "p", Drawn(100))

    assert found.chance == pytest.approx(0.1)
    assert found.error > 0
    assert (found.sought, heard) == (False, [])
    assert over_rating(bottle("keg"), "p", Drawn(100)) is None
    assert over_rating(bottle(), "p", {}) is None


@pytest.mark.parametrize(
    ("chance", "high", "trusted", "found"),
    [
        (1e-5, 3e-5, True, OverRating(1e-5, 1.5e-5, sought=True)),
        (0.0, 9e-8, False, OverRating(9e-8, 0.0, sought=True)),
        (0.0, 1e-7, False, None),
        (1e-9, 9e-8, False, None),
    ],
)
def test_a_rare_chance_is_looked_for_by_itself(monkeypatch, chance, high, trusted, found):
    heard = sought(monkeypatch, chance, high, trusted=trusted)
    told = over_rating(bottle(), "p", Drawn(0))

    assert heard == [("p", {"rating_excess_vol": Target(upper=0.0)}, 1e-7, 1)]
    if found is None:
        assert (told.chance, told.sought) == (0.0, False)
    else:
        assert told == found
