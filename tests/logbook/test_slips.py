"""Slips of the pen: what may have been meant by a number that was written."""

import math

import pytest

from brewsim.logbook.slips import slips_of


@pytest.mark.parametrize(
    ("written", "meant", "what"),
    [
        ("94", "49", "two digits in the wrong order"),
        ("1.021 by my spindle", "1.012", "two digits in the wrong order"),
        ("12,9 L", "19,2 L", "two digits in the wrong order"),
        ("28 IBU", "22 IBU", "one digit"),
        ("480", "48.0", "the decimal point"),
        ("4.9 %", "49 %", "the decimal point"),
        ("1.48", "1.048", "a zero left out"),
        ("5.3 L", "5.3 US gal", "the unit"),
        ("9 EBC", "9 SRM", "the unit"),
    ],
)
def test_a_slip_is_among_what_may_have_been_meant(written, meant, what):
    found = {slip.text: slip.what for slip in slips_of(written)}

    assert found.get(meant) == what


def test_shares_of_slips_are_at_most_one():
    for written in ("1.048", "94 IBU", "20.4 L by volume mark", "7"):
        assert sum(slip.share for slip in slips_of(written)) <= 1 + 1e-9


def test_nothing_is_meant_by_a_text_without_a_number():
    assert not list(slips_of("none"))


def test_what_is_meant_is_never_what_was_written():
    for written in ("1.048", "11", "20.2 L"):
        assert written not in {slip.text for slip in slips_of(written)}
        assert all(math.isfinite(slip.share) for slip in slips_of(written))
