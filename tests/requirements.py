"""Print requirements of pyproject.toml for pip, one a line.

python tests/requirements.py test      the group of that name (pip before 25.1 reads no groups)
python tests/requirements.py lowest    the lowest version of every run-time requirement
"""

import sys
import tomllib
from pathlib import Path

PROJECT = Path(__file__).resolve().parents[1] / "pyproject.toml"


def requirements(asked):
    project = tomllib.loads(PROJECT.read_text(encoding="utf-8"))
    if asked == "lowest":
        return [line.replace(">=", "==") for line in project["project"]["dependencies"]]
    return project["dependency-groups"][asked]


if __name__ == "__main__":
    print("\n".join(requirements(sys.argv[1])))
