"""Hostile files and places: a clear refusal in little time and memory, or a whole result."""

import os
import random
import re
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tests.bad.corpus import GOOD
from tests.door import DEMOS, ROOT, brewsim
from tests.hostile import MOST_MB, MOST_SECONDS, REFUSED, WHOLE, Checks

pytestmark = pytest.mark.slow

WRITER = """
import os, sys
sys.path.insert(0, ".")
from brewsim.page import page
from tests.small_page import make
content = make("New page").content
text = page.render(content)
page.render = lambda *_, **__: text  # so that nearly all the time goes into writing
for _ in sys.stdin:
    writer = os.fork()
    while not writer:
        page.write_report(sys.argv[1], content)
    print(writer, flush=True)
    os.waitpid(writer, 0)
    print("gone", flush=True)
"""
"""Forks a writer for every line it reads: libraries and page are loaded once."""


@pytest.fixture(scope="module")
def checks():
    with Checks() as started:
        yield started


@pytest.mark.parametrize("name", REFUSED)
def test_a_hostile_file_is_refused_within_2_seconds_and_500_mb(checks, name):
    found = checks.cost(REFUSED[name])

    assert found.code == 2, found.err[-500:]
    assert "Traceback" not in found.err
    assert found.err.endswith("nothing was written.\n")
    assert len(found.err) < 300_000
    assert found.seconds <= 2 * MOST_SECONDS  # a shared core; `python -m tests.hostile` judges
    assert found.megabytes <= MOST_MB


@pytest.mark.parametrize("name", WHOLE)
def test_a_strange_recipe_that_is_legal_is_read(checks, name):
    found = checks.cost(WHOLE[name])

    assert found.code == 0, found.err[-500:]
    assert found.megabytes <= MOST_MB


def test_tags_in_names_are_text_on_the_page(tmp_path):
    name = "<script>alert(1)</script>{{ 7 * 7 }}"
    (tmp_path / "recipe.toml").write_text(GOOD.replace("Small beer", name), encoding="utf-8")

    done = brewsim("report", "recipe.toml", "--draws", "64", folder=tmp_path)
    page = (tmp_path / "recipe.html").read_text(encoding="utf-8")

    assert done.code == 0, done.err
    assert "<script>alert(1)" not in page
    assert "&lt;script&gt;alert(1)&lt;/script&gt;{{ 7 * 7 }}" in page


@pytest.mark.parametrize("name", ["../escape", "/escape", "a/b/c", "..", ".hidden", "CON", "é"])
def test_a_name_with_path_tricks_stays_in_the_folder(name, tmp_path):
    inside = tmp_path / "inside"
    inside.mkdir()

    brewsim("new", name, folder=inside)

    assert [path.name for path in tmp_path.iterdir()] == ["inside"]
    assert all(path.parent == inside for path in inside.rglob("*"))


def test_draws_that_cannot_be_written_are_one_sentence(tmp_path):
    recipe = DEMOS / "quillhaven-lager.toml"
    done = brewsim("simulate", recipe, "--draws", "64", "--save", "no/x.nc", folder=tmp_path)

    assert done.code == 2
    assert "No such file or directory; nothing was written." in done.err
    assert list(tmp_path.iterdir()) == []


@pytest.fixture
def content(made):
    """Return what a small page shows."""
    return made.content


def test_a_page_written_to_a_link_leaves_what_it_points_at_alone(content, tmp_path):
    from brewsim.page.page import write_report

    (tmp_path / "precious.txt").write_text("precious")
    (tmp_path / "page.html").symlink_to("precious.txt")

    write_report(tmp_path / "page.html", content)

    assert (tmp_path / "precious.txt").read_text() == "precious"
    assert (tmp_path / "page.html").read_text(encoding="utf-8").rstrip().endswith("</html>")


def test_a_full_disk_keeps_the_old_page_and_leaves_no_part_of_the_new(content, tmp_path):
    from brewsim.page.page import write_report

    if os.geteuid() != 0 or shutil.which("mount") is None:
        pytest.skip("mounting a small disk takes root")
    mount = ["mount", "-t", "tmpfs", "-o", "size=64k", "brewsim-test", str(tmp_path)]
    if subprocess.run(mount, capture_output=True, check=False).returncode != 0:
        pytest.skip("this system does not let a test mount a disk")
    try:
        (tmp_path / "page.html").write_text("old")
        with pytest.raises(OSError, match="No space left"):
            write_report(tmp_path / "page.html", content)
        left = {path.name: path.read_text() for path in tmp_path.iterdir()}
    finally:
        subprocess.run(["umount", str(tmp_path)], check=True)

    assert left == {"page.html": "old"}


def test_a_folder_that_may_not_be_written_to_is_one_sentence(tmp_path):
    if os.geteuid() == 0:
        folder = Path("/proc/self")  # root may write anywhere but here
    else:
        folder = tmp_path / "locked"
        folder.mkdir(mode=0o500)
    recipe, out = DEMOS / "quillhaven-lager.toml", folder / "draws.nc"

    done = brewsim("simulate", recipe, "--draws", "64", "--save", out, folder=tmp_path)

    assert done.code == 2, done.err
    assert re.search(r"brewsim: .*; nothing was written\.", done.err)
    assert "Traceback" not in done.err


def test_a_writer_killed_at_any_time_leaves_the_old_page_or_a_whole_new_one(tmp_path):
    chance, page = random.Random(4), tmp_path / "page.html"  # noqa: S311 - no secret
    command = [sys.executable, "-c", WRITER, str(page)]
    seen = set()
    pipes = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE, "text": True}
    with subprocess.Popen(command, cwd=ROOT, **pipes) as server:
        for _ in range(24):
            page.write_text("old")
            print(file=server.stdin, flush=True)
            writer = int(server.stdout.readline())
            time.sleep(chance.uniform(0.0, 0.1))
            os.kill(writer, signal.SIGKILL)
            server.stdout.readline()
            text = page.read_text(encoding="utf-8")
            seen.add("old" if text == "old" else "new")
            whole = text.lower().startswith("<!doctype html>") and text.rstrip().endswith("</html>")

            assert text == "old" or whole
        server.stdin.close()

    assert "new" in seen
