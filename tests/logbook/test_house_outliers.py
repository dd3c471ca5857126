"""Whether a house allows for single wrong readings stands in its file, and only there."""

import pytest

from brewsim.logbook.house import learn, load_house
from brewsim.logbook.house_draws import draws_path
from brewsim.logbook.house_file import allowing_outliers, allows_outliers
from brewsim.logbook.log import read_log
from tests.logbook.houses import ids, log_of

FILE = '# ours\nversion = 2\n\n[[batch]]\nid = "A"\n[batch.readings]\noutliers = true\n'


def test_the_line_stands_below_the_version_and_goes_again():
    with_it = allowing_outliers(FILE, allowed=True)

    assert with_it == FILE.replace("version = 2\n", "version = 2\noutliers = true\n")
    assert not allows_outliers(FILE)  # a reading of that name is no such line
    assert allows_outliers(with_it)
    assert allowing_outliers(with_it, allowed=True) == with_it
    assert allowing_outliers(with_it, allowed=False) == FILE
    assert allowing_outliers("[[batch]]\n", allowed=True) == "outliers = true\n[[batch]]\n"
    said = with_it.replace("true\n\n", "false\n\n")
    assert not allows_outliers(said)
    assert allowing_outliers(said, allowed=True) == with_it


@pytest.mark.parametrize(("value", "faults"), [("true", 0), ("false", 0), ('"yes"', 1), ("2", 1)])
def test_it_is_true_or_false(value, faults):
    text = f"outliers = {value}\n[[batch]]\nid = 'A'\n[batch.readings]\nOG = '1.045'\n"
    found = read_log(text, "x").faults

    told = [fault for _, fault in found if "single wrong readings" in fault]
    assert len(told) == faults


@pytest.mark.slow
def test_a_house_without_its_draws_is_learned_from_as_it_was(tmp_path):
    path = tmp_path / "H.toml"
    learn(path, log_of("A", "B"), time_limit_s=0.0, outliers=True)
    draws_path(path).unlink(missing_ok=True)

    assert load_house(path).outliers is True
    learn(path, log_of("C"), time_limit_s=0.0)
    draws_path(path).unlink(missing_ok=True)
    assert load_house(path).outliers is False
    assert ids(path) == ["A", "B", "C"]
