"""A browser for all tests of pages, where one is installed."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Page, sync_playwright

from flipcheck.show.document.html import report_html, sheet_html
from tests.show.reports import awkward_sheet, content, sheet

ARGUMENTS = [
    *("--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"),
    *("--disable-background-networking", "--disable-component-update", "--disable-sync"),
]

SHEETS = [("carrier", 0), ("carrier", 3), ("carrier", 6), ("panel", 0), ("panel", 2)]
PAGES = ["report", "sheet-awkward", *(f"sheet-{name}-{number}" for name, number in SHEETS)]


@pytest.fixture(scope="session")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[BrowserContext]:
    """A browser with a profile of its own."""
    chromium = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    if chromium is None:
        wanted = os.environ.get("FLIPCHECK_BROWSER") == "required"
        (pytest.fail if wanted else pytest.skip)("no chromium on the path")
    with sync_playwright() as playwright:
        profile = tmp_path_factory.mktemp("profile")
        context = playwright.chromium.launch_persistent_context(profile, executable_path=chromium, args=ARGUMENTS)
        yield context
        context.close()


@pytest.fixture
def page(browser: BrowserContext) -> Iterator[Page]:
    """An empty page."""
    opened = browser.new_page()
    yield opened
    opened.close()


@pytest.fixture(scope="session")
def files(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """The report on the awkward job, and setup sheets of all kinds."""
    folder = tmp_path_factory.mktemp("pages")
    made = {"report": report_html(content())}
    made["sheet-awkward"] = sheet_html(awkward_sheet())
    made |= {f"sheet-{name}-{number}": sheet_html(sheet(name, number)) for name, number in SHEETS}
    for name, text in made.items():
        (folder / f"{name}.html").write_text(text, encoding="utf-8")
    return {name: folder / f"{name}.html" for name in made}
