"""The same numbers, to the last bit, on threads and processes (a cluster's: test_portfolio.py)."""

from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from multiprocessing import get_context
from pathlib import Path

import numpy as np
import pytest

import brewsim

LAGER = Path(__file__).resolve().parents[3] / "demo-recipes" / "quillhaven-lager.toml"
pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def problem():
    return brewsim.pose(brewsim.read_recipe(LAGER))


@pytest.fixture(scope="module")
def on_one_thread(problem):
    with ThreadPoolExecutor(1) as one:
        return brewsim.simulate(problem, draws=8192, seed=4, executor=one)


def same(one, other):
    return all(np.array_equal(one[name], other[name], equal_nan=True) for name in one.data_vars)


def test_two_threads_change_no_bit(problem, on_one_thread):
    with ThreadPoolExecutor(2) as two:
        assert same(on_one_thread, brewsim.simulate(problem, draws=8192, seed=4, executor=two))


def test_processes_change_no_bit(problem, on_one_thread):
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as two:
        assert same(on_one_thread, brewsim.simulate(problem, draws=8192, seed=4, executor=two))
