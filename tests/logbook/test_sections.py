"""What stands beside the batches of a log: its version, its recipes; and counts of tasters."""

import pytest

from brewsim.errors import InputError
from brewsim.logbook.brew import parse_batches
from tests.texts import DEMOS

LAGER = (DEMOS / "quillhaven-lager.toml").read_text(encoding="utf-8")


def log_of(reading, head=""):
    text = f'{head}\n[[batch]]\nid = "A"\ndate = 2026-03-01\n[batch.readings]\n{reading}\n'
    return parse_batches(text, LAGER, "log.toml")


def faults_of(reading, **also):
    with pytest.raises(InputError) as caught:
        log_of(reading, **also)
    return caught.value.faults


@pytest.mark.parametrize("version", ["1", "2"])
def test_a_log_of_every_version_there_was_is_read(version):
    assert len(log_of('bitterness = "22 IBU"', head=f"version = {version}").batches) == 1


@pytest.mark.parametrize("version", ["0", "-1", "true", "1.5"])
def test_a_version_that_never_was_is_refused(version):
    faults = faults_of('bitterness = "22 IBU"', head=f"version = {version}")

    assert any("is no version; brewsim writes version = 2" in fault for fault in faults)


@pytest.mark.parametrize("text", ["{}", "[]", '["x"]', "{ a = 1 }"])
def test_a_recipe_of_a_log_that_is_no_text_is_refused_in_words(text):
    faults = faults_of('bitterness = "22 IBU"', head=f"[[recipe]]\nkey = 'k'\ntext = {text}\n")

    assert faults == ("line 1, recipe: write text as one text in quotes, the whole recipe",)


@pytest.mark.parametrize(("noticed", "asked"), [(0, 8), (8, 8), (0, 1), (1, 1)])
def test_nobody_or_everybody_may_have_noticed(noticed, asked):
    (reading,) = log_of(f'tasters = "{noticed} of {asked}"').batches[0].readings

    assert (reading.value, reading.trials) == (noticed, asked)


@pytest.mark.parametrize("count", ["0 of 0", "9 of 8"])
def test_more_tasters_than_were_asked_cannot_have_noticed(count):
    (fault,) = faults_of(f'tasters = "{count}"')

    assert f"{count} cannot be" in fault
