"""The helper of a long command: there on two cores, absent on one, deaf to Ctrl-C."""

import math
import signal

import pytest

from brewsim.cli import worker_process as helping


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
