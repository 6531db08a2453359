"""What the documents show is what there is: their Python runs, and the output they print is the output of today."""

from __future__ import annotations

import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest
import typer

from flipcheck.cli.main import app
from flipcheck.job.fits import parse_fit
from flipcheck.job.reader import parse_job
from flipcheck.show.words import THE_TURN
from flipcheck.stack.sources import Life

ROOT = Path(__file__).parent.parent
DOCUMENTS = [ROOT / "README.md", *sorted((ROOT / "docs").rglob("*.md"))]


def blocks(document: Path, language: str) -> list[str]:
    """The fenced blocks of a document in one language."""
    return re.findall(rf"^```{language}\n(.*?)^```", document.read_text(encoding="utf-8"), flags=re.M | re.S)


# a cluster that closes on a busy machine leaves a socket to the garbage collector now and then
@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
@pytest.mark.parametrize("document", DOCUMENTS, ids=lambda path: str(path.relative_to(ROOT)))
def test_python_runs(document: Path):
    """Every fenced block of Python in a document runs, after those before it."""
    namespace: dict[str, object] = {}
    for block in blocks(document, "python"):
        exec(compile(block, str(document), "exec"), namespace)


def test_readme_job_can_be_read():
    """The job in the README is a job."""
    (job,) = blocks(ROOT / "README.md", "toml")

    assert "bearing seat" == parse_job(job).pairs[0].name


def test_readme_shows_what_compare_says():
    """The output in the README is what `flipcheck compare` says today."""
    (shown,) = blocks(ROOT / "README.md", "text")
    said = subprocess.run([sys.executable, "-m", "flipcheck", "compare"], capture_output=True, text=True, check=False)

    assert 0 == said.returncode
    assert said.stdout.startswith(shown)


def test_every_command_is_on_its_page():
    """The page of commands names every command with all of its options, and no option that there is not."""
    page = (ROOT / "docs" / "reference" / "commands.md").read_text(encoding="utf-8")
    rows = [line.split(" | ") for line in page[page.index("## Options") : page.index("## Exit codes")].splitlines()]
    told = {
        (command, option)
        for row in rows
        if row[0].startswith("| `--")
        for option in re.findall(r"--\w+", row[0])
        for command in re.findall(r"`(\w+)`", row[1])
    }
    commands = typer.main.get_command(app).commands
    options = {(name, text) for name, command in commands.items() for p in command.params for text in p.opts}

    assert {(name, text) for name, text in options if text.startswith("--")} == told
    assert set(commands) == set(re.findall(r"^\| `(\w+)[ `]", page, flags=re.M))


@pytest.mark.parametrize("document", DOCUMENTS, ids=lambda path: str(path.relative_to(ROOT)))
def test_links_lead_somewhere(document: Path):
    """Every link to a file leads to one; pictures that the site makes are looked for there."""
    links = re.findall(r"(?<!!)\[[^\]]*\]\(([^)#\s]+)(?:#[^)]*)?\)", document.read_text(encoding="utf-8"))

    assert [] == [link for link in links if "://" not in link and not (document.parent / link).exists()]


@pytest.mark.parametrize("page", ["wood-and-heat"])
def test_how_to_does_what_it_says(page: str, tmp_path: Path):
    """The job of a how-to is read, its commands run, and every line that it shows of their output is there."""
    document = ROOT / "docs" / "how-to" / f"{page}.md"
    (job,) = blocks(document, "toml")
    commands = "".join(blocks(document, "sh")).splitlines()
    (tmp_path / shlex.split(commands[0])[2]).write_text(job, encoding="utf-8")
    said = []
    for command in commands:
        words = [sys.executable, "-m", *shlex.split(command)]
        run = subprocess.run(words, capture_output=True, text=True, check=False, cwd=tmp_path)
        said += run.stdout.splitlines()

        assert run.returncode in (0, 1), f"{command}: {run.stderr}"
    shown = [line for block in blocks(document, "text") for line in block.splitlines()]

    assert shown
    assert [] == [line for line in shown if line not in said]


def test_the_map_shows_every_document():
    """Each page and each study is linked from the map of the documents."""
    home = ROOT / "docs"
    links = re.findall(r"\]\(([^)#\s]+)", (home / "index.md").read_text(encoding="utf-8"))
    pages = [*home.rglob("*.md"), *(ROOT / "studies").glob("*/README.md"), ROOT / "README.md", ROOT / "DEVELOPERS.md"]

    assert {page for page in pages if page.name != "index.md"} == {(home / link).resolve() for link in links}


def test_words_of_results_are_explained():
    """The glossary has what a result says of the turn, and every life of an error."""
    glossary = (ROOT / "docs" / "reference" / "glossary.md").read_text(encoding="utf-8")

    assert [] == [word for word in THE_TURN.values() if f"\n| {word} |" not in glossary]
    assert [] == [life for life in Life if f"**{life}**" not in glossary]


def test_batches_do_what_they_say(tmp_path: Path):
    """The job of the page on batches is read, and each of its commands begins with the text shown below it."""
    page = ROOT / "docs" / "how-to" / "batch.md"
    (job,), commands, shown = (blocks(page, language) for language in ("toml", "sh", "text"))
    (tmp_path / "lid.toml").write_text(job, encoding="utf-8")
    assert 3 == len(commands)
    for command, text in zip(commands, shown, strict=True):
        words = [sys.executable, "-m", *shlex.split(command)]
        run = subprocess.run(words, capture_output=True, text=True, check=False, cwd=tmp_path)
        assert run.stdout.startswith(text), run.stdout + run.stderr
        assert run.returncode == (1 if command.rstrip().endswith("--parts 20") else 0)


@pytest.mark.parametrize(
    ("page", "jobs"),
    [("how-to/choose-a-fit.md", ["cover.toml"]), ("how-to/sweep.md", ["base.toml"]), ("reference/commands.md", [])],
)
def test_pages_do_what_they_say(tmp_path: Path, page: str, jobs: list[str]):
    """The job of the page is read, and each of its commands begins with the text shown below it."""
    document = ROOT / "docs" / page
    for name, job in zip(jobs, blocks(document, "toml"), strict=False):
        (tmp_path / name).write_text(job, encoding="utf-8")
    commands, shown = blocks(document, "sh"), blocks(document, "text")
    assert commands
    for command, text in zip(commands, shown, strict=True):
        words = [sys.executable, "-m", *shlex.split(command)]
        run = subprocess.run(words, capture_output=True, text=True, check=False, cwd=tmp_path)
        assert run.stdout.startswith(text), run.stdout + run.stderr


def test_loose_pins_on_the_page_of_fits():
    """The method shown there by itself can be added to the job."""
    job, method = blocks(ROOT / "docs" / "how-to" / "choose-a-fit.md", "toml")
    assert "soft pins in a reamed bed" == parse_job(f"{job}\n{method}").methods[-1].name


def test_fits_to_choose_from():
    """Each row of the table of fits has the clearances of the standard, and the share of pairs with play."""
    page = (ROOT / "docs" / "how-to" / "choose-a-fit.md").read_text(encoding="utf-8")
    rows = re.findall(r"^\| `(6 \S+)` \| [^|]+ \| (\S+) to (\S+) \| (\d+) % \|$", page, flags=re.M)
    assert 7 == len(rows)
    for text, least, most, share in rows:
        fit = parse_fit(text)
        assert fit.clearance == pytest.approx((1e3 * float(least), 1e3 * float(most)))
        assert round(100.0 * fit.chance_of_clearance) == int(share)


def test_the_first_article_does_what_it_says(tmp_path: Path):
    """The job and the readings of the how-to are read, its command meets the goal, and says what the page shows."""
    page = ROOT / "docs" / "how-to" / "first-article.md"
    (job,), (readings,), (command,) = (blocks(page, language) for language in ("toml", "csv", "sh"))
    (shown,) = blocks(page, "text")
    (tmp_path / "foot.toml").write_text(job, encoding="utf-8")
    (tmp_path / "first.csv").write_text(readings, encoding="utf-8")
    words = [sys.executable, "-m", *shlex.split(command)]
    run = subprocess.run(words, capture_output=True, text=True, check=False, cwd=tmp_path)

    assert (0, "") == (run.returncode, run.stderr)
    assert run.stdout.startswith(shown)
