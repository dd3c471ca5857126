"""Reading a recipe file: what is understood, and every fault of it at once."""

import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from brewsim.errors import InputError
from brewsim.recipe.read import parse_recipe, read_recipe
from brewsim.recipe.starter import starter_recipe

BASE = {
    "top": ['name = "Test"', 'volume = "20 L"', 'boil = "60 min"', 'efficiency = "72 %"'],
    "malt": ["[[malt]]", 'name = "Pilsner malt"', 'mass = "4 kg"'],
    "hop": [
        "[[hop]]",
        'variety = "Fuggle"',
        'alpha = "5 %"',
        'mass = "30 g"',
        'when = "boil 60 min"',
    ],
    "precursor": ["[[precursor]]", 'name = "powder"', 'dose = "2 g/L"', 'when = "whirlpool"'],
    "yeast": ["[yeast]", 'name = "ale yeast"'],
    "package": ["[package]", 'container = "keg"'],
    "targets": ["[targets]"],
    "knobs": ["[knobs]"],
    "given": ["[given]"],
    "brewhouse": ["[brewhouse]"],
}


def recipe_with(place, line):
    """A good recipe with one line put in, in place of the line of the same key."""
    blocks = {name: list(lines) for name, lines in BASE.items()}
    key = line.split("=")[0].strip()
    old = [n for n, text in enumerate(blocks[place]) if text.split("=")[0].strip() == key]
    if old:
        blocks[place][old[0]] = line
    else:
        blocks[place].append(line)
    return "\n".join(text for lines in blocks.values() for text in lines) + "\n"


def name_or_faults(text):
    try:
        return parse_recipe(text).name, ()
    except InputError as error:
        return "", error.faults


def faults_in(text):
    with pytest.raises(InputError) as caught:
        parse_recipe(text)
    return caught.value.faults


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


@pytest.mark.parametrize(
    ("line", "variety", "grams", "alpha", "step", "time_"),
    [
        ("0.70 oz Challenger [13.0%] - Boil 60 min", "Challenger", 19.84, 0.13, "boil", 60),
        ("1.5 oz Glacier 8%AA for 60 Min", "Glacier", 42.52, 0.08, "boil", 60),
        (
            "0.9 oz Northern Brewer (6.5% AA) for 60mins",
            "Northern Brewer",
            25.51,
            0.065,
            "boil",
            60,
        ),
        ("Centennial 5.6 % (±0.6) 28 g in mash", "Centennial", 28, 0.056, "mash", None),
        ("30 g Fuggle at flameout", "Fuggle", 30, None, "flameout", None),
        ("40 g Fuggle 4,5 % 60'", "Fuggle", 40, 0.045, "boil", 60),
        ("20 g Fuggle 5 % DH day 3 for 4 days at 16 °C", "Fuggle", 20, 0.05, "dry hop", 4),
        ("1 lb Fuggle, 5 %, first wort", "Fuggle", 453.59, 0.05, "first wort", None),
    ],
)
def test_lines_from_magazines_and_threads_are_read(line, variety, grams, alpha, step, time_):
    text = recipe_with("top", 'volume = "60 L"').replace("[[hop]]\n", "[[hop]]\nlot = 'a'\n")
    text = text.split("[[hop]]")[0] + "[[precursor]]" + text.split("[[precursor]]")[1]
    recipe = parse_recipe(text.replace('boil = "60 min"', f'boil = "60 min"\nhop = ["{line}"]'))
    (hop,) = recipe.hop

    assert hop.variety == variety
    assert hop.mass.value == pytest.approx(grams, abs=0.01)
    assert (hop.alpha.value if hop.alpha else None) == pytest.approx(alpha)
    assert hop.when.step == step
    assert (hop.when.time.value if hop.when.time else None) == time_


@pytest.mark.parametrize(
    ("text", "step", "time_", "temperature", "day", "fermenting"),
    [
        ("mash", "mash", None, None, None, False),
        ("Mash hop", "mash", None, None, None, False),
        ("FWH", "first wort", None, None, None, False),
        ("boil 60 min", "boil", 60, None, None, False),
        ("@ 60", "boil", 60, None, None, False),
        ("at 60 min", "boil", 60, None, None, False),
        ("60'", "boil", 60, None, None, False),
        ("1 h", "boil", 60, None, None, False),
        ("boil 0 min", "flameout", None, None, None, False),
        ("Flameout", "flameout", None, None, None, False),
        ("whirlpool", "whirlpool", None, None, None, False),
        ("whirlpool 20 min at 80 °C", "whirlpool", 20, 80, None, False),
        ("hop stand 20 min at 175 °F", "whirlpool", 20, 79.444, None, False),
        ("hop stand at 175 F for 20 min", "whirlpool", 20, 79.444, None, False),
        ("dry hop", "dry hop", None, None, None, False),
        ("dry hop day 3 for 4 days at 16 °C", "dry hop", 4, 16, 3, True),
        ("DH day 8 for 4 days", "dry hop", 4, None, 8, False),
        ("dry hop during fermentation for 3 days", "dry hop", 3, None, None, True),
        ("dry hop at 1/3 fermentation", "dry hop", None, None, None, True),
        ("dry hop at 1.020 for 5 days", "dry hop", 5, None, None, True),
        ("dry hop after fermentation for 72 h", "dry hop", 3, None, None, False),
    ],
)
def test_times_are_read_as_brewers_write_them(text, step, time_, temperature, day, fermenting):
    recipe = parse_recipe(recipe_with("hop", f'when = "{text}"'))
    when = recipe.hop[0].when

    assert (when.step, when.day, when.fermenting) == (step, day, fermenting)
    assert (when.time.value if when.time else None) == time_
    assert (when.temperature.value if when.temperature else None) == (
        pytest.approx(temperature, abs=1e-3) if temperature else None
    )


@pytest.mark.parametrize(
    ("text", "step", "day"),
    [
        ("mash", "mash", None),
        ("in the whirlpool", "whirlpool", None),
        ("fermentation day 2", "fermentation", 2),
        ("day 2", "fermentation", 2),
        ("at pitching", "fermentation", 0),
        ("boil", "boil", None),
    ],
)
def test_precursor_times_are_read(text, step, day):
    recipe = parse_recipe(recipe_with("precursor", f'when = "{text}"'))

    assert (recipe.precursor[0].when.step, recipe.precursor[0].when.day) == (step, day)


def test_a_zero_dose_is_a_dose():
    recipe = parse_recipe(recipe_with("precursor", 'dose = "0 g/L"'))

    assert recipe.precursor[0].dose.value == 0


def test_knobs_keep_the_persons_unit():
    recipe = parse_recipe(
        recipe_with("knobs", '"hop Fuggle mass" = "0 to 2 oz in steps of 0.5 oz"')
    )
    (knob,) = recipe.knobs.values()

    assert (knob.kind, knob.row, knob.field, knob.unit) == ("hop", 0, "mass", "oz")
    assert (knob.high, knob.step) == pytest.approx((56.699, 14.1748), abs=1e-3)
    assert knob.per_shown == pytest.approx(28.349523125)


def test_lots_that_contradict_each_other_are_refused():
    text = recipe_with("hop", 'lot = "A"').replace(
        "[[precursor]]",
        '[[hop]]\nvariety = "Galena"\nalpha = "5 %"\nmass = "3 g"\nwhen = "mash"\nlot = "A"\n'
        '[[hop]]\nvariety = "fuggle"\nalpha = "6 %"\nmass = "3 g"\nwhen = "mash"\nlot = "A"\n'
        "[[precursor]]",
    )
    faults = faults_in(text)

    assert len(faults) == 2
    assert "a lot is of one variety" in faults[0]
    assert "lot A has 5 % in hop 1, 6 % here; state it once" in faults[1]


def test_a_key_written_twice_is_told_by_its_line():
    faults = faults_in(recipe_with("malt", 'mass = "4 kg"\nmass = "5 kg"'))

    assert faults == ("line 8: “mass” is written twice; keep one",)


def test_two_hundred_additions_are_the_most():
    row = '[[hop]]\nvariety = "Fuggle"\nmass = "1 g"\nwhen = "mash"\n'
    text = "\n".join([*BASE["top"], *BASE["malt"], row * 201])

    assert faults_in(text) == ("hop: 201 lines; 200 are the most",)
    assert len(parse_recipe("\n".join([*BASE["top"], *BASE["malt"], row * 200])).hop) == 200


def test_deep_nesting_is_refused_and_not_a_crash():
    assert "nested" in faults_in(recipe_with("top", "x = " + "[" * 5000 + "]" * 5000))[0]
    assert "nested" in faults_in(recipe_with("top", "x = " + "[" * 20 + "]" * 20))[0]


@pytest.mark.parametrize(
    ("data", "fragment"),
    [
        (b"#" * 1_000_001, "larger than 1 MB"),
        (b'name = "a"\nnotes = "\xff"\n', "line 2: is not UTF-8 text"),
        (b"", "name: is missing"),
    ],
)
def test_a_file_that_is_no_recipe_is_refused(tmp_path, data, fragment):
    file = tmp_path / "recipe.toml"
    file.write_bytes(data)
    with pytest.raises(InputError) as caught:
        read_recipe(file)

    assert any(fragment in fault for fault in caught.value.faults)
    assert str(file) in str(caught.value)


def test_a_missing_file_and_a_folder_are_refused(tmp_path):
    for path in (tmp_path, tmp_path / "none.toml"):
        with pytest.raises(InputError, match="cannot be opened"):
            read_recipe(path)


def test_windows_line_ends_and_a_byte_order_mark_are_fine(tmp_path):
    file = tmp_path / "recipe.toml"
    file.write_bytes(b"\xef\xbb\xbf" + starter_recipe().replace("\n", "\r\n").encode())

    assert read_recipe(file).hop[0].variety == "Hersbrucker Spät"


def test_the_starter_recipe_reads_without_a_fault_whatever_its_name():
    recipe = parse_recipe(starter_recipe('A "quoted" \\ name'))

    assert recipe.name == 'A "quoted" \\ name'
    assert len(recipe.knobs) == 4
    assert recipe.targets["alcohol"].phrase.low == 0.045


def test_reading_is_quick_for_lines_made_to_be_slow():
    text = recipe_with("top", f'notes = "{"a " * 9000}"') + "# " + "a-b " * 5000 + "\n"
    started = time.perf_counter()
    parse_recipe(text)

    assert time.perf_counter() - started < 2


@pytest.mark.parametrize("piece", [" ", "1 ", "(", "- ", "1/", "oz ", "at "])
def test_ingredient_lines_made_to_be_slow_are_answered_at_once(piece):
    started = time.perf_counter()
    rows = f'["{piece * 5000}", "{piece * (190 // len(piece))}"]'
    text = "\n".join([*BASE["top"], f"malt = {rows}", f"hop = {rows}", f"sugar = {rows}"])
    faults = faults_in(text)

    assert time.perf_counter() - started < 2
    assert faults


@settings(max_examples=60, deadline=None)
@given(
    st.sampled_from(["top", "malt", "hop", "precursor", "yeast", "package", "targets", "knobs"]),
    st.text(max_size=60),
)
def test_any_line_gives_a_recipe_or_faults(place, line):
    name, faults = name_or_faults(recipe_with(place, line))

    assert bool(name) != bool(faults)


@settings(max_examples=60, deadline=None)
@given(
    st.sampled_from(["volume", "boil", "mass", "when", "alpha", "dose", "priming", "storage"]),
    st.text(st.characters(exclude_characters='"\\', exclude_categories=["Cs", "Cc"]), max_size=40),
)
def test_any_value_gives_a_recipe_or_faults(key, value):
    home = {"alpha": "hop", "when": "hop", "mass": "malt", "dose": "precursor"}
    home |= {"priming": "package", "storage": "package"}
    name, faults = name_or_faults(recipe_with(home.get(key, "top"), f'{key} = "{value}"'))

    assert bool(name) != bool(faults)
