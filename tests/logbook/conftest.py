"""A house of two batches, with nothing learned of them yet."""

import pytest

from tests.logbook.houses import added, log_of


@pytest.fixture
def house(tmp_path):
    path = tmp_path / "HOUSE.toml"
    added(path, log_of("A", "B"))
    return path
