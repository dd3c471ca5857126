"""The keys that docs/commands.md promises to machines are there."""

import json
import re

import pytest

from tests.cli.conftest import ROOT


def promised(command):
    page = (ROOT / "docs/commands.md").read_text(encoding="utf-8")
    row = next(
        line
        for line in page.splitlines()
        if line.startswith(f"| `{command}`") and "`recipe`" in line
    )
    return set(re.findall(r"`([a-z_]+)`", row.split("|")[2]))


def keys_of(content):
    if isinstance(content, list):
        return set().union(*map(keys_of, content[:1]))
    if isinstance(content, dict):
        return set(content) | set().union(*map(keys_of, content.values()))
    return set()


@pytest.mark.slow
def test_simulate_check_and_rank_hold_the_keys_of_the_docs(run, demo):
    for command, options in (
        ("simulate", ["--draws", "256"]),
        ("check", []),
        ("rank", ["--outcome", "alcohol"]),
    ):
        content = json.loads(run(command, demo("lager"), *options, "--json").output)
        wanted = promised(command) - {"report", "page", "dangers", "level", "title", "text"}

        assert len(wanted) > 6
        assert wanted <= keys_of(content), command
