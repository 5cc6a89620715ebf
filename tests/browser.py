"""A real browser for the pages, or a word on why there is none."""

import shutil
from contextlib import contextmanager

import pytest

ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


@contextmanager
def chromium():
    """A running Chromium; skips the test where Playwright or Chromium is missing."""
    sync_api = pytest.importorskip("playwright.sync_api", reason="Playwright is not installed: pip install playwright")
    path = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)
    if path is None:
        pytest.skip("no Chromium on this machine: apt-get install chromium")
    with sync_api.sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=ARGUMENTS)
        try:
            yield browser
        finally:
            browser.close()


DRAWN = "new Promise((drawn) => requestAnimationFrame(() => requestAnimationFrame(drawn)))"
"""Comes true when what a page had to do by now is done and drawn."""


@contextmanager
def quiet_page(browser, address, width=1500, height=1000):
    """A page at an address that must stay quiet: no message, no fault, no dialog, no request beyond its own files."""
    context = browser.new_context(viewport={"width": width, "height": height})
    page = context.new_page()
    heard = []
    page.on("console", lambda message: heard.append(f"{message.type}: {message.text}"))
    page.on("pageerror", lambda error: heard.append(f"fault: {error}"))
    page.on("dialog", lambda dialog: (heard.append(f"dialog: {dialog.message}"), dialog.dismiss()))
    page.on(
        "request", lambda request: heard.append(f"request: {request.url}") if _leaves(request.url, address) else None
    )
    page.on("requestfailed", lambda request: heard.append(f"failed: {request.url}"))
    page.goto(address)
    yield page
    page.evaluate(DRAWN)
    context.close()
    assert heard == []


def until(page, expression, seconds=30.0):
    """Wait until an expression of the page is true.

    Playwright's own wait evaluates text inside the page between frames, which the pages' content policy forbids; it
    goes unnoticed only where the first look already succeeds.
    """
    for _ in range(int(seconds / 0.05)):
        if page.evaluate(expression):
            return
        page.wait_for_timeout(50)
    raise AssertionError(f"never became true: {expression}")


def _leaves(url, address):
    return not url.startswith((address.rpartition("/")[0], "data:", "blob:"))
