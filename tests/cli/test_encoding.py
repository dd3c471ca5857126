"""Output in encodings that lack letters: no crash, near letters, JSON that says the same."""

import json
import os
import subprocess
import sys

import pytest

from brewsim.cli.encoding import near
from tests.door import DEMOS, ROOT

LAGER = DEMOS / "quillhaven-lager.toml"


def out(encoding, *words):
    environment = {**os.environ, "PYTHONIOENCODING": encoding, "PYTHONPATH": str(ROOT)}
    command = [sys.executable, "-m", "brewsim", *map(str, words)]
    done = subprocess.run(command, check=False, capture_output=True, env=environment)
    assert done.returncode == 0, done.stderr.decode(encoding)
    return done.stdout.decode(encoding)


@pytest.mark.parametrize("encoding", ["cp1252", "latin-1", "cp437"])
def test_a_table_is_printed_in_an_encoding_without_its_lines(encoding):
    told = out(encoding, "check", LAGER)

    assert "-+-" in told or "━┿━" in told
    assert "Pilsner malt" in told


@pytest.mark.slow
def test_json_in_a_narrow_encoding_says_what_it_says_in_utf_8():
    narrow, wide = (json.loads(out(e, "check", LAGER, "--json")) for e in ("latin-1", "utf-8"))

    assert narrow == wide
    assert "Spät" in str(wide)


@pytest.mark.parametrize(
    ("letter", "wanted"),
    [("ä", "a"), ("━", "-"), ("°", "deg "), ("é", "e"), ("¾", "3/4"), ("麦", "?")],
)
def test_the_nearest_letter_is_written(letter, wanted):
    assert near(letter) == wanted
