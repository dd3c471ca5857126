"""Watching a recipe: a desk on the loopback address, a page anew at every save."""

import http.client
import re
import signal
import subprocess
import sys
import time
from threading import Thread

import pytest

from brewsim.cli import watch as watching
from brewsim.cli.desk import Desk
from brewsim.errors import InputError
from tests.small_recipe import TEXT

pytestmark = pytest.mark.slow

PAGE = '<meta content="script-src x"><body><p>{}</p></body>'


def asked(desk, path, host=None):
    port = int(desk.address.rstrip("/").rpartition(":")[2])
    link = http.client.HTTPConnection("127.0.0.1", port, timeout=5)
    link.request("GET", path, headers={"Host": host} if host else {})
    answer = link.getresponse()
    return answer.status, answer.read().decode()


def test_a_desk_gives_its_page_and_version_and_nothing_else():
    with Desk() as desk:
        desk.show("<p>one</p>", 7)

        assert asked(desk, "/") == (200, "<p>one</p>")
        assert asked(desk, "/version") == (200, "7")
        assert asked(desk, "/../etc/passwd")[0] == 404


def test_a_desk_listens_on_loopback_only_and_answers_no_other_name():
    """A page elsewhere that has its name point here must not read the recipe."""
    with Desk() as desk:
        assert desk.address.startswith("http://127.0.0.1:")
        assert asked(desk, "/", host="elsewhere.example")[0] == 403


def test_a_closed_desk_answers_no_more():
    with Desk() as desk:
        desk.show("<p>one</p>", 1)

    with pytest.raises(OSError, match="refused"):
        asked(desk, "/")


def test_each_save_is_made_anew_and_a_fault_keeps_the_page_before_it(tmp_path, monkeypatch, capsys):
    recipe = tmp_path / "r.toml"
    recipe.write_text("one", encoding="utf-8")
    shown = []
    monkeypatch.setattr(Desk, "show", lambda _self, page, _version: shown.append(page))
    monkeypatch.setattr(watching, "_PAUSE", 0.01)

    later = iter(["wrong", "another", "end"])

    def write():
        time.sleep(0.1)
        other = tmp_path / "other"
        other.write_text(next(later), encoding="utf-8")
        other.replace(recipe)

    def make():
        text = recipe.read_text(encoding="utf-8")
        if text == "end":
            raise KeyboardInterrupt
        Thread(target=write, daemon=True).start()
        if text == "wrong":
            raise InputError(recipe, ["line 1, what is this"])
        return PAGE.format(text)

    watching.watch([recipe], make, opens=False)
    told = capsys.readouterr()

    assert [re.search("<p>(.*)</p>", page)[1] for page in shown] == ["one", "another"]
    assert "line 1, what is this" in told.err
    assert "The page before this save stays." in told.out
    assert told.out.endswith("Stopped watching.\n")


def test_the_browser_is_opened_once_and_only_if_wanted(tmp_path, monkeypatch):
    recipe = tmp_path / "r.toml"
    recipe.write_text("one", encoding="utf-8")
    opened = []
    monkeypatch.setattr(watching.webbrowser, "open", opened.append)

    def once():
        if opened or recipe.read_text() == "two":
            raise KeyboardInterrupt
        recipe.write_text("two")
        return PAGE.format("one")

    watching.watch([recipe], once, opens=True)
    recipe.write_text("one", encoding="utf-8")
    watching.watch([recipe], once, opens=False)

    assert len(opened) == 1
    assert opened[0].startswith("http://127.0.0.1:")


@pytest.mark.slow(7)
def test_report_watch_serves_a_recipe_tells_its_faults_and_ends_with_ctrl_c(tmp_path):
    recipe = tmp_path / "small.toml"
    recipe.write_text(TEXT, encoding="utf-8")
    words = ["report", "small.toml", "--draws", "64", "--watch", "--no-open"]
    with subprocess.Popen(
        [sys.executable, "-u", "-m", "brewsim", *words],
        cwd=tmp_path,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    ) as running:
        first = running.stdout.readline() + running.stdout.readline()
        address = re.search(r"http://127\.0\.0\.1:(\d+)/", first)
        while "written" not in running.stdout.readline():
            pass
        recipe.write_text('name = "x"\n', encoding="utf-8")
        fault = running.stderr.readline()
        running.send_signal(signal.SIGINT)
        rest, err = running.communicate(timeout=30)

    assert address
    assert "volume" in fault
    assert "Stopped watching." in rest, err
    assert running.returncode == 0
    assert sorted(p.name for p in tmp_path.iterdir()) == ["small.html", "small.toml"]
