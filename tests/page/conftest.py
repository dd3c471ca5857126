"""A browser, and pages opened in it."""

import pytest

QUIET = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
    "--disable-quic",
]


@pytest.fixture(scope="module")
def browser():
    sync_api = pytest.importorskip("playwright.sync_api")
    with sync_api.sync_playwright() as playwright:
        found = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=QUIET)
        yield found
        found.close()


@pytest.fixture
def opened(browser):
    """Open a page in a new context; gives the tab and all that it asked for or complained of."""
    contexts = []

    def opener(path, **options):
        context = browser.new_context(**options)
        contexts.append(context)
        tab = context.new_page()
        heard = []
        tab.on("request", lambda request: heard.append(f"request {request.url}"))
        tab.on("console", lambda message: heard.append(f"console {message.text}"))
        tab.on("pageerror", lambda error: heard.append(f"error {error}"))
        tab.goto(path if isinstance(path, str) else path.as_uri())
        return tab, heard

    yield opener
    for context in contexts:
        context.close()
