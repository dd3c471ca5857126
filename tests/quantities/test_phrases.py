"""Phrases for a spread: one small grammar."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from brewsim.quantities.format import in_words
from brewsim.quantities.phrases import read_phrase
from brewsim.quantities.statement import Phrase


def phrase(text, unit="fraction"):
    return read_phrase(text, unit).phrase


def or_fault(text, unit):
    try:
        return phrase(text, unit), ""
    except ValueError as error:
        return None, str(error)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("5.6 %", Phrase("plain", 0.056)),
        ("about 5.6 %", Phrase("plain", 0.056)),
        ("exactly 5.6 %", Phrase("exactly", 0.056)),
        ("5.6 ± 0.6 %", Phrase("range90", 0.056, 0.05, 0.062)),
        ("5.6 +/- 0.6 %", Phrase("range90", 0.056, 0.05, 0.062)),
        ("5.6 % (±0.6)", Phrase("range90", 0.056, 0.05, 0.062)),
        ("5.6 % ± 0.6 %", Phrase("range90", 0.056, 0.05, 0.062)),
        ("5.0 to 6.2 %", Phrase("range90", 0.056, 0.05, 0.062)),
        ("5.0-6.2 %", Phrase("range90", 0.056, 0.05, 0.062)),
        ("5,0 – 6,2 %", Phrase("range90", 0.056, 0.05, 0.062)),
        ("5 % - 6.2 %", Phrase("range90", 0.056, 0.05, 0.062)),
        ("5.6 % within a factor 2", Phrase("factor", 0.056, 0.028, 0.112, factor=2.0)),
        ("5.6 % within a factor of 2", Phrase("factor", 0.056, 0.028, 0.112, factor=2.0)),
        ("between 5 and 6.2 %", Phrase("uniform", 0.056, 0.05, 0.062)),
        ("Between 5 % and 6.2 %, likely 5.5", Phrase("triangular", 0.055, 0.05, 0.062)),
        ("at most 5 %", Phrase("at_most", 0.05, high=0.05)),
        ("<= 5 %", Phrase("at_most", 0.05, high=0.05)),
        ("at least 5 %", Phrase("at_least", 0.05, low=0.05)),
    ],
)
def test_a_phrase_means_what_it_says(text, expected):
    assert phrase(text) == expected


def test_sd_is_a_standard_deviation():
    read = phrase("5.6 sd 0.4 %")

    assert (read.kind, read.middle) == ("sd", 0.056)
    assert read.sd == pytest.approx(0.004)


def test_a_list_is_own_measurements():
    read = read_phrase(["5.4 %", "5.9 %", "5.6 %"], "fraction")

    assert read.phrase.values == (0.054, 0.059, 0.056)
    assert read.phrase.middle == pytest.approx(0.0563333, abs=1e-6)
    assert read.phrase.lots == 0
    assert read.text == '["5.4 %", "5.9 %", "5.6 %"]'


@pytest.mark.parametrize(
    "written", [["5.4 %", "5.9 %", "of 3 lots"], "measured 5.4; 5.9 % of 3 lots"]
)
def test_measurements_can_come_from_several_lots(written):
    read = phrase(written)

    assert (read.values, read.lots) == ((0.054, 0.059), 3)


def test_a_temperature_spread_converts_without_the_32():
    """Source: NIST Special Publication 811 (2008): an interval of 1.8 °F is 1 °C."""
    read = phrase("150 ± 1.8 °F", "°C")

    assert read.high - read.middle == pytest.approx(1.0, abs=1e-9)
    assert read.middle == pytest.approx(65.5556, abs=1e-4)
    assert phrase("150 °F sd 1.8 °F", "°C").sd == pytest.approx(1.0, abs=1e-9)
    assert phrase("66 °C ± 1.8 °F", "°C").high == pytest.approx(67.0, abs=1e-9)


def test_a_relative_spread_is_a_share_of_the_value():
    assert phrase("40 g ± 5 %", "g") == Phrase("range90", 40, 38, 42)


def test_gravities_keep_their_curve():
    read = read_phrase("1.048 ± 0.002", "°P")

    assert read.unit == "SG"
    assert (read.phrase.low, read.phrase.high) == pytest.approx((11.433, 12.385), abs=1e-3)


def test_the_unit_typed_is_kept_for_showing():
    assert read_phrase("1 lb 8 oz", "kg").unit == "lb"
    assert read_phrase("1 to 2 oz", "g").unit == "oz"


def test_negative_ranges_are_read():
    assert phrase("-1 to 1", "doublings") == Phrase("range90", 0, -1, 1)
    assert phrase("−2 – −1", "doublings") == Phrase("range90", -1.5, -2, -1)


@pytest.mark.parametrize(
    ("text", "fragment"),
    [
        ("", "nothing is written"),
        ("6 to 5 %", "the smaller comes first"),
        ("between 6 and 5 %", "the smaller comes first"),
        ("between 5 and 6 %, likely 8", "likely 8 is not between"),
        ("5 % ± 0", "a spread is above 0"),
        ("72 ± 80 %", "write ± 57.6 %"),
        ("5 % within a factor 1", "a factor is above 1"),
        ("5 % within a factor 9999", "a factor is above 1 and at most 1000"),
        ("0 % within a factor 2", "needs a value above 0"),
        ("5 to 6", "has no unit"),
        ("measured 5 %", "two or more"),
        (["5 %", "6 %", "of 1 lots"], "several lots are two or more"),
        (["5 %"], "two or more"),
        ([], "two or more"),
        ("five %", "is not a number with a unit"),
        ("5 %" + " " * 290 + "to 6 % and more", "longer than 300"),
    ],
)
def test_a_phrase_that_cannot_be_meant_is_refused(text, fragment):
    with pytest.raises(ValueError, match=r".") as caught:
        phrase(text)

    assert fragment in str(caught.value) or not text


numbers = st.integers(1, 4000).map(lambda n: n / 100)


@given(numbers, numbers)
def test_a_range_and_a_plus_minus_are_one_phrase(middle, share):
    spread = middle * min(share, 39) / 40
    low, high = middle - spread, middle + spread
    if f"{low:.6f}" == f"{high:.6f}":
        return
    first = phrase(f"{middle:.6f} ± {spread:.6f} g/L", "g/L")
    second = phrase(f"{low:.6f} to {high:.6f} g/L", "g/L")

    assert (first.kind, second.kind) == ("range90", "range90")
    assert (first.low, first.high) == pytest.approx((second.low, second.high), abs=3e-6)


@given(numbers, numbers, st.sampled_from(["{} to {} %", "between {} and {} %", "{}–{} %"]))
def test_the_ends_of_a_range_are_the_numbers_typed(one, other, form):
    low, high = sorted((one, other))
    if low == high:
        return
    read = phrase(form.format(low, high))

    assert (read.low, read.high) == pytest.approx((low / 100, high / 100), rel=1e-12)
    assert read.low < read.middle < read.high


@given(numbers, st.sampled_from(["kg", "g", "lb", "oz"]))
def test_a_decimal_comma_and_a_point_are_one_number(number, unit):
    text = f"{number:.2f}"

    assert phrase(f"{text} {unit}", "g") == phrase(f"{text.replace('.', ',')}{unit}", "g")


@given(st.text(max_size=60), st.sampled_from(["fraction", "g", "°P", "°C", "", "vol", "°L"]))
def test_any_text_is_a_finite_phrase_or_a_fault_in_words(text, unit):
    read, fault = or_fault(text, unit)

    assert fault or math.isfinite(read.middle)


@given(st.text("0123456789.,± %to-–gandbetwnlikysf/()½⁄°C", max_size=40))
def test_texts_near_the_grammar_are_phrases_or_faults(text):
    read, fault = or_fault(text, "g")

    assert fault or all(
        math.isfinite(number) for number in (read.middle, read.low or 0, read.high or 0)
    )


@pytest.mark.parametrize(
    ("text", "unit", "words"),
    [
        ("5.6 ± 0.6 %", "fraction", "nine in ten between 5.0 and 6.2 %"),
        ("5.0 to 6.2 %", "fraction", "nine in ten between 5.0 and 6.2 %"),
        ("exactly 5.6 %", "fraction", "exactly 5.6 %"),
        ("5.6 %", "fraction", "5.6 %, with the usual spread"),
        ("5.6 sd 0.4 %", "fraction", "5.6 %, standard deviation 0.40 %"),
        ("150 °F sd 2 °F", "°C", "150 °F, standard deviation 2.0 °F"),
        ("between 5 and 6.2 %", "fraction", "anywhere between 5.0 and 6.2 %, never outside"),
        (
            "between 5 and 6.2 %, likely 5.5",
            "fraction",
            "between 5.0 and 6.2 %, likely 5.5 %, never outside",
        ),
        (
            "15 mg/kg within a factor 2.5",
            "µg/kg",
            "nine in ten between 6 and 38 mg/kg (within a factor 2.5)",
        ),
        ("at most 30 IBU", "IBU", "at most 30 IBU"),
        ("at least 4 %", "fraction", "at least 4 %"),
        (["5.4 %", "5.9 %", "5.6 %"], "fraction", "3 own measurements, mean 5.6333 %"),
    ],
)
def test_what_was_understood_is_said_in_words(text, unit, words):
    assert in_words(read_phrase(text, unit)) == words
