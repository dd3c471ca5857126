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


def by_hand(written):
    return [(slip.text, slip.what, slip.share) for slip in slips_of(written)]


def one_digit(before, digits, after, share):
    """Return every text in which one of the digits is another, the number's sign of parts kept."""
    places = [place for place, sign in enumerate(digits) if sign.isdigit()]
    return [
        (f"{before}{digits[:place]}{other}{digits[place + 1 :]}{after}", "one digit", share)
        for place in places
        for other in "0123456789"
        if other != digits[place]
    ]


def test_all_that_a_volume_may_have_been_meant_as():
    """Worked out by hand from the shares 3:4:1:1:1 of the kinds of slips."""
    assert by_hand("about 1,05 L by volume mark") == [
        ("about 0,15 L", "two digits in the wrong order", pytest.approx(0.15)),
        ("about 1,50 L", "two digits in the wrong order", pytest.approx(0.15)),
        *one_digit("about ", "1,05", " L", pytest.approx(0.4 / 27)),
        ("about 10.5 L", "the decimal point", pytest.approx(0.05)),
        ("about 0.105 L", "the decimal point", pytest.approx(0.05)),
        ("about 1,005 L", "a zero left out", pytest.approx(0.1)),
        ("about 1,05 US gal", "the unit", pytest.approx(0.1 / 3)),
        ("about 1,05 imp gal", "the unit", pytest.approx(0.1 / 3)),
        ("about 1,05 hL", "the unit", pytest.approx(0.1 / 3)),
    ]


@pytest.mark.parametrize(
    ("number", "shifted"),
    [
        ("7", ["70"]),
        ("7.5", ["75", "0.75"]),
        ("48", ["480", "4.8"]),
        ("48.25", ["482.5", "4.825"]),
        ("480", ["4800", "48.0"]),
    ],
)
def test_a_point_slips_by_one_place_to_either_side(number, shifted):
    found = [s for s in slips_of(number) if s.what == "the decimal point"]

    assert [slip.text for slip in found] == shifted
    assert [slip.share for slip in found] == [0.05] * len(shifted)


def test_a_whole_number_leaves_no_zero_out_and_two_alike_digits_no_order():
    assert by_hand("11 g") == [
        *one_digit("", "11", " g", pytest.approx(0.2 / 9)),
        ("110 g", "the decimal point", pytest.approx(0.05)),
        ("1.1 g", "the decimal point", pytest.approx(0.05)),
    ]
