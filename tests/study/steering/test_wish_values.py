"""A wish as numbers with windows: the same chances as the aims give, and surfaces over them."""

import numpy as np
import pytest

from brewsim.study.model.sampling import Plan
from brewsim.study.steering.aims import (
    AsStrong,
    Between,
    Difference,
    Fold,
    JustRight,
    NoFurtherOut,
    Seen,
    all_met,
)
from brewsim.study.steering.surface_fit import surfaces_of
from brewsim.study.steering.wish_values import WishValues
from tests.study.steering.test_relative_steering import asked, beer
from tests.study.tasted_beers import PANEL

PLAN = Plan(8, 128, 3)
HELD = (Difference("bitter", "G1", -1.0, 1.0),)


def met(question, settings):
    """Return how far the aims themselves are met, draw by draw."""
    land = question.draws(PLAN)
    after = Seen(land.next_brew(settings), land.tasted, land.score)
    same = Seen(land.same_wort(settings), land.tasted, land.score)
    return all_met(question.wishes, after, smooth=False) * all_met(
        question.holds, same, smooth=False
    )


@pytest.mark.parametrize(
    ("wish", "kind"),
    [
        (Fold("amount", "G1", -1.5, -0.5), "fold"),
        (Fold("amount", "G1", 0.5), "fold"),
        (Between("amount", ("G1", "G1")), "fold"),
        (AsStrong("amount", "G1", -0.5, 0.5, times=0.5, exponent=None), "fold"),
        (NoFurtherOut("amount", "G1", 1.0, 3.0), "plain"),
    ],
)
def test_windows_hold_exactly_where_the_aim_is_met(wish, kind):
    question = asked(wishes=(wish,), holds=HELD)
    values = WishValues(question, PLAN)

    assert values.kinds == {"bitter": "step", "amount": kind}
    for settings in ({}, {"dose": -2.0}, {"dose": -1.0, "late": -3.0, "bittering": 6.0}):
        inside = np.prod([one.inside for one in values.shown(settings).values()], axis=0)
        np.testing.assert_array_equal(
            inside, np.broadcast_to(met(question, settings), inside.shape)
        )


def test_just_right_is_a_window_of_one_taster_a_row():
    """Amount 2^3 against ideals about 1.6 +- 1: as many rows as the tasters' mean share."""
    question = asked(wishes=(JustRight("amount", "thiols", ("a", "b"), PANEL),))
    values = WishValues(question, PLAN)
    shown = values.shown({"dose": -4.0})["amount"]

    assert values.kinds == {"amount": "strength"}
    share = met(question, {"dose": -4.0})
    assert shown.inside.mean() == pytest.approx(share.mean(), abs=0.05)
    assert set(np.unique(shown.inside)) == {0.0, 1.0}


def test_surfaces_follow_a_wish_over_all_dials():
    """Times G1 is 2^(dose/2 + late/4 + brew): within a fiftieth of its spread, nearly."""
    question = asked(holds=HELD)
    values = WishValues(question, PLAN)
    found = surfaces_of(question.problem, values, PLAN, fresh=16)
    settings = {"dose": -3.0, "late": -2.0, "bittering": 4.0}
    there, true = found.values(settings), values.at(settings)

    assert set(there) == {"amount", "bitter"}
    np.testing.assert_allclose(there["bitter"], true["bitter"], atol=1e-3)
    spread = np.log2(found.today["amount"]).std()
    gap = np.abs(np.log2(np.maximum(there["amount"], 1e-9)) - np.log2(true["amount"]))
    assert np.quantile(gap, 0.95) < 0.1 * spread + 0.05
    assert beer().knobs == question.problem.knobs
