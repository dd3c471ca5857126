"""Reading a recipe file: what is understood, and every fault of it at once."""

import pytest

from brewsim.recipe.read import parse_recipe
from tests.recipe.lines import BASE, faults_in, recipe_with

WRONG = [
    ("top", 'volume = "20 gal"', "write US gal (3.785 L) or imp gal (4.546 L)"),
    ("top", 'volume = "1 bbl"', "which barrel? write US bbl (117.3 L) or UK bbl (163.7 L)"),
    ("top", 'volume = "20"', "write 20 L, 20 hL, 20 US gal or 20 imp gal"),
    ("top", "volume = 20", "write 20 L, 20 hL, 20 US gal or 20 imp gal"),
    ("top", 'volume = "0 L"', "0 L is outside 0.5 L to 1000000 L"),
    ("top", 'volume = "-20 L"', "−20 L is outside"),
    ("top", 'volume = "20 kg"', "measures a mass, a volume belongs here"),
    ("top", 'volume = "nan L"', "is not a number"),
    ("top", "volume = nan", "is not a number"),
    ("top", 'volume = "1e308 L"', "too large to be meant"),
    ("top", 'volume = "at most 20 L"', "“at most” and “at least” are for targets"),
    ("top", 'boil = "60"', "write 60 min, 60 h"),
    ("top", 'boil = "60 mins long"', "is not a unit of time"),
    ("top", 'boil = "500 min"', "500 min is outside 0 min to 360 min"),
    ("top", 'efficiency = "0.72"', "did you mean 72 %?"),
    ("top", "efficiency = 0.72", "did you mean 72 %?"),
    ("top", 'efficiency = "720 %"', "720 % is outside 0 % to 100 %"),
    ("top", 'efficiency = "72 ± 80 %"', "write ± 57.6 %"),
    ("top", 'efficiency = "75 to 70 %"', "the smaller comes first"),
    ("top", 'efficiency_of = "packet"', "write kettle or fermenter"),
    ("top", 'efficency = "72 %"', "Did you mean efficiency"),
    ("top", 'mash = "66"', "write 66 °C or 66 °F"),
    ("top", 'mash = "152 °C"', "152 °C is outside 55 °C to 80 °C"),
    ("top", 'mash = "20 °F"', "20 °F is outside 131 °F to 176 °F"),
    ("top", 'wort_ph = "9"', "outside 4 pH to 7 pH"),
    ("top", 'name = ""', "is empty; write a name"),
    ("top", f'name = "{"x" * 201}"', "201 characters long; keep it within 200"),
    ("top", 'name = "a\\u0000b"', "cannot be printed"),
    ("top", 'name = ["a", "b"]', "write it as one text in quotes"),
    ("top", "boil = 60 min", 'has no quotes; write boil = "60 min"'),
    ("top", "= 3", "is not TOML"),
    ("hop", 'mass = "-1 g"', "−1 g is outside 0 g"),
    ("malt", 'mass = "0 kg"', "0 kg is not above 0. Leave the line out instead"),
    ("malt", 'mass = "-4 kg"', "−4 kg is outside"),
    ("malt", 'mass = "4.3 L"', "write kg, g, lb or oz"),
    ("malt", 'mass = "4 kilgrams"', "Did you mean kilograms"),
    ("malt", 'mass = "4 g"', "check g against kg"),
    ("malt", 'mass = "400 kg"', "is more than 1.5 kg/L; check kg against g"),
    ("malt", 'mass = "10 lb (5.5 kg)"', "the two amounts disagree"),
    ("malt", 'mass = "1,500 kg"', "write 1.500 or 1500"),
    ("malt", 'color = "3"', "write 3 °L, 3 EBC or 3 SRM"),
    ("malt", 'moisture = "400 %"', "400 % is outside 0 % to 100 %"),
    ("malt", 'colour = "3 EBC"', "Did you mean color?"),
    ("malt", "given = { extract_dry = '80 %' }", "does not end in a unit"),
    ("hop", 'alpha = "0.12"', "did you mean 12 %?"),
    ("hop", 'alpha = "0.12 %"', "Did you mean 12 %?"),
    ("hop", "alpha = 0.12", "did you mean 12 %?"),
    ("hop", 'alpha = "30 %"', "30 % is outside 1 % to 25 %"),
    ("hop", 'alpha = "20 to 30 %"', "30 % is outside 1 % to 25 %"),
    ("hop", 'alhpa = "5 %"', "Did you mean alpha?"),
    ("hop", 'mass = "30 oz (28 g)"', "the two amounts disagree"),
    ("hop", 'mass = "9.8 AAU"', "state the mass and the alpha acids apart"),
    ("hop", 'mass = "2 kg"', "40 g/L is the most"),
    ("hop", 'mass = "700 g"', "1500 mg/L is the most; check mass and alpha"),
    ("hop", 'rate = "2 g/L"', 'either mass = "40 g" or rate = "2 g/L"'),
    ("hop", 'when = "wirlpool 20 min"', "Did you mean whirlpool?"),
    ("hop", 'when = "boil"', "write boil 60 min"),
    ("hop", 'when = "boil 90 min"', "longer than the boil of 60 min"),
    ("hop", 'when = "boil 5 h 60 min sharp"', "is not a unit of time"),
    ("hop", 'when = "whirlpool 20 min at 80"', "write 80 °C or 80 °F"),
    ("hop", 'when = "whirlpool 20 min at 20 °C"', "20 °C is outside 40 °C to 105 °C"),
    ("hop", 'when = "mash 20 min"', "cannot be read after “mash”"),
    ("hop", 'when = "dry hop day 3 for 400 days"', "400 days is outside 0 days to 60 days"),
    ("hop", 'when = "dry hop for 3 days at 16 °C for 2 days"', "cannot be read"),
    ("hop", 'when = ""', "write mash, first wort, boil 60 min"),
    ("hop", 'form = "powder"', "write pellet or cone"),
    ("hop", 'age = "40 °C"', "a time belongs here"),
    ("precursor", 'dose = "2"', "write 2 g/L, 2 mg/L"),
    ("precursor", 'dose = "90 g/L"', "90 g/L is outside 0 g/L to 40 g/L"),
    ("precursor", 'mass = "40 g"', 'either dose = "2.5 g/L" or mass = "50 g"'),
    ("precursor", 'when = "bottling"', "write mash, boil, whirlpool or fermentation day 2"),
    ("precursor", 'when = "mash day 2"', "a day belongs to fermentation"),
    ("precursor", 'content = "1.2 mg/kg"', 'write basis = "conjugate"'),
    ("precursor", 'basis = "conjugated"', "Did you mean conjugate?"),
    ("yeast", 'thiol_release = "actve"', "Did you mean active?"),
    ("yeast", 'attenuation = "78"', "write 78 %"),
    ("yeast", 'attenuation = "12 %"', "outside 30 % to 100 %"),
    ("yeast", 'diastatic = "maybe"', "write yes, no or unknown"),
    ("yeast", 'temperature = "64 °C"', "outside 0 °C to 45 °C"),
    ("package", 'container = "cask"', "write keg or bottle"),
    ("package", 'carbonation = "2.5"', "write 2.5 vol or 2.5 g/L CO2"),
    ("package", 'carbonation = "25 vol"', "25 vol is outside 0 vol to 8 vol"),
    ("package", 'priming = "6 g/L honey"', "which sugar?"),
    ("package", 'priming = "60 g/L glucose"', "outside 0 g/L to 30 g/L"),
    ("package", 'container = "bottle"\npriming = "2 kg glucose"', "4 to 9 g/L is usual"),
    ("package", 'rating = "3 vol"', "is for bottles, nothing of a keg reads it; write container"),
    ("package", 'headspace = "4 %"', "is for bottles"),
    ("package", 'priming = "6 g/L sucrose"', "is for bottles"),
    ("package", 'priming = "glucose"', "how much? write 6 g/L glucose"),
    ("package", 'storage = "cold"', "is not a number with a unit"),
    ("package", 'storage = "6 weeks at 4"', "write 4 °C or 4 °F"),
    (
        "top",
        "mash = { temperature = '67 °C' }",
        'one value, not a table; write mash = "66 °C" above',
    ),
    (
        "malt",
        "color = { ebc = 5 }",
        'malt 1 color: is one value, not a table; write color = "3 EBC"',
    ),
    ("targets", 'alchohol = "4.8 to 5.4 %"', "Did you mean alcohol?"),
    ("targets", 'bitterness = "30 IBU"', "a target has limits"),
    ("targets", 'alcohol = "480 to 540 %"', "outside 0 % to 100 %"),
    ("targets", 'alcohol = "5 to 6 % ABW"', "4.0 % by weight is about 5.0 % ABV"),
    ("knobs", '"hop 2 mass" = "0 to 80 g"', "there is no hop 2; the recipe has 1 hop line"),
    ("knobs", '"hop Fugle mass" = "0 to 80 g"', "there is no hop Fugle"),
    ("knobs", '"hop 1 mess" = "0 to 80 g"', "Did you mean mass?"),
    ("knobs", '"hopp 1 mass" = "0 to 80 g"', "Did you mean hop"),
    ("knobs", '"hop 1 mass" = "40 g"', "a knob has two ends"),
    ("knobs", '"hop 1 mass" = "0 to 80 g in steps of 100 g"', "a step is above 0"),
    ("knobs", '"hop 1 mass" = "0 to 80 L"', "measures a volume"),
    ("knobs", '"precursor 1 dose" = "0 to 90 g/L"', "outside 0 g/L to 40 g/L"),
    ("knobs", '"yeast thiol_release" = "active"', "is a choice; write two or more"),
    ("knobs", '"yeast thiol_release" = ["active", "ordnary"]', "Did you mean ordinary?"),
    ("given", 'preboil_extract_plato = "11 kg"', "a gravity or extract belongs here"),
    ("given", 'preboil_extract_plato = "11"', "write 11 °P"),
    ("given", 'preboil = "11 °P"', "does not end in a unit"),
    ("brewhouse", 'lauter = "fly sparge"', "write stated, no sparge, batch sparge or"),
    ("brewhouse", 'lauter = "no sparge"', "it is computed for “no sparge”"),
    ("brewhouse", 'evaporation = "4 L"', "a volume per time belongs here"),
    ("brewhouse", 'altitude = "600 m"\nboil_temperature = "98 °C"', "say the same; keep one"),
]


@pytest.mark.parametrize(("place", "line", "fragment"), WRONG, ids=[w[1][:60] for w in WRONG])
def test_a_wrong_line_is_refused_with_what_to_write(place, line, fragment):
    text = recipe_with(place, line)
    faults = faults_in(text)
    first = text.splitlines().index(line.splitlines()[0]) + 1

    assert any(fragment in fault for fault in faults), faults
    assert len(faults) == 1, faults
    assert faults[0].startswith("line ")
    if "TOML" not in fragment:
        numbers = {n + 1 for n, one in enumerate(text.splitlines()) if one.startswith("[")}

        assert int(faults[0].split()[1].rstrip(",:")) in {first, *numbers, 2, 4}


def test_the_good_recipe_behind_the_wrong_ones_is_read():
    recipe = parse_recipe("\n".join(text for lines in BASE.values() for text in lines))

    assert recipe.hop[0].alpha.value == 0.05
    assert recipe.hop[0].when.time.value == 60
    assert recipe.malt[0].line == 5
    assert recipe.volume.line == 2


def test_all_faults_come_at_once_in_the_order_of_lines():
    text = (
        'name = "x"\nvolume = "20 gal"\nboil = "60"\n[[malt]]\nmass = 4 kg\n'
        '[yeast]\ndiastatic = "maybe"\nattenuaton = "75 %"'
    )
    faults = faults_in(text)
    lines = [int(fault.split()[1].rstrip(",:")) for fault in faults]

    assert lines == sorted(lines)
    assert set(lines) == {2, 3, 4, 5, 7, 8}


def test_a_missing_line_is_named_with_an_example():
    faults = faults_in('name = "x"\nboil = "60 min"\n[[malt]]\nname = "Pilsner malt"\n')

    assert 'volume: is missing; write volume = "20 L"' in faults
    assert 'line 3, malt 1 mass: is missing; write mass = "4.3 kg"' in faults


HAND_WRITTEN = """
name = "Hand written"
volume = "20 gal"
boil = "60 min"
malt = ["40 lb Pale malt (2.0 SRM)"]
hop = [
  "1 oz. (28 g) Fuggle 5.6% mash hop",
  ".5 oz Northern Brewer (6.5% AA) @ 10",
  "Galena 0.12 30 g at 60",
]
[package]
container = "bottle"
priming = "2⁄3 cup corn sugar"
"""


def test_a_hand_written_file_is_read_but_for_its_two_faults():
    faults = faults_in(HAND_WRITTEN)

    assert len(faults) == 2
    assert faults[0].startswith("line 3, volume: “20 gal”")
    assert "write US gal (3.785 L) or imp gal (4.546 L)" in faults[0]
    assert faults[1] == "line 9, hop 3 alpha: “0.12”: 0.12 has no unit; did you mean 12 %?"


TYPED = """
name = "Hand written"
volume = "20 US gal"
boil = "60 min"
[[malt]]
name = "Pale malt"
mass = "40 lb"
color = "2.0 SRM"
[[hop]]
variety = "Fuggle"
mass = "1 oz"
alpha = "5.6 %"
when = "mash"
[[hop]]
variety = "Northern Brewer"
mass = "0.5 oz"
alpha = "6.5 %"
when = "boil 10 min"
[[hop]]
variety = "Galena"
mass = "30 g"
alpha = "12 %"
when = "boil 60 min"
[package]
container = "bottle"
priming = "0.66666666666667 US cup corn sugar"
"""


def test_the_corrected_file_is_the_recipe_typed_out():
    fixed = HAND_WRITTEN.replace("20 gal", "20 US gal").replace("0.12", "12 %")
    written, typed = parse_recipe(fixed), parse_recipe(TYPED)
    aside = {"line": 0}

    assert [hop.model_copy(update=aside) for hop in written.hop] == [
        hop.model_copy(update=aside) for hop in typed.hop
    ]
    assert [malt.model_copy(update=aside) for malt in written.malt] == [
        malt.model_copy(update=aside) for malt in typed.malt
    ]
    assert written.package.priming.mass.value == pytest.approx(
        typed.package.priming.mass.value, rel=1e-9
    )
    assert any("corn sugar" in remark for remark in written.remarks)
