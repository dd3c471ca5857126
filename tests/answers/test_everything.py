"""A study handed to a worker is done whether or not the worker lives."""

import os
from concurrent.futures import ProcessPoolExecutor

from brewsim.answers.everything import _begun


def _ends_the_worker(parent):
    if os.getpid() != parent:
        os._exit(1)
    return "done here"


def test_a_worker_that_dies_leaves_its_study_to_the_command():
    with ProcessPoolExecutor(1) as pool:
        first = _begun(pool, _ends_the_worker, os.getpid())
        assert first() == "done here"
        later = _begun(pool, _ends_the_worker, os.getpid())  # the pool is broken by now
        assert later() == "done here"
