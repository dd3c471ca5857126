"""Our Sobol' points against SciPy's, bit for bit, and what they cost to import."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import qmc

from brewsim.errors import StudyError
from brewsim.study.model import sobol_sequence as sequences
from brewsim.study.model.sobol_sequence import Borrowed, SobolSequence, sobol_sequence
from tests.door import DEMOS, loads


def pair(dimension, seed):
    ours, theirs = (np.random.default_rng(seed) for _ in range(2))
    return SobolSequence(dimension, ours), qmc.Sobol(dimension, scramble=True, rng=theirs)


@pytest.mark.parametrize("dimension", [1, 2, 3, 40, 511, 512, 513, 1111])
def test_points_are_scipys_bit_for_bit(dimension):
    ours, theirs = pair(dimension, 5)

    for rows in (8, 8, 16, 512):
        np.testing.assert_array_equal(ours.random(rows), theirs.random(rows))


@pytest.mark.filterwarnings("ignore:The balance properties")
@settings(max_examples=25, deadline=None)
@given(st.integers(0, 2**32), st.integers(0, 5000), st.lists(st.integers(1, 900), max_size=4))
def test_any_rows_read_from_anywhere_are_scipys(seed, start, lengths):
    ours, theirs = pair(5, seed)
    if start:
        ours.fast_forward(start)
        theirs.fast_forward(start)

    for rows in lengths:
        np.testing.assert_array_equal(ours.random(rows), theirs.random(rows))


def test_without_the_file_the_points_are_scipys_own_and_the_same(monkeypatch, tmp_path):
    usual = sobol_sequence(3, np.random.default_rng(1)).columns(64)
    monkeypatch.setattr(sequences, "_FILE", tmp_path / "gone.npz")

    found = sobol_sequence(3, np.random.default_rng(1))

    assert isinstance(found, Borrowed)
    found = found.columns(64)
    for coordinate in range(3):
        np.testing.assert_array_equal(found[coordinate], usual[coordinate])


def test_more_coordinates_or_points_than_there_are_is_refused():
    with pytest.raises(StudyError, match="at most 21201 coordinates"):
        SobolSequence(21_600, np.random.default_rng(1))
    ours = SobolSequence(2, np.random.default_rng(1))
    ours.fast_forward(2**30 - 8)
    with pytest.raises(StudyError, match="not more"):
        ours.columns(16)


@pytest.mark.slow
def test_simulate_imports_no_statistics():
    """`scipy.stats` is a third of the start of a small run."""
    drawn = (
        "import brewsim\n"
        f"problem = brewsim.pose(brewsim.read_recipe({str(DEMOS / 'quillhaven-lager.toml')!r}))\n"
        "brewsim.summarise(brewsim.simulate(problem, draws=128))"
    )

    assert not loads("scipy.stats", drawn)


@pytest.mark.slow
def test_the_page_starts_without_splines():
    """Only a log with a difference test draws a curve."""
    assert not loads("scipy.interpolate", "import brewsim.answers.everything")


@pytest.mark.slow
def test_a_log_is_explained_without_the_statistics():
    """Student's t and chi-square come from `scipy.special`, which is there already."""
    assert not loads("scipy.stats", "import brewsim.answers.odd_causes")
