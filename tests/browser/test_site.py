"""The site of the documents: built without a warning, its pictures made by the tutorial, fit for a phone."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from playwright.sync_api import Page

from flipcheck.decide.validation.validation import CHECKS

ROOT = Path(__file__).parents[2]
TUTORIAL = "docs/tutorial/first-part"


@pytest.fixture(scope="module")
def project(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of the project in which the site was built, warnings as errors."""
    copy = tmp_path_factory.mktemp("project") / "flipcheck"
    shutil.copytree(ROOT, copy, ignore=shutil.ignore_patterns(".*", "__pycache__", "build", "made"))
    command = [sys.executable, "-m", "sphinx", "-W", "--keep-going", "-q", "docs", "build/site"]
    run = subprocess.run(command, cwd=copy, capture_output=True, text=True, check=False)
    assert (0, "") == (run.returncode, run.stderr)
    return copy


def html(project: Path, name: str) -> str:
    return (project / "build" / "site" / f"{name}.html").read_text(encoding="utf-8")


def test_every_document_is_a_page(project: Path):
    """Each document is built, and stands in the contents beside every page."""
    documents = [path.relative_to(project) for path in (project / "docs").rglob("*.md")]
    documents += [Path("README.md"), Path("DEVELOPERS.md")]
    documents += [path.relative_to(project) for path in (project / "studies").glob("*/README.md")]
    contents = html(project, "README").split('class="sphinxsidebar"')[1]

    for document in documents:
        name = document.with_suffix("").as_posix()
        assert "<h1>" in html(project, name)
        assert f'href="{name}.html"' in contents or name == "README"


def test_pictures_are_made(project: Path):
    """Each picture that the tutorial names is made from its own job, has words for who cannot see it, and is shown."""
    source = (project / f"{TUTORIAL}.md").read_text(encoding="utf-8")
    named = re.findall(r"!\[([^\]]*)\]\(([^)]+)\)", source)
    shown = re.findall(r'<img alt="([^"]*)" src="([^"]*)"', html(project, TUTORIAL))

    assert len(named) >= 6
    for words, path in named:
        picture = project / "docs" / "tutorial" / path
        assert picture.stat().st_size > 5000
        assert len(words.split()) > 8
        assert path.startswith("made/")
    assert [words for words, _ in named] == [words for words, _ in shown]
    assert [Path(path).name for _, path in named] == [Path(path).name for _, path in shown]
    (job,) = re.findall(r"(?ms)^```toml\n(.*?)^```", source)
    assert job == (project / "docs" / "tutorial" / "made" / "plate.toml").read_text(encoding="utf-8")


def test_the_tutorial_does_what_it_says(project: Path):
    """The commands of the tutorial, in their order, end and say as its text has it."""
    made = project / "docs" / "tutorial" / "made"
    ran = json.loads((made / "ran.json").read_text(encoding="utf-8"))

    assert {"compare": 0, "check": 1, "limits": 0, "report": 0, "sheet": 0} == {
        command.split()[1]: code for command, (code, _) in ran.items()
    }
    said = {command.split()[1]: " ".join(out.split()) for command, (_, out) in ran.items()}
    assert 'Take "touch the same corner"' in said["compare"]
    assert "machine_squareness: doubles along the flip line: 2 x 0.5 mm/m x 30 mm from the flip line." in said["check"]
    assert '"dowels" misses the goal' in said["limits"]
    assert "machine_squareness at " in said["limits"]
    assert "</html>" in (made / "plate.html").read_text(encoding="utf-8")


def test_the_published_numbers_stand_on_their_page(project: Path):
    """What `flipcheck validate` says is on the page that tells how far to trust it."""
    page = html(project, "docs/explanation/trust")

    assert f"All {len(CHECKS)} numbers are as published" in page
    assert page.count(" yes\n") >= len(CHECKS)


@pytest.mark.parametrize("width", [390, 1280])
def test_no_page_is_wider_than_its_window(page: Page, project: Path, width: int):
    """On a phone and on a screen every page fits, loads nothing from elsewhere, and shows its pictures."""
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.set_viewport_size({"width": width, "height": 900})
    site = project / "build" / "site"
    for file in sorted({*site.rglob("*.html")} - {site / "index.html"}):
        page.goto(file.as_uri())
        assert width >= page.evaluate("document.scrollingElement.scrollWidth"), file
        sizes = page.evaluate("[...document.images].map(one => one.naturalWidth)")
        assert 0 not in sizes, file
    assert asked
    assert [] == [url for url in asked if not url.startswith(site.as_uri())]


def test_the_door_leads_to_the_map(page: Page, project: Path):
    """Who opens the folder of the site comes to the map of the documents."""
    site = project / "build" / "site"
    page.goto((site / "index.html").as_uri())
    page.wait_for_url((site / "docs" / "index.html").as_uri())
    assert "Map of the documents" in page.inner_text("h1")


def test_every_key_is_in_the_table(project: Path):
    """The table of keys, made from the records while the site is built, names every block and every key of the page."""
    page = (project / "docs" / "reference" / "job-file.md").read_text(encoding="utf-8")
    table = html(project, "docs/reference/keys")
    explained = {
        key for keys in re.findall(r"(?m)^\| (`\w+`(?:, `\w+`)*) \|", page) for key in re.findall(r"\w+", keys)
    }

    assert len(explained) > 80
    assert explained <= set(re.findall(r'<span class="pre">(\w+)</span>', table))
