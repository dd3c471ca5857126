"""What each aim asks of amounts and people: its window, exact and smooth."""

import numpy as np
import pytest

from brewsim.distributions.constructors import normal
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
from tests.study.tasted_beers import PANEL


def seen(now, then, **people):
    values = {name: np.array(v, dtype=float) for name, v in now.items()}
    tasted = {b: {"amount": np.array(v, dtype=float)} for b, v in then.items()}
    return Seen(values, tasted, lambda name: np.full(1, people.get(name.partition(" @")[0], 0.0)))


@pytest.mark.parametrize(
    ("aim", "met"),
    [
        (Fold("amount", "G1", -1.5, -0.5), [0, 1, 0]),
        (Fold("amount", "G1", 0.5), [0, 0, 1]),
        (Difference("amount", "G1", -3, 0), [0, 1, 0]),
        (Between("amount", ("G1", "G2")), [0, 1, 0]),
        (NoFurtherOut("amount", "G1", 5.0, 6.0), [0, 0, 0]),
        (NoFurtherOut("amount", "G1", 1.5, 3.0), [0, 1, 0]),
        (AsStrong("amount", "G1", -0.5, 0.5, times=0.5, exponent=None), [0, 1, 0]),
    ],
)
def test_an_aim_is_met_inside_its_window(aim, met):
    """Amounts 0.5, 2 and 16 against 4 in G1 and 1 in G2."""
    case = seen({"amount": [0.5, 2, 16]}, {"G1": [4, 4, 4], "G2": [1, 1, 1]})

    assert all_met([aim], case, smooth=False).tolist() == met
    near = all_met([aim], case, smooth=True)
    assert ((near > 0.5) == np.array(met, dtype=bool)).all()


def test_half_as_strong_is_less_than_half_of_it():
    """Strength as the 0.4th power of the amount: half as strong is 2^(-1 / 0.4) = 0.18 times."""
    aim = AsStrong("amount", "G1", -0.5, 0.5, times=0.5, exponent=normal(0.4, 1e-9))
    case = seen({"amount": [0.4, 0.18 * 4]}, {"G1": [4, 4]})

    low, high = aim.ends(case)
    assert 2.0 ** ((low + high) / 2) == pytest.approx(0.1768, abs=1e-4)
    assert aim.met(case).tolist() == [0, 1]


def test_just_right_asks_every_taster():
    """Ideals 1.6 and 1.6 + 0.7, half widths 0.5: 1.8 is right for one, 3 for neither."""
    aim = JustRight("y", "thiols", ("a", "b"), PANEL)
    case = seen({"y": [1.75, 1.95, 3.0]}, {}, **{"ideal thiols of b": 1.0})

    assert aim.met(case).tolist() == [0.5, 1.0, 0.0]
    assert aim.nearly_met(case)[1] > aim.nearly_met(case)[2]
