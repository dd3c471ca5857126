"""brewsim specify: sentences first, tables within 80 columns, JSON, faults of what was asked."""

import json

import pytest

from tests.door import DEMOS, brewsim
from tests.small_brewhouse import write

pytestmark = pytest.mark.slow

BITTER = DEMOS / "quillhaven-bitter.toml"
ROWS = [
    ("B01", 4.21, 27.5),
    ("B02", 4.35, 30.1),
    ("B03", 4.05, 28.8),
    ("B04", 4.28, 31.0),
    ("B05", 4.40, 26.2),
    ("B06", 4.12, 29.4),
    ("B07", 4.25, 28.1),
    ("B08", 4.31, 30.6),
    ("B09", 4.17, 27.0),
    ("B10", 4.38, 29.9),
    ("B11", 4.22, 28.5),
    ("B12", 4.29, 31.3),
]


def write_log(folder, count):
    path = folder / "log.csv"
    lines = [f"{name},{strength},{ibu}" for name, strength, ibu in ROWS[:count]]
    path.write_text("batch,alcohol (%),bitterness\n" + "\n".join(lines), encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def plain(tmp_path_factory):
    done = brewsim("specify", BITTER, folder=tmp_path_factory.mktemp("plain"))
    assert done.code == 0, done.err
    return done.out


@pytest.fixture(scope="module")
def logged(tmp_path_factory):
    folder = tmp_path_factory.mktemp("logged")
    done = brewsim(
        *("specify", BITTER, "--log", write_log(folder, 12), "--want", "alcohol ± 0.2 %"),
        *("--measured", "alcohol 4.5 % by bench alcohol meter", "--place", "US"),
        folder=folder,
    )
    assert done.code == 0, done.err
    return done.out


def test_sentences_come_first_and_everything_fits_80_columns(plain):
    lines = plain.splitlines()
    first_table = next(i for i, line in enumerate(lines) if "━" in line)

    assert max(len(line) for line in lines) <= 80
    assert lines.index("What the brewery can hold") < lines.index("Does it land") < first_table
    assert lines.index("What to measure") < lines.index("On the label") < first_table


def test_limits_targets_labels_and_capability_are_there(plain):
    told = " ".join(plain.split())

    for words in (
        "95 % of next brews lie in",
        "All 4 in the same batch",
        "by more than 0.5 points (EU)",
        "by more than 0.3 points (AU/NZ)",
        "Germany: of 50 batches duty counts",
        "Canada: of 50 batches the name is “beer”",
        "check locally",
        "Ppk",
    ):
        assert words in told


def test_a_log_a_want_and_a_measured_value_are_answered(logged):
    told = " ".join(logged.split())

    for words in (
        "Strength in 12 batches: mean 4.25 % ABV, standard deviation 0.10 (it may be 0.074 to",
        "Outside the limits for strength:",
        "of 12 logged",
        "For 40 of 50 inside, the standard deviation has to come down from 0.10 to",
        "it scatters most",
        "Control limits (mean ± 3 sd) say what the brewery does",
        "Measured strength 4.50 % ABV ± 0.052 (bench alcohol meter): ",
        ": it conforms, about ",
        " of 50 by the reading alone",
        "“alcohol ± 0.2 %” is taken around 4.",
        "The recipe's own target for strength, 3.9 to 4.5 % ABV, is set aside for “alcohol ±",
        "27 CFR 7.65",
    ):
        assert words in told
    assert "Only 12 batches" not in told


@pytest.fixture
def small(tmp_path):
    """Return a recipe with one target."""
    return write(tmp_path) / "r.toml"


def test_fewer_than_eight_batches_say_that_their_spread_is_uncertain(small, tmp_path):
    done = brewsim("specify", small, "--log", write_log(tmp_path, 5), folder=tmp_path)

    told = " ".join(done.out.split())
    assert "Only 5 batches: their spread is itself uncertain" in told
    assert "Limits from 5 batches alone" in told


def test_json_holds_limits_and_specs(small, tmp_path):
    done = brewsim("specify", small, "--place", "EU", "--json", folder=tmp_path)

    found = json.loads(done.out)
    assert set(found) == {"limits", "made_by", "specs"}
    assert found["specs"]["places"][0]["label"]["rule"]["tolerance"] == 0.005
    assert "check locally" in done.out


@pytest.mark.parametrize(
    ("option", "value", "words"),
    [
        ("--want", "alcool ± 0.2 %", "names no outcome. Did you mean alcohol"),
        ("--want", "alcohol 4.2 %", "write limits"),
        ("--want", "alcohol ± 0 %", "above 0"),
        ("--measured", "alcohol 4.2 % by nose", "no instrument 'nose'"),
        ("--place", "Atlantis", "no rules for 'Atlantis'"),
    ],
)
def test_what_cannot_be_asked_is_said_with_a_way_out(option, value, words, tmp_path):
    done = brewsim("specify", BITTER, option, value, folder=tmp_path)

    assert (done.code, done.out) == (2, "")
    assert words in done.err


def test_faults_of_a_log_name_their_lines(tmp_path):
    path = tmp_path / "log.csv"
    path.write_text("alcohol (%),bitterness\n4.2,many\nlots,30\n", encoding="utf-8")

    done = brewsim("specify", BITTER, "--log", path, folder=tmp_path)

    assert done.code == 2
    assert "line 2, bitterness" in done.err
    assert "line 3, alcohol" in done.err


def in_plato(small):
    """A recipe aiming at °P, and a log of six batches with readings in °P and in SG."""
    text = small.read_text(encoding="utf-8")
    folder = small.parent
    recipe = folder / "plato.toml"
    aims = '[targets]\noriginal_gravity = "10 to 10.6 °P"\n'
    assert "[targets]\n" in text
    recipe.write_text(text.replace("[targets]\n", aims), encoding="utf-8")
    log = folder / "log.csv"
    cells = ["10.2 °P", "10.4 °P", "1.0412", "10.9 °P", "1.0404", "10.3 °P"]
    log.write_text("batch,OG\n" + "\n".join(f"{n},{c}" for n, c in enumerate(cells)), "utf-8")
    return recipe, log


def test_readings_of_a_gravity_are_held_against_the_target_whatever_their_unit(small, tmp_path):
    recipe, log = in_plato(small)

    done = brewsim(
        *("specify", recipe, "--log", log, "--measured", "OG 10.3 °P by bench density meter"),
        *("--measured", "OG 1.0412 by checked hydrometer"),
        folder=tmp_path,
    )

    told = " ".join(done.out.split())
    assert "Original extract in 6 batches: mean" in told
    assert "Outside the limits for original extract: 1 of 6 logged" in told
    assert "Measured original extract 10.30 °P ± 0.063 (bench density meter): " in told
    assert "Measured original extract 10.28 °P" in told
    assert "the recipe has no target for it" not in told


def test_a_label_that_no_rule_of_a_place_judges_is_not_passed_over(small, tmp_path):
    done = brewsim("specify", small, "--label", "4.2", "--place", "Germany", folder=tmp_path)

    told = " ".join(done.out.split())
    assert "A label of 4.2 % ABV is not judged in Germany" in told
    assert "EU, UK, US and AU/NZ have one" in told
