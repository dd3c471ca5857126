"""The log of one batch of the lager."""

import datetime as dt
from pathlib import Path

import pytest

from brewsim.errors import InputError
from brewsim.logbook.brew import parse_batches

DEMOS = Path(__file__).resolve().parents[2] / "demo-recipes"


LAGER = (DEMOS / "quillhaven-lager.toml").read_text(encoding="utf-8")


TODAY = dt.date(2026, 6, 30)


def log_of(readings, *, more="", head=""):
    lines = "\n".join(readings)
    text = f'{head}\n[[batch]]\nid = "A"\ndate = 2026-03-01\n{more}\n[batch.readings]\n{lines}\n'
    return parse_batches(text, LAGER, "log.toml", today=TODAY)


def faults_of(readings, **also):
    with pytest.raises(InputError) as caught:
        log_of(readings, **also)
    return caught.value.faults


def only(log):
    return log.batches[0].readings[0]
