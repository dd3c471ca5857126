"""The page as the desk serves it: it asks for news where it came from, the written one never."""

import re
import shutil
from html import unescape

import pytest

from brewsim.cli.desk import Desk
from brewsim.page.live import refreshing

pytestmark = pytest.mark.slow


def policy_of(text):
    found = re.search(r'http-equiv="Content-Security-Policy" content="([^"]*)"', text)
    return unescape(found[1])


def test_only_the_served_page_may_connect_and_only_to_where_it_came_from(page):
    written = page.read_text(encoding="utf-8")
    served = refreshing(written, 3)

    assert "connect-src" not in policy_of(written)
    assert "fetch(" not in written.partition("<main")[0]
    assert "connect-src 'self'" in policy_of(served)
    assert policy_of(served).count("sha256-") == policy_of(written).count("sha256-") + 1
    assert '<body data-version="3">' in served


@pytest.mark.skipif(shutil.which("chromium") is None, reason="Chromium is not installed")
def test_the_open_page_follows_the_desk_without_a_complaint(opened, page):
    text = page.read_text(encoding="utf-8")
    with Desk() as desk:
        desk.show(refreshing(text, 1), 1)
        tab, heard = opened(desk.address)
        other = text.replace("<h1>Quillhaven lager</h1>", "<h1>Another lager</h1>")
        desk.show(refreshing(other, 2), 2)
        tab.get_by_role("heading", name="Another lager").wait_for(timeout=10_000)

        assert [line for line in heard if not line.startswith("request")] == []
        assert {line.split()[1] for line in heard} == {desk.address, f"{desk.address}version"}
