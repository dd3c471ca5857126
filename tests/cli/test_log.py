"""A filled card becomes a batch of a log."""

import pytest
import typer
from typer.testing import CliRunner

from brewsim.cli.commands import register
from brewsim.errors import InputError
from brewsim.logbook.brew import read_batches
from tests.door import DEMOS

BITTER = DEMOS / "quillhaven-bitter.toml"
ANSWERS = "B1\n2026-03-14\n66.5\n25.1\n1.038\n\n5.3 US gal\n1.0425\n1.0105\n"


@pytest.fixture(scope="module")
def card(tmp_path_factory):
    path = tmp_path_factory.mktemp("card") / "bitter-card.html"
    assert filled(["card", BITTER, "--out", path]).exit_code == 0
    return path


def filled(words, answers=""):
    app = typer.Typer()
    register(app)
    return CliRunner().invoke(app, [str(word) for word in words], input=answers)


@pytest.mark.slow
def test_a_card_is_asked_blank_by_blank_and_becomes_a_batch_that_the_log_reads(card, tmp_path):
    log = tmp_path / "log.toml"

    done = filled(["log", card, "--to", log], ANSWERS)

    assert done.exit_code == 0, done.output
    (batch,) = read_batches(log, BITTER).batches
    read = {reading.quantity: reading.value for reading in batch.readings}
    assert read["mash_temperature_c"] == pytest.approx(66.5)
    assert read["fermenter_volume_l"] == pytest.approx(5.3 * 3.785411784)
    assert "postboil_volume_l" not in read
    assert log.read_text(encoding="utf-8").startswith('[[batch]]\nid = "B1"\ndate = 2026-03-14\n')
    for words in (
        "Mash, after 10 min, °C: ",
        "Sparge, kettle, L: ",
        "Fermenter, gravity, at 20 °C",
    ):
        assert words in done.output


def test_a_batch_is_added_behind_what_stands_in_the_log_and_touches_none_of_it(card, tmp_path):
    log = tmp_path / "log.toml"
    before = '# ours\n[[batch]]\nid = "A"\ndate = 2026-01-02\nreadings = { OG = "1.044" }  # cold'
    log.write_text(before, encoding="utf-8")
    words = ["log", card, "--to", log, "--batch", "B", "--date", "2026-02-03"]

    done = filled([*words, "--read", "bitterness = 27 IBU", "--read", "preboil_volume=25.3"])

    assert done.exit_code == 0, done.output
    text = log.read_text(encoding="utf-8")
    assert text.startswith(f"{before}\n\n[[batch]]")
    assert text.endswith('bitterness = "27 IBU"\npreboil_volume = "25.3 L"\n')
    assert [entry.id for entry in read_batches(log, BITTER).entries] == ["A", "B"]


@pytest.mark.parametrize(
    ("words", "answers", "fault"),
    [
        ((), "B1\n2026-03-14\nlukewarm\n", "is not a number"),
        ((), "B1\n14.3.\n", "is no day"),
        ((), "B1\n\n\n\n\n\n\n\n\n", "nothing was read"),
        ((), "", "a batch has a name"),
        (("--batch", "B", "--read", "original_gravety = 1.044"), "", "Did you mean"),
        (("--batch", "B", "--read", "original_gravity"), "", "write each once"),
        (("--batch", "A", "--read", "OG = 1.044"), "", "is there twice"),
    ],
)
def test_what_cannot_be_read_is_refused_and_the_log_stays_as_it_is(
    card, tmp_path, words, answers, fault
):
    log = tmp_path / "log.toml"
    before = '[[batch]]\nid = "A"\ndate = 2026-01-02\nreadings = { OG = "1.044" }\n'
    log.write_text(before, encoding="utf-8")

    done = filled(["log", card, "--to", log, *words], answers)

    assert isinstance(done.exception, InputError)
    assert any(fault in one for one in done.exception.faults)
    assert log.read_text(encoding="utf-8") == before


def test_what_is_no_card_and_a_log_that_is_a_table_are_refused(card, tmp_path):
    other = filled(["log", BITTER]).exception
    table = filled(["log", card, "--to", tmp_path / "log.csv"], ANSWERS).exception

    assert "is no brew-day card" in other.faults[0]
    assert "log in TOML" in table.faults[0]


@pytest.mark.slow
def test_two_cards_of_one_recipe_are_two_batches_added_at_once(card, tmp_path):
    log = tmp_path / "log.toml"

    done = filled(["log", card, card, "--to", log], ANSWERS + ANSWERS.replace("B1", "B2"))

    assert done.exit_code == 0, done.output
    assert [entry.id for entry in read_batches(log, BITTER).entries] == ["B1", "B2"]
    assert "2 batches added, 2 in the log." in " ".join(done.output.split())
