"""The tutorials and the README run as they stand, in a clean folder."""

import doctest
import os
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.door import DEMOS, ROOT
from tests.door import brewsim as command

BLOCK = re.compile(r"(?P<before>[^\n]*)\n\n```(?P<kind>\w+)\n(?P<text>.*?)```", flags=re.DOTALL)
FILE = re.compile(r"(Save as|Append to) `([\w.-]+)`")
README = (ROOT / "README.md").read_text(encoding="utf-8")
LINK = re.compile(r"\]\(([^)#:]+)\)")


def blocks(page):
    """Yield the line above, the language and the text of every code block of a page."""
    text = (ROOT / "docs" / page).read_text(encoding="utf-8")
    return [(m["before"], m["kind"], m["text"]) for m in BLOCK.finditer(text)]


def clean_folder(tmp_path):
    shutil.copytree(DEMOS, tmp_path / "demo-recipes")
    return tmp_path


@pytest.mark.slow
def test_every_command_of_the_brewers_afternoon_runs(tmp_path):
    folder, run = clean_folder(tmp_path), []
    for before, kind, text in blocks("a-brewers-afternoon.md"):
        if kind == "toml":
            how, name = FILE.search(before).groups()
            with (folder / name).open("a" if how == "Append to" else "w") as file:
                file.write(f"\n{text}")
            continue
        for line in text.splitlines():
            words = shlex.split(line, comments=True)
            assert words[0] == "brewsim"
            done = command(*words[1:], folder=folder)
            assert (done.code, done.out != "") == (0, True), (line, done.err)
            run.append(words[1])

    assert set(run) >= {"new", "check", "report", "turn", "steer", "explain", "learn", "export"}
    assert (folder / "quillhaven-amber.html").exists()


@pytest.mark.slow
def test_every_line_of_the_analysts_afternoon_runs(tmp_path, monkeypatch):
    folder = clean_folder(tmp_path)
    monkeypatch.chdir(folder)
    names, lines = {}, 0
    for _before, kind, text in blocks("an-analysts-afternoon.md"):
        if kind == "python":
            exec(compile(text, "an-analysts-afternoon.md", "exec"), names)  # noqa: S102
            continue
        for line in text.splitlines():
            done = command(*shlex.split(line)[1:], folder=folder)
            assert (done.code, done.out != "") == (0, True), (line, done.err)
            lines += 1

    assert lines == 3
    assert names["leading"]
    assert (folder / "draws.nc").exists()


@pytest.mark.slow
def test_every_example_of_the_general_half_gives_what_stands_there():
    text = (ROOT / "docs/general-half.md").read_text(encoding="utf-8")
    examples = "\n".join(re.findall(r"```python\n(.*?)```", text, flags=re.DOTALL))
    page = doctest.DocTestParser().get_doctest(examples, {}, "general-half", None, 0)
    runner = doctest.DocTestRunner(verbose=False)

    runner.run(page)

    assert runner.summarize() == (0, len(page.examples))
    assert len(page.examples) > 40


def test_readme_is_short_and_begins_with_the_job_and_two_commands():
    assert len(README.splitlines()) < 150
    assert README.index("**The job.**") < README.index("## Two commands") < 2000
    assert "report demo-recipes/quillhaven-lager.toml\nsh tests/run\n" in README


@pytest.mark.parametrize(
    "page",
    ["README.md", "DEVELOPERS.md", *(f"docs/{p.name}" for p in (ROOT / "docs").glob("*.md"))],
)
def test_links_of_a_page_lead_somewhere(page):
    path = ROOT / page
    links = [
        link
        for link in LINK.findall(path.read_text(encoding="utf-8"))
        if "/" in link or "." in link
    ]

    assert [link for link in links if not (path.parent / link).exists()] == []


def test_every_page_of_the_docs_is_linked_from_the_readme():
    pages = {f"docs/{path.name}" for path in (ROOT / "docs").glob("*.md")}

    assert pages <= set(LINK.findall(README))


def test_every_command_of_the_command_line_stands_in_the_docs():
    from brewsim.cli.commands import COMMANDS

    text = (ROOT / "docs/commands.md").read_text(encoding="utf-8")

    assert [
        c.__name__ for c in COMMANDS if not re.search(rf"`(brewsim )?{c.__name__}\b", text)
    ] == []


def test_completion_offers_the_commands_that_begin_so():
    script = "import sys; sys.argv = ['brewsim']; from brewsim.cli import main; main()"
    asked = {"_BREWSIM_COMPLETE": "complete_bash", "COMP_WORDS": "brewsim ch", "COMP_CWORD": "1"}
    environment = {**os.environ, **asked, "PYTHONPATH": str(ROOT)}

    done = subprocess.run(
        [sys.executable, "-c", script], check=False, capture_output=True, env=environment, text=True
    )

    assert set(done.stdout.split()) == {"check", "chart"}


def test_example_files_of_the_docs_are_there():
    named = set(re.findall(r"demo-recipes/[\w.-]+", README))

    assert named
    assert [name for name in named if not Path(ROOT / name).exists()] == []
