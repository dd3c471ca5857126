"""A cluster of two workers: a portfolio of recipes in one call, and a worker lost on the way."""

import os
import signal
import threading
from functools import partial

import numpy as np
import pytest

import brewsim
from brewsim.logbook.pose import pose
from brewsim.recipe.read import read_recipe
from tests.door import DEMOS

LAGER = DEMOS / "quillhaven-lager.toml"
pytestmark = [
    pytest.mark.slow,
    pytest.mark.filterwarnings("default"),  # a cluster's own warnings are not ours
]


@pytest.fixture(scope="module")
def problem():
    return pose(read_recipe(LAGER))


@pytest.fixture(scope="module")
def alone(problem):
    """Return the draws made in this process, one replicate after the other."""
    return brewsim.simulate(problem, draws=2048, seed=4)


@pytest.fixture(scope="module")
def client():
    """Return a client of a cluster of two worker processes."""
    distributed = pytest.importorskip("distributed")
    with (
        distributed.LocalCluster(
            n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None
        ) as cluster,
        distributed.Client(cluster) as client,
    ):
        yield client


@pytest.mark.slow(8)
def test_a_portfolio_of_recipes_is_one_call(problem, client):
    doses = np.round(np.linspace(0.0, 4.0, 24), 3)
    recipes = [problem.set({"precursor 1 dose": float(dose)}) for dose in doses]

    found = list(client.get_executor().map(partial(brewsim.simulate, draws=128), recipes))
    medians = [float(draws["free_3sh_ng_l"].median()) for draws in found]

    assert medians == sorted(medians)
    assert found[12].identical(brewsim.simulate(recipes[12], draws=128))


def test_a_cluster_changes_no_bit_and_a_lost_worker_is_survived(problem, alone, client):
    """Half the workers are killed on the way; the cluster runs their share again."""
    victim = next(iter(client.run(os.getpid).values()))
    executor = client.get_executor(retries=3)
    killer = threading.Timer(0.3, os.kill, (victim, signal.SIGKILL))
    killer.start()
    runs = [brewsim.simulate(problem, draws=2048, seed=4, executor=executor) for _ in range(4)]
    killer.join()

    assert all(run.identical(alone) for run in runs)
    assert victim not in client.run(os.getpid).values()
