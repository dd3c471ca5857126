"""Properties are tried on the same examples in every run, whatever the machine's speed."""

import os
import signal

import pytest
from hypothesis import settings

settings.register_profile("steady", derandomize=True, deadline=None)
settings.load_profile("steady")

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
"""The workers fill the cores; threads for small matrices only wait for each other, busily."""

if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    # Started in a shell's background: the commands that are sent Ctrl-C would inherit deafness.
    signal.signal(signal.SIGINT, signal.default_int_handler)


def pytest_collection_modifyitems(items):
    """Begin with the files of the longest tests, then of slow ones; a file stays together.

    No worker starts a long one when others end, and what a file makes for all its tests is made
    once.
    """
    seconds = {item.path: -1 for item in items}
    for item in items:
        mark = item.get_closest_marker("slow")
        seconds[item.path] = max(seconds[item.path], sum(mark.args) if mark else -1)
    items.sort(key=lambda item: -seconds[item.path])


@pytest.fixture(scope="session")
def shelf(tmp_path_factory):
    """Return the folder of what is made once a run, for all workers."""
    from tests.shared import Shelf

    return Shelf(tmp_path_factory)


@pytest.fixture(scope="module")
def learned_once(shelf):
    """Let the commands of a file learn the same from the same only once a run."""
    with shelf.learning():
        yield


@pytest.fixture(scope="session")
def made():
    from tests.small_page import make

    return make()


@pytest.fixture(scope="session")
def hostile():
    from tests.small_page import SCRIPT, make

    return make(SCRIPT)


@pytest.fixture(scope="session")
def page(made, tmp_path_factory):
    from brewsim.page.page import write_report

    return write_report(tmp_path_factory.mktemp("page") / "page.html", made.content)


@pytest.fixture
def written():
    """Return a function: the small recipe with texts replaced (old=new pairs) and more below."""
    from tests.small_recipe import write

    return write


@pytest.fixture
def median_of():
    """Return a function: a quantity of a recipe's beer with every input at its median."""
    from tests.small_recipe import median_of

    return median_of
