"""Logs in Parquet and Feather say what the same log says in CSV."""

# ruff: noqa: PD011 - the values of Columns are no pandas

import sys

import numpy as np
import pandas as pd
import pytest

from brewsim.errors import InputError
from brewsim.files.frames import read_log_text
from brewsim.logbook.brew import read_batches
from brewsim.logbook.columns import read_columns
from tests.door import DEMOS

LAGER = DEMOS / "quillhaven-lager.toml"
FRAME = pd.DataFrame(
    {
        "batch": ["P1", "P2"],
        "date": pd.to_datetime(["2026-01-10", "2026-01-24"]),
        "OG (°P)": [11.9, 12.2],
        "FG": [1.007, None],
    }
)


@pytest.mark.parametrize("ending", ["parquet", "feather"])
def test_a_frame_is_read_as_the_csv_it_holds(ending, tmp_path):
    path = tmp_path / f"log.{ending}"
    getattr(FRAME, f"to_{ending}")(path)
    FRAME.to_csv(tmp_path / "log.csv", index=False)

    log, same = (read_batches(tmp_path / name, LAGER) for name in (path.name, "log.csv"))

    assert [batch.id for batch in log.batches] == ["P1", "P2"]
    assert [b.readings for b in log.batches] == [b.readings for b in same.batches]
    assert [len(batch.readings) for batch in log.batches] == [2, 1]


def test_the_log_of_a_specification_is_read_as_csv_is(tmp_path):
    FRAME.to_parquet(tmp_path / "log.parquet")
    FRAME.to_csv(tmp_path / "log.csv", index=False)

    frame, text = (read_columns(tmp_path / name) for name in ("log.parquet", "log.csv"))

    assert frame.batches == text.batches == 2
    assert frame.values.keys() == text.values.keys() != set()
    for name, values in text.values.items():
        np.testing.assert_array_equal(frame.values[name], values)


def test_a_column_nearly_named_is_told_with_its_near_miss(tmp_path):
    FRAME.rename(columns={"FG": "final gravty"}).to_parquet(tmp_path / "log.parquet")

    with pytest.raises(InputError, match=r"log.parquet, as .csv: .*final gravty"):
        read_batches(tmp_path / "log.parquet", LAGER)


def test_a_file_that_is_no_frame_is_refused_in_words(tmp_path):
    path = tmp_path / "log.parquet"
    path.write_bytes(b"PAR1 but not really")

    with pytest.raises(InputError, match=r"is no table that can be read|cannot be read"):
        read_log_text(path, 1_000_000)


def test_without_the_reader_words_say_what_to_install(tmp_path, monkeypatch):
    monkeypatch.setitem(sys.modules, "pyarrow", None)

    with pytest.raises(InputError, match=r"pip install 'brewsim\[tables\]'"):
        read_log_text(tmp_path / "log.parquet", 1_000_000)
