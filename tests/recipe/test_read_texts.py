"""Lines and times as brewers write them, and files that are no recipe."""

import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from brewsim.errors import InputError
from brewsim.recipe.read import parse_recipe, read_recipe
from brewsim.recipe.starter import starter_recipe
from tests.recipe.lines import BASE, faults_in, recipe_with


def name_or_faults(text):
    try:
        return parse_recipe(text).name, ()
    except InputError as error:
        return "", error.faults


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
