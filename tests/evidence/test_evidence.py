"""The page of what the numbers rest on is today's, and its shares can be told apart."""

import json
import re

import pytest

from tests.evidence.keep import BEFORE, GRADES, PAGE, grade_counts, soft_shares
from tests.regression.estimates import DEMOS


def test_the_page_counts_the_priors_of_today():
    """After a change that was meant: python -m tests.evidence --write."""
    text = PAGE.read_text(encoding="utf-8")
    for grade, count in grade_counts().items():
        assert re.search(rf"^\| {grade} \| \d+ \| {count} \|$", text, re.MULTILINE), grade


def test_hop_aroma_rests_on_less_memory_than_it_did():
    before = json.loads(BEFORE.read_text(encoding="utf-8"))["shares"]["quillhaven-lager"]
    now = soft_shares(DEMOS / "quillhaven-lager.toml", draws=1024)

    assert before["hop_aroma_activity"] > 0.95
    assert now["hop_aroma_activity"] < 0.5
    assert all(0 <= share <= 1 for share in now.values())


def test_every_grade_has_a_line():
    assert set(grade_counts()) == set(GRADES)
    assert min(grade_counts().values()) > 0


@pytest.mark.parametrize("grade", GRADES)
def test_before_and_now_are_told_for_every_grade(grade):
    assert f"| {grade} |" in PAGE.read_text(encoding="utf-8")
