"""DEVELOPERS.md names only what is there."""

import re
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
GUIDE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
ENDINGS = ("py", "toml", "md", "html", "css", "js", "json", "sh", "pyi", "yaml")
PLACEHOLDERS = re.compile(r"[A-Z]{3,}|[*]|MY-")
MADE = ("node_modules/", ".venv")


def named_paths():
    """Every file and folder that the guide names, outside its tree."""
    quoted = re.findall(r"`([^`\n]+)`", re.sub(r"```.*?```", "", GUIDE, flags=re.DOTALL))
    words = [word for text in quoted for word in text.split()]
    return sorted(
        {
            word
            for word in words
            if re.fullmatch(rf"[\w./-]+(/|\.({'|'.join(ENDINGS)}))", word)
            and not PLACEHOLDERS.search(word.removesuffix("README.md"))
            and not word.startswith(MADE)
        }
    )


def tree_paths():
    """Every entry of the tree, as a path from the root."""
    tree = re.search(r"```\n(brewsim/.*?)```", GUIDE, flags=re.DOTALL).group(1)
    found, folders = [], []
    for line in tree.splitlines():
        depth = len(line) - len(line.lstrip())
        name = line.split()[0]
        folders = [(d, f) for d, f in folders if d < depth]
        found.append("".join(f for _, f in folders) + name)
        if name.endswith("/"):
            folders.append((depth, name))
    return found


@pytest.mark.parametrize("path", named_paths())
def test_path_named_in_the_guide_exists(path):
    homes = (ROOT, ROOT / "brewsim")

    assert any((home / path).exists() for home in homes), path


@pytest.mark.parametrize("path", tree_paths())
def test_path_of_the_tree_exists(path):
    assert (ROOT / path).exists()


def test_tree_names_every_room():
    skipped = {"__pycache__", "priors_data"}
    rooms = {
        f"brewsim/{p.name}/"
        for p in (ROOT / "brewsim").iterdir()
        if p.is_dir() and p.name not in skipped
    }
    studies = {
        f"brewsim/study/{p.name}/"
        for p in (ROOT / "brewsim/study").iterdir()
        if p.is_dir() and p.name not in skipped
    }

    assert rooms | studies <= set(tree_paths())


def test_floors_are_those_of_the_contract():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    contract = next(
        c for c in project["tool"]["importlinter"]["contracts"] if c["name"].startswith("Floors")
    )
    wanted = " > ".join(
        " | ".join(f"`{room.strip()}`" for room in layer.split("|")) for layer in contract["layers"]
    )

    assert wanted in GUIDE
