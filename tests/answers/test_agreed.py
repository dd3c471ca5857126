"""The action of a page begins at the median that the page prints."""

from dataclasses import replace
from types import SimpleNamespace

import pytest

from brewsim.answers.advice import Advice, Lever, agreed

LEVER = Lever(None, True, 1.0, 2.0, 0.1, 0.0, {"y": (0.3, 0.4)}, {"y": (2.0, 3.0)})


@pytest.mark.parametrize(("scale", "after"), [("linear", 3.5), ("log", 3.75)])
def test_a_lever_moves_the_printed_median_by_as_much(scale, after):
    problem = SimpleNamespace(scales={"y": scale})

    found = agreed(Advice(LEVER, None, LEVER), None, problem, medians={"y": 2.5})

    for lever in (found.listed, found.unlisted):
        assert lever.middles["y"] == pytest.approx((2.5, after))
        assert replace(lever, middles=LEVER.middles) == LEVER
    assert found.choice is None
