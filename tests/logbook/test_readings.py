"""One reading, one heading: what each becomes, and how a wrong one is told."""

import pytest

from brewsim.files.toml_lines import LINE_KEY
from brewsim.logbook.own_instruments import Instruments, _near
from brewsim.logbook.readings import (
    TASTERS,
    calibration_of,
    is_strange,
    named_quantity,
    reading_of,
)
from brewsim.logbook.sections import Calibration
from brewsim.logbook.tables import _headed, _toml, tables_of
from brewsim.priors.library import load_priors
from brewsim.quantities.statement import Written
from tests.small_recipe import TEXT
from tests.texts import problem_of

PRIORS = load_priors()
KINDS = Instruments(PRIORS, {"Mine": "consumer hydrometer", "lens": "refractometer"}, ("mine",))
Z90 = 1.6448536269514722


@pytest.fixture(scope="module")
def problem():
    return problem_of(TEXT)


def words(text, line=5):
    return Written(text, line)


@pytest.mark.parametrize(
    ("name", "quantity"),
    [
        ("OG", "original_gravity_sg"),
        (" Original Gravity ", "original_gravity_sg"),
        ("tasters", TASTERS),
        ("tasters noticed", TASTERS),
        ("final_extract", "final_extract_plato"),
        ("trub", "trub_fraction"),
        ("bitternes", None),
    ],
)
def test_a_name_is_the_quantity_a_person_means(name, quantity, problem):
    if quantity is None:
        with pytest.raises(ValueError, match=f"^there is no quantity {name}"):
            named_quantity(name, problem.graph)
    else:
        assert named_quantity(name, problem.graph) == quantity


def test_what_is_no_quantity_and_no_slip_of_one_is_strange():
    names = ("Wind", "OG", "bitternes", "trub")

    assert [is_strange(name) for name in names] == [True, False, False, False]


def test_a_reading_by_an_instrument_has_its_bias_and_noise(problem):
    taken = reading_of("OG", words("1.045 BY mine"), problem, KINDS)
    one = taken.reading

    assert (one.quantity, one.value, one.instrument, one.scale) == (
        "original_gravity_sg", 1.045, "Mine", "linear",
    )  # fmt: skip
    assert one.noise > 0
    assert one.bias > 0
    assert one.label == "original gravity"
    assert (taken.by, taken.remark, taken.brix) == ("", "", None)


def test_a_reading_without_one_is_taken_to_be_by_the_logs_own(problem):
    taken = reading_of("OG", words("1.045"), problem, KINDS)

    assert taken.by == "Mine"
    assert taken.remark == "OG: taken as read by Mine (consumer hydrometer)"


def test_a_refractometer_shows_what_its_beer_needs(problem):
    wort = reading_of("OG", words("11.2 °Bx by lens"), problem, KINDS)
    beer = reading_of("FG", words("5.6 °Bx by lens"), problem, KINDS, 11.2)

    assert wort.brix == pytest.approx(11.2)
    assert wort.reading.scale == "log"
    assert beer.brix is None
    assert 1.0 < beer.reading.value < 1.02


@pytest.mark.parametrize(
    ("text", "noise"),
    [
        ("22 ± 2 IBU", 2 / Z90),
        ("20 to 24 IBU", 2 / Z90),
        ("22 sd 2 IBU", 2.0),
    ],
)
def test_a_spread_of_its_own_is_the_readings(text, noise, problem):
    own = reading_of("bitterness", words(text), problem, KINDS).reading
    by = reading_of("bitterness", words(f"{text} by lab bitterness"), problem, KINDS).reading

    assert own.noise == pytest.approx(noise)
    assert (own.bias, own.instrument, own.value) == (0, "", 22)
    assert by.noise == pytest.approx(noise)
    assert by.bias > 0


def test_a_spread_by_what_errs_by_a_share_is_a_share(problem):
    one = reading_of("OG", words("10 ± 1 °P by lens"), problem, KINDS).reading

    assert one.noise == pytest.approx(1 / Z90 / one.value)


@pytest.mark.parametrize(
    ("name", "text", "told"),
    [
        (TASTERS, "3", "“3”: write how many of them noticed, such as 7 of 10"),
        ("bitterness", "3 of 5", "3 of 5 counts people; bitterness_ibu is not a share of them;"),
        (TASTERS, "4 of 3", "4 of 3 cannot be"),
        (TASTERS, "0 of 0", "0 of 0 cannot be"),
        ("OG", "0 °Bx by lens", "“0 °Bx” is not above 0, and lens (refractometer before"),
        ("real_extract", "4 °Bx", "“4 °Bx”: °Bx is what a refractometer shows of wort or beer"),
        (
            "bitterness",
            "22 IBU within a factor 2 by lab bitterness",
            "“22 IBU within a factor 2” is",
        ),
        ("evaporation_l_h", "3 L/h", "“3 L/h”: no instrument is known to read it; write how well"),
        ("bitterness", "22 IBU by mine", "mine does not read bitterness_ibu; it reads original_gr"),
        ("bitterness", "22 IBU by x", "there is no instrument x. There is: Mine, lens, "),
        ("hop_mass_g", "22 g", "hop_mass_g is one number for each hop, not one for the batch;"),
    ],
)
def test_a_wrong_reading_is_told(name, text, told, problem):
    with pytest.raises(ValueError, match=r".") as caught:
        reading_of(name, words(text), problem, KINDS)

    assert str(caught.value).startswith(told)


@pytest.mark.parametrize("text", ["0 of 3", "3 of 3", "2/3", "2 out of 3 tasters", "2 OF 3 taster"])
def test_a_count_is_of_people(text, problem):
    one = reading_of("tasters", words(text), problem, KINDS).reading

    assert (one.trials, one.noise, one.value) == (3, 0.0, int(text[0]))


def test_a_calibration_reads_what_was_known(problem):
    made = calibration_of(Calibration("mine", words("1.002"), words("1.000")), problem, KINDS)

    assert (made.reading.value, made.reading.known) == (1.002, 1.0)
    assert made.reading.label == "calibration of mine"
    assert made.remark == ""
    stated = Calibration("lens", words("10.2 °Bx"), words("10 °P"), "original extract")
    assert calibration_of(stated, problem, KINDS).reading.quantity == "original_extract_plato"


@pytest.mark.parametrize(
    ("head", "parts"),
    [
        ("OG", ("OG", "", "")),
        ("OG (°P) by mine", ("OG", "°P", "mine")),
        ("OG by mine [°P]", ("OG", "°P", "mine")),
        ("OG (SG) by mine (°P)", ("OG", "°P", "mine")),
        (" OG  (°P) ", ("OG", "°P", "")),
    ],
)
def test_a_heading_is_a_quantity_its_unit_and_its_instrument(head, parts):
    assert _headed(head) == parts


def test_one_line_of_columns_is_one_batch_with_everything_in_its_place():
    text = (
        "# ours\n\nbatch;Brewed on;Remarks;Tank;tag: store;changed: mash;tasted hops;in front;"
        "OG;OG by mine;FG\nB1;2026-01-02;w;2;loft;66 °C;too much;hops;1.045;1.046;\n"
    )
    tables, faults = tables_of(text, "LOG.CSV")

    assert faults == []
    assert tables == {
        LINE_KEY: 3,
        "batch": [
            {
                LINE_KEY: 4,
                "id": "B1",
                "date": "2026-01-02",
                "notes": "w",
                "tank": "2",
                "readings": {LINE_KEY: 4, "OG": ["1.045", "1.046 by mine"]},
                "changed": {LINE_KEY: 4, "mash": "66 °C"},
                "tags": {LINE_KEY: 4, "store": "loft"},
                "tasted": {LINE_KEY: 4, "hops": "too much", "in_front": "hops"},
            }
        ],
    }
    assert tables["batch"][0]["notes"].line == 4


def test_faults_of_columns_are_told_with_their_lines():
    text = "day,OG,OG (SG)\n1,1.045,1.045\n1,2,3,4\n,,\n2,1.01,1.02 SG\n"
    tables, faults = tables_of(text, "log.csv")

    assert [(line, told.partition(";")[0]) for line, told in faults] == [
        (3, "line 3: has 4 cells under 3 headings"),
        (1, "line 1: no column is headed batch"),
    ]
    assert [batch["id"] for batch in tables["batch"]] == ["in line 2", "in line 5"]
    same = tables_of("batch,OG,OG\nB,1.045,1.045\n", "log.csv")[1]
    assert same == [(2, "line 2, OG: “1.045” stands there twice")]


def test_toml_tells_syntax_in_its_line_and_leaves_dates_to_their_reader():
    assert _toml("[[batch]]\ndate = 2026-99-99\n")[1] == []
    tables, faults = _toml('a = "x"\n[[batch]]\nid = B1\n')
    assert [line for line, _ in faults] == [3]
    assert tables["a"].line == 1


def test_near_names_have_the_word_in_them_or_are_all():
    known = ["lab bitterness", "lab density", "volume mark"]

    assert _near("Bitternes", known) == " Did you mean lab bitterness?"
    assert _near("labs", known) == " Did you mean lab bitterness or lab density?"
    assert _near("zzz", known) == " There is: lab bitterness, lab density, volume mark."


def test_the_usual_instrument_is_the_logs_own_first_and_reads_the_quantity():
    own = Instruments(PRIORS, {"Mine": "consumer hydrometer"}, ("MINE", "gone"))

    assert own.usual("original_gravity_sg").name == "Mine"
    assert own.usual("original_gravity_sg", bends_light=True).kind.startswith("refractometer")
    assert own.usual("bitterness_ibu").name == "lab bitterness"
    assert own.usual("evaporation_l_h") is None
    assert own.of("mine", "original_gravity_sg").own is True
