"""Report and setup sheet in a real browser: on a phone, on a screen and on paper."""

from __future__ import annotations

import io
import os
import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Page, sync_playwright
from pypdf import PdfReader

from flipcheck.show.html import report_html, sheet_html
from tests.show.reports import awkward_sheet, content, sheet

ARGUMENTS = [
    *("--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"),
    *("--disable-background-networking", "--disable-component-update", "--disable-sync"),
]
WIDTHS = (390, 1280)

#: Of each element with text of its own that can be seen: the contrast of its ink on what lies behind it.
CONTRASTS = """() => {
  const light = colour => {
    const [r, g, b] = colour.match(/[\\d.]+/g).slice(0, 3).map(part => {
      const share = part / 255;
      return share <= 0.04045 ? share / 12.92 : ((share + 0.055) / 1.055) ** 2.4;
    });
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const behind = element => {
    for (let at = element; at; at = at.parentElement) {
      const colour = getComputedStyle(at).backgroundColor;
      if (!/, 0\\)$/.test(colour)) return colour;
    }
    return 'rgb(255, 255, 255)';
  };
  return [...document.body.querySelectorAll('*')]
    .filter(one => !one.closest('svg') && one.getClientRects().length)
    .filter(one => [...one.childNodes].some(node => node.nodeType === 3 && node.data.trim()))
    .map(one => {
      const [a, b] = [light(getComputedStyle(one).color), light(behind(one))].sort((x, y) => y - x);
      return [one.tagName + ': ' + one.textContent.trim().slice(0, 40), (a + 0.05) / (b + 0.05)];
    });
}"""


@pytest.fixture(scope="module")
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


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """The report on the awkward job, and setup sheets of all kinds."""
    folder = tmp_path_factory.mktemp("pages")
    made = {"report": report_html(content())}
    made["sheet-awkward"] = sheet_html(awkward_sheet())
    made |= {f"sheet-{name}-{number}": sheet_html(sheet(name, number)) for name, number in SHEETS}
    for name, text in made.items():
        (folder / f"{name}.html").write_text(text, encoding="utf-8")
    return {name: folder / f"{name}.html" for name in made}


SHEETS = [("carrier", 0), ("carrier", 3), ("carrier", 6), ("panel", 0), ("panel", 2)]
PAGES = ["report", "sheet-awkward", *(f"sheet-{name}-{number}" for name, number in SHEETS)]


@pytest.fixture
def page(browser: BrowserContext) -> Iterator[Page]:
    """An empty page."""
    opened = browser.new_page()
    yield opened
    opened.close()


def paper(page: Page, size: str) -> PdfReader:
    """The page as it prints."""
    return PdfReader(io.BytesIO(page.pdf(format=size, print_background=True)))


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("name", PAGES)
def test_fits_and_keeps_quiet(page: Page, files: dict[str, Path], name: str, width: int):
    """No complaint, no request but for the file, nothing wider than the window, every figure there to be seen."""
    said: list[str] = []
    asked: list[str] = []
    page.on("console", lambda message: said.append(message.text))
    page.on("pageerror", lambda error: said.append(str(error)))
    page.on("dialog", lambda dialog: said.append(dialog.message))
    page.on("request", lambda request: asked.append(request.url))
    page.set_viewport_size({"width": width, "height": 900})
    page.goto(files[name].as_uri())

    assert [] == said
    assert [files[name].as_uri()] == [url for url in asked if url != "data:,"]
    assert width >= page.evaluate("document.scrollingElement.scrollWidth")
    boxes = [figure.bounding_box() for figure in page.locator("figure svg").all()]
    assert len(boxes) == page.locator("figure").count() > 0
    assert all(box and box["width"] > 200 and box["height"] > 60 for box in boxes)


@pytest.mark.parametrize("name", PAGES[:2])
def test_contrast(page: Page, files: dict[str, Path], name: str):
    """Every text stands out from its ground by 4.5 to 1 or more."""
    page.goto(files[name].as_uri())
    found: list[list[Any]] = page.evaluate(CONTRASTS)
    assert len(found) > 40
    assert [] == [(text, round(ratio, 2)) for text, ratio in found if ratio < 4.5]


def test_narrow_tables_scroll_by_themselves(page: Page, files: dict[str, Path]):
    """On a phone a wide table can be moved, with the keyboard too, and the page stays."""
    page.set_viewport_size({"width": 390, "height": 900})
    page.goto(files["report"].as_uri())
    wide = page.evaluate(
        "[...document.querySelectorAll('.scroll')].filter(one => one.scrollWidth > one.clientWidth).length"
    )
    assert wide >= 3
    assert page.locator(".scroll").count() == page.locator(".scroll[tabindex='0'][aria-label]").count()


def test_a_step_can_be_ticked(page: Page, files: dict[str, Path]):
    """On a screen at the machine the words beside a box tick it."""
    page.goto(files["sheet-carrier-0"].as_uri())
    page.get_by_text("Run the program of face A.").click()
    assert 1 == page.locator("input:checked").count()


@pytest.mark.parametrize("size", ["A4", "Letter"])
@pytest.mark.parametrize("name", PAGES[1:])
def test_a_sheet_prints_on_one_page(page: Page, files: dict[str, Path], name: str, size: str):
    """The whole sheet, to its last line, on one page."""
    page.goto(files[name].as_uri())
    reader = paper(page, size)
    assert 1 == len(reader.pages)
    assert "0f0f" in reader.pages[0].extract_text()


@pytest.mark.parametrize("size", ["A4", "Letter"])
def test_the_report_prints_whole(page: Page, files: dict[str, Path], size: str):
    """Its setup sheet has a page of its own, and no page is empty."""
    page.goto(files["report"].as_uri())
    printed = paper(page, size).pages
    texts = [" ".join(sheet.extract_text().split()) for sheet in printed]
    assert 8 <= len(texts) <= 30
    assert min(len(sheet.get_contents().get_data()) for sheet in printed) > 2000
    (own,) = [text for text in texts if "Face A up" in text and "Face B up" in text]
    assert "What was assumed" not in own
    assert "How sure these numbers are" not in own
    assert re.search(r"1 Measure the thickness.* 2 Mark .*Cut face B", own)


def test_rows_and_figures_stay_whole_on_paper(page: Page, files: dict[str, Path]):
    """What may not be cut says so: rows, figures, steps; and headings stay with what follows."""
    page.goto(files["report"].as_uri())
    page.emulate_media(media="print")
    for what in ("tr", "figure", ".sheet ol > li"):
        inside = page.evaluate(
            f"[...document.querySelectorAll('{what}')].map(one => getComputedStyle(one).breakInside)"
        )
        assert inside
        assert {"avoid"} == set(inside)
    after = page.evaluate("[...document.querySelectorAll('h2, h3, h4')].map(one => getComputedStyle(one).breakAfter)")
    assert {"avoid"} == set(after)
    assert "table-header-group" == page.evaluate("getComputedStyle(document.querySelector('thead')).display")
