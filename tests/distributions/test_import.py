import subprocess
import sys


def test_importing_brewsim_does_not_import_scipy():
    code = "import sys, brewsim; print('scipy' in sys.modules)"

    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)

    assert done.stdout.strip() == "False"


def test_making_a_distribution_does_not_import_scipys_slow_statistics():
    code = "import sys, brewsim; brewsim.beta(2, 3); print('scipy.stats' in sys.modules)"

    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)

    assert done.stdout.strip() == "False"
