"""The helper of a long command: there on two cores, absent on one, deaf to Ctrl-C."""

import math
import os
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest

from brewsim.cli import worker_process as helping

pytestmark = pytest.mark.slow


def test_on_a_single_core_nobody_helps(monkeypatch):
    monkeypatch.setattr(helping, "cores", lambda: 1)
    with helping.helper() as executor:
        assert executor is None


def test_on_two_cores_a_process_of_its_own_helps_and_leaves_ctrl_c_to_the_command(monkeypatch):
    monkeypatch.setattr(helping, "cores", lambda: 2)
    with helping.helper() as executor:
        assert executor.submit(math.sqrt, 4.0).result(timeout=60) == 2.0
        ignored = executor.submit(signal.getsignal, signal.SIGINT).result(timeout=60)

    assert ignored is signal.SIG_IGN
    with pytest.raises(RuntimeError, match="shutdown"):
        executor.submit(math.sqrt, 4.0)


@pytest.mark.parametrize("copied", [True, False])
def test_a_helper_has_the_studies_whether_copied_or_begun_anew(copied, monkeypatch):
    if copied and not helping._may_copy():
        pytest.skip("this process cannot be copied")
    monkeypatch.setattr(helping, "cores", lambda: 2)
    monkeypatch.setattr(helping, "_may_copy", lambda: copied)
    with helping.helper() as executor:
        there = executor.submit(_imported, "brewsim.answers.everything").result(timeout=60)
        ignored = executor.submit(signal.getsignal, signal.SIGINT).result(timeout=60)

    assert there
    assert ignored is signal.SIG_IGN


def _imported(name):
    return name in sys.modules


def test_a_command_with_a_second_thread_is_not_copied():
    over = threading.Event()
    other = threading.Thread(target=over.wait)
    other.start()
    try:
        assert not helping._may_copy()
    finally:
        over.set()
        other.join()


def test_where_threads_cannot_be_counted_nothing_is_copied(monkeypatch, tmp_path):
    monkeypatch.setattr(helping, "_OWN_THREADS", tmp_path / "none")
    assert not helping._may_copy()


def test_without_signal_masks_as_on_windows_a_process_helps_all_the_same(monkeypatch):
    monkeypatch.setattr(helping, "cores", lambda: 2)
    monkeypatch.delattr(signal, "pthread_sigmask")

    with helping.helper() as executor:
        assert executor.submit(math.sqrt, 4.0).result(timeout=60) == 2.0


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="no SIGKILL on this system")
def test_a_helper_ends_when_its_command_is_killed():
    script = (
        "import os, time\n"
        "from brewsim.cli import worker_process as helping\n"
        "helping.cores = lambda: 2\n"
        "if __name__ == '__main__':\n"
        "    with helping.helper() as executor:\n"
        "        print(executor.submit(os.getpid).result(), flush=True)\n"
        "        time.sleep(60)\n"
    )
    with subprocess.Popen([sys.executable, "-c", script], stdout=subprocess.PIPE, text=True) as own:
        helper = int(own.stdout.readline())
        own.send_signal(signal.SIGKILL)

    until = time.monotonic() + 20
    while _lives(helper) and time.monotonic() < until:
        time.sleep(0.05)

    assert not _lives(helper)


def _lives(process):
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    status = Path(f"/proc/{process}/stat")
    return not status.exists() or status.read_text().rpartition(")")[2].split()[0] != "Z"
