"""Ctrl-C in the middle of the work: soon, said, and nothing half-written."""

import signal
import subprocess
import sys
import time

import pytest

pytestmark = pytest.mark.slow


@pytest.mark.parametrize(("after", "draws"), [(1.5, "auto"), (3.0, "1048576")])
def test_ctrl_c_ends_a_report_soon_with_130_and_leaves_nothing(demo, tmp_path, after, draws):
    with subprocess.Popen(
        [sys.executable, "-m", "brewsim", "report", demo("pale"), "--draws", draws],
        cwd=tmp_path,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    ) as running:
        time.sleep(after)
        running.send_signal(signal.SIGINT)
        asked = time.monotonic()
        out, err = running.communicate(timeout=30)

    assert running.returncode == 130
    assert err.endswith("Stopped; nothing half-written is left.\n")
    assert "Traceback" not in out + err
    assert time.monotonic() - asked < 10
    assert list(tmp_path.iterdir()) == []


def test_a_reader_that_has_read_enough_is_no_fault_of_ours(demo):
    with subprocess.Popen(
        [sys.executable, "-m", "brewsim", "check", demo("lager")],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    ) as running:
        running.stdout.close()
        said = running.stderr.read()
        running.wait(timeout=60)

    assert running.returncode == 0
    assert b"Traceback" not in said
