"""A Ctrl-C that falls into the reading of direction numbers is neither lost nor harmful."""

import subprocess
import sys

READ_FROM_MAIN = """
import signal, sys, threading
import numpy as np
from brewsim.study.model.sobol_sequence import sobol_sequence

def interrupting(frame, event, argument):
    if event == "call" and "_npyio" in frame.f_code.co_filename:
        threading.setprofile(None); sys.setprofile(None)
        signal.raise_signal(signal.SIGINT)

sys.setprofile(interrupting)
threading.setprofile(interrupting)
try:
    sobol_sequence(40, np.random.default_rng(1))
except KeyboardInterrupt:
    print("interrupted")
sys.setprofile(None); threading.setprofile(None)
mine = sobol_sequence(40, np.random.default_rng(1)).random(64)
print(float(mine.sum()), len(np.unique(mine.round(9))))
"""


def test_a_ctrl_c_while_direction_numbers_are_read_is_heard_and_the_points_stay_whole():
    done = subprocess.run(
        [sys.executable, "-c", READ_FROM_MAIN], capture_output=True, text=True, check=True
    )
    whole = subprocess.run(
        [sys.executable, "-c", READ_FROM_MAIN.replace("signal.raise_signal", "str")],
        capture_output=True,
        text=True,
        check=True,
    )

    heard, points = done.stdout.splitlines()
    assert heard == "interrupted"
    assert points == whole.stdout.strip()
    assert "ignored" not in done.stderr
