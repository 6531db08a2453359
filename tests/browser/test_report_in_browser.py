"""Report and setup sheet in a real browser: on a phone and on a screen."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page

from tests.browser.conftest import PAGES

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
