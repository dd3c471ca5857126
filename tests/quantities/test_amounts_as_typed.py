"""Amounts as they are typed: spellings, what can be misread, and every way back."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from brewsim.constants import gravity_of, plato_of
from brewsim.quantities.amounts import read_unit
from brewsim.quantities.conversion import Unit, convert, from_model
from brewsim.quantities.dimensions import kind_of, model_unit_of
from brewsim.quantities.format import shown
from brewsim.quantities.numerals import split_number
from tests.quantities.reading import value


def or_fault(text, unit):
    try:
        return value(text, unit), ""
    except ValueError as error:
        return None, str(error)


@pytest.mark.parametrize(
    ("text", "unit", "expected"),
    [
        ("1 lb 8 oz", "kg", 0.680388555),
        ("1 lb .5 oz", "g", 467.766932),
        ("1oz.", "g", 28.3495),
        (".5 oz", "g", 14.17476),
        ("1/2 oz", "g", 14.17476),
        ("1 1/2 lbs.", "g", 680.3886),
        ("2⁄3 cup", "L", 0.1577255),
        ("1½ US gal.", "L", 5.6781),
        ("2 U.S. gallons", "L", 7.57082),
        ("5 gallons (US)", "L", 18.92706),
        ("5 gal US", "L", 18.92706),
        ("0,25kg", "kg", 0.25),
        ("1.500,5 g", "g", 1500.5),
        ("1,500.5 g", "g", 1500.5),
        ("2 hl", "L", 200.0),
        ("750 ml", "L", 0.75),
        ("5 KG", "kg", 5.0),
        ("1 lb/US bbl", "g/L", 3.86537),
        ("1 oz/US gal", "g/L", 7.48915),
        ("1 oz per US gal", "g/L", 7.48915),
        ("100 g/hL", "g/L", 1.0),
        ("2 g / L", "g/L", 2.0),
        ("15 mg/kg", "µg/kg", 15000.0),
        ("3 ppb", "µg/kg", 3.0),
        ("3 ppm", "mg/L", 3.0),
        ("50 ppt", "ng/L", 50.0),
        ("50 ug/l", "µg/L", 50.0),
        ("50 μg/L", "µg/L", 50.0),
        ("1 h 30 min", "min", 90.0),
        ("60'", "min", 60.0),
        ("6 wk", "weeks", 6.0),
        ("14 days", "weeks", 2.0),
        ("9 °F", "Δ°C", 5.0),
        ("1.048", "°P", 11.90998),
        ("1048", "°P", 11.90998),
        ("48 points", "°P", 11.90998),
        ("SG 1.048", "SG", 1.048),
        ("OG 1.048", "SG", 1.048),
        ("12 °Bx", "°P", 12.0),
        ("12 Plato", "°P", 12.0),
        ("1.065 (15.8° P)", "SG", 1.065),
        ("158 EBC", "°L", 59.8140),
        ("60 L", "°L", 60.0),
        ("10 SRM", "EBC", 19.68504),
        ("2.5 volumes of CO2", "vol", 2.5),
        ("4.9425 g/L CO2", "vol", 2.5),
        ("pH 5.3", "pH", 5.3),
        ("22", "IBU", 22),
        ("5 % ABV", "fraction", 0.05),
        ("4,1 %", "fraction", 0.041),
        ("13.0%AA", "fraction", 0.13),
        ("2 US qt/lb", "L/kg", 4.172703),
        ("4 L/h", "L/h", 4.0),
        ("0.02 per min", "1/min", 0.02),
        ("102 %", "", 1.02),
        ("5 nM", "nmol/L", 5.0),
        ("500 kJ/mol", "kJ/mol", 500.0),
        ("1640 ft", "m", 499.872),
    ],
)
def test_spellings_brewers_use_are_read(text, unit, expected):
    assert value(text, unit) == pytest.approx(expected, rel=1e-5)


@pytest.mark.parametrize(
    ("text", "unit", "fragment"),
    [
        ("20 gal", "L", "write US gal (3.785 L) or imp gal (4.546 L)"),
        ("1 bbl", "L", "write US bbl (117.3 L) or UK bbl (163.7 L)"),
        ("3 pints", "L", "which pint?"),
        ("2 qt/lb", "L/kg", "which quart?"),
        ("1 oz/gal", "g/L", "which gallon?"),
        ("1 lb/bbl", "g/L", "which barrel?"),
        ("1 fl oz", "L", "which fluid ounce?"),
        ("40", "g", "write 40 g, 40 kg, 40 lb or 40 oz"),
        ("0.12", "fraction", "did you mean 12 %?"),
        ("12", "°P", "write 12 °P, 12 points or 1.0xx"),
        ("40 L", "g", "measures a volume, a mass belongs here"),
        ("4 grms", "g", "Did you mean grams or gms?"),
        ("9.8 AAU", "g", "state the mass and the alpha acids apart"),
        ("4 % ABW", "fraction", "4.0 % by weight is about 5.0 % ABV"),
        ("1,500 g", "g", "write 1.500 or 1500"),
        ("1 oz (35 g)", "g", "the two amounts disagree"),
        ("1.048 (14 °P)", "SG", "the two amounts disagree"),
        ("nan kg", "kg", "is not a number"),
        ("inf kg", "kg", "is not a number"),
        ("1e308 kg", "g", "too large to be meant"),
        ("1/0 kg", "kg", "divides by zero"),
        ("40 g 30", "g", "holds several numbers"),
        ("2.1 SG", "SG", "is not a beer or a wort"),
        ("", "g", "no number"),
    ],
)
def test_what_can_be_misread_is_refused_with_the_way_to_write_it(text, unit, fragment):
    with pytest.raises(ValueError, match=r".") as caught:
        value(text, unit)

    assert fragment in str(caught.value)


@pytest.mark.parametrize(
    "text", ["1 oz. (28 g)", "10 lb (4.5 kg)", "155 °F (68 °C)", "36 °F (2 °C)", "5 US gal (19 L)"]
)
def test_magazine_pairs_of_units_agree(text):
    unit = "°C" if "°" in text else "L" if "gal" in text else "g"

    assert value(text, unit) > 0


@pytest.mark.parametrize(
    ("number", "model_unit", "unit", "expected"),
    [
        (70, "g", "", "70 g (2.5 oz)"),
        (28.349523125, "g", "oz", "1 oz (28 g)"),
        (20, "L", "", "20 L (5.3 US gal)"),
        (66, "°C", "", "66 °C (151 °F)"),
        (12, "°P", "", "12 °P (1.048 SG)"),
        (0.056, "fraction", "", "5.6 %"),
        (2.5, "vol", "", "2.5 vol (4.9 g/L CO2)"),
        (1 / 3, "kg", "", "0.33333 kg (0.73 lb)"),
    ],
)
def test_a_twin_unit_stands_beside_without_added_digits(number, model_unit, unit, expected):
    assert shown(number, model_unit, unit) == expected


@given(
    st.sampled_from(
        [
            *[("kg", "lb"), ("g", "oz"), ("L", "US gal"), ("°C", "°F"), ("g/L", "lb/US bbl")],
            *[("°P", "SG"), ("SG", "°P"), ("EBC", "SRM"), ("°L", "EBC"), ("vol", "g/L CO2")],
            *[("µg/kg", "ppm"), ("fraction", "%"), ("Δ°C", "°F"), ("bar", "psi")],
            ("°P", "points"),
        ]
    ),
    st.floats(0.95, 1.2),
)
def test_every_conversion_has_its_way_back(pair, number):
    model_unit, symbol = pair
    unit = Unit(symbol, kind_of(model_unit))

    assert convert(from_model(number, unit, model_unit), unit, model_unit) == pytest.approx(
        number, rel=1e-9
    )


@given(st.floats(0.99, 1.15))
def test_plato_and_gravity_undo_each_other(gravity):
    assert gravity_of(plato_of(gravity)) == pytest.approx(gravity, abs=1e-12)


@pytest.mark.slow
@given(st.text(max_size=40))
def test_any_text_is_a_number_with_a_unit_or_a_fault(text):
    result, fault = or_fault(text, "g")

    assert fault or math.isfinite(result)


@given(st.floats(0.0001, 1e9))
def test_a_number_typed_back_is_the_same_number(number):
    read, rest = split_number(f"{number:.10f} kg")

    assert read == pytest.approx(number, rel=1e-6, abs=1e-9)
    assert rest == "kg"


def test_a_unit_error_names_what_belongs_there():
    with pytest.raises(ValueError, match="write kg, g, lb or oz"):
        read_unit("metres", "kg")


@pytest.mark.parametrize(
    ("name", "unit"),
    [
        ("hop_mass_g", "g"),
        ("trub_fraction", "fraction"),
        ("stall_share", "fraction"),
        ("original_gravity_sg", "SG"),
        ("mash_set_temperature_c", "°C"),
        ("mash_temperature_error_c", "Δ°C"),
        ("storage_halving_c", "Δ°C"),
        ("strike_loss_c", "Δ°C"),
        ("strike_water_temperature_c", "°C"),
        ("mash_efficiency_fraction__stated", "fraction"),
        ("thiol_lead", "doublings"),
        ("nonsense", None),
    ],
)
def test_the_unit_is_told_by_the_ending_of_a_name(name, unit):
    assert model_unit_of(name) == unit
