"""A report: what it says, that user text stays text, that it stands on its own, and files written with care."""

from __future__ import annotations

import hashlib
import math
import re
from functools import cache
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path

import pytest

from flipcheck.decide.check import check
from flipcheck.errors import FlipcheckError, JobError
from flipcheck.job.reader import built_in
from flipcheck.job.records import Job
from flipcheck.show.document.content import Items, Picture, ReportContent, Section, Table
from flipcheck.show.document.content import Text as Paragraph
from flipcheck.show.document.html import report_html, sheet_html
from flipcheck.show.report.report import content_of, write_report
from flipcheck.show.setup_sheet.file import write_sheet
from flipcheck.show.setup_sheet.sheet import MOST_ROWS, sheet_text
from tests.make import PINS, PROBE, hole, make_job
from tests.show.reports import METHOD, TEXT, TITLE, TRIALS, awkward, content, html, report_content, sheet

GOLDEN = Path(__file__).parents[1] / "golden"
VOID = {"meta", "link", "input", "br", "img"}


class Page(HTMLParser):
    """What a page consists of: its elements with their attributes, and the text in each kind of element."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.texts: list[tuple[str, str]] = []
        self.open: list[str] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert tag == self.open.pop(), f"</{tag}> closes something else"

    def handle_data(self, data: str) -> None:
        self.texts.append((self.open[-1] if self.open else "", data))

    def all(self, tag: str) -> list[dict[str, str | None]]:
        """Attributes of all elements of a kind."""
        return [attributes for name, attributes in self.elements if name == tag]

    @property
    def text(self) -> str:
        """All that can be read."""
        return " ".join("".join(text for tag, text in self.texts if tag != "style").replace("\u00a0", " ").split())


@pytest.fixture(scope="module")
def page() -> Page:
    """The report on the awkward job."""
    return Page(html())


def every_section(of: ReportContent) -> list[Section]:
    """All sections, those below others after them."""
    top = [*of.sections, *of.last]
    return [part for section in top for part in (section, *section.sections)]


def section(name: str, of: ReportContent | None = None) -> Section:
    """A section by its name."""
    return next(part for part in every_section(of or content()) if part.name == name)


def tables(part: Section) -> list[Table]:
    """The tables of a section."""
    return [block for block in part.blocks if isinstance(block, Table)]


def test_parts_in_order():
    """Verdict first, then job, methods, drawings, fixture, pairs, map, uncertainty; sheet, assumptions and cautions."""
    names = ["job", "methods", "drawings", "fixture", "pairs", "over-the-blank", "uncertainty"]
    assert names == [part.name for part in content().sections]
    assert ["assumed", "cautions"] == [part.name for part in content().last]
    assert ["pair-1", "pair-2", "pair-3", "pair-4", "pair-5"] == [part.name for part in section("pairs").sections]


def test_verdict_and_comparison():
    """The recommendation stands at the top, and its method is the one marked in the table."""
    assert "met" == content().mark
    assert re.fullmatch(r'Take ".*"\.', content().verdict)
    table, of_webs = tables(section("methods"))
    (marked,) = table.marked
    assert content().verdict == f'Take "{table.rows[marked][0].removesuffix(" *")}".'
    assert 3 == len(table.rows)
    assert ["floor"] == [row[0] for row in of_webs.rows]


def test_every_input_with_its_line():
    """Each error stands on its line of the file, with the file's own words."""
    head, errors, pairs, methods = tables(section("job"))
    assert ("title", TITLE, "1", "said in <i>the file</i>") == head.rows[0]
    squareness = next(row for row in errors.rows if row[0] == "errors.machine_squareness")
    line = TEXT.split("\n").index('machine_squareness = { limit = "0.5 mm/m" }') + 1
    assert ("uniform", "0", "0.2887", "0.5", "mm/m", "machine", str(line), "-") == squareness[1:]
    assert "at (100, 50); angle 30°; allowed 0.2" == pairs.rows[2][2]
    assert "contacts (20, 180)" in methods.rows[1][2]


def test_letters_that_pictures_lack():
    """It is said which letters stand as boxes in the pictures, once each; nothing where there are none."""
    texts = [block.text for block in section("drawings").blocks if isinstance(block, Paragraph)]
    assert ["In the pictures a box stands for each letter that their font lacks: 中"] == texts
    assert not any(isinstance(block, Paragraph) for block in section("drawings", plain()).blocks)


@cache
def plain() -> ReportContent:
    return report_content(make_job(PINS), trials=1000)


def test_statement_of_uncertainty():
    """Coverage and kind of interval, simulation, seed, model, types of input, correlations."""
    (items,) = (block for block in section("uncertainty").blocks if isinstance(block, Items))
    told = " ".join(items.items)
    for needed in ("95 in 100", "one-sided quantiles", "Wilson", f"{TRIALS:,} trials, seed 7", "type A", "type B"):
        assert needed in told
    for needed in ("docs/explanation/model.md", "Correlations", "Temperature", "90 in 100"):
        assert needed in told


def test_version_and_checksum():
    """The foot names the file without its folder, and the SHA-256 of the text."""
    assert content().foot.startswith("flipcheck ")
    assert "job awkward.toml, " in content().foot
    assert "folder" not in content().foot
    assert content().foot.endswith(hashlib.sha256(TEXT.encode()).hexdigest())


def test_left_out_is_said():
    """Errors that the job does not give are named."""
    told = [block.text for block in section("assumed").blocks if isinstance(block, Paragraph)]
    assert any("counted as zero" in text and "rehoming" in text for text in told)


def test_a_result_of_check_is_refused():
    """A report needs a recommendation."""
    with pytest.raises(ValueError, match="recommends nothing"):
        content_of(awkward(), check(awkward(), trials=100))


@pytest.mark.parametrize(("goal", "mark"), [(0.999999, "missed"), (0.5, "met")])
def test_mark(goal: float, mark: str):
    """The mark says whether the goal is met."""
    job = make_job(PROBE, errors={"probe_repeatability": {"std": 0.04}}, goal=goal)
    assert mark == report_content(job, trials=TRIALS).mark


def test_blanks_that_never_go_on():
    """Pins thicker than their holes: the report says so, and has no numbers to draw."""
    of = report_content(make_job(PINS | {"hole": {"diameter": 5.9}}, errors={"positioning": {"std": 0.01}}), trials=100)
    assert "missed" == of.mark
    assert "not one blank goes onto the pins" in of.reason[1]
    assert ("blanks that go on", "0 %", "-", "-") in tables(section("fixture", of))[1].rows
    assert "nan" not in Page(report_html(of)).text


def test_a_nest_after_a_change_of_moisture():
    """How the blank fits its nest stands on the fixture sheet, the change among what was taken to be uncertain.

    A clearance of 0.3 mm over the longer side of 180 mm lets it turn by 1.67 mm/m to either side.
    """
    nest = {"name": "nest", "kind": "nest", "clearance": 0.3, "pocket_size": {"limit": 0.05}}
    between = {"material": "red oak", "grain": math.pi / 2.0, "moisture": {"bias": 0.05, "limit": 0.025}}
    of = report_content(make_job(nest, errors={"positioning": {"std": 0.01}}, between=between), trials=TRIALS)

    fits = next(table for table in tables(section("fixture", of)) if table.caption.startswith("How it fits the nest"))
    assert (0.3, 1.67) == tuple(pytest.approx(float(row[1]), abs=0.005) for row in fits.rows[:2])
    assert ("blanks that go in", "100 %") == fits.rows[2][:2]
    inputs = {row[0]: row[1:5] for row in tables(section("job", of))[1].rows}
    assert ("uniform", "0.05", "0.01443", "0.025") == inputs["between.moisture"]


def test_many_pairs_are_not_all_drawn():
    """Of twenty pairs twelve have pictures, those with the lowest chances; all have their stack."""
    pairs = [hole(9.0 * number + 3.0, 50.0) for number in range(20)]
    of = report_content(make_job(PINS, errors={"machine_squareness": {"std": 0.001}}, pairs=pairs), trials=TRIALS)
    each = section("pairs", of).sections
    drawn = [i for i, part in enumerate(each) if any(isinstance(block, Picture) for block in part.blocks)]
    assert 20 == len(each)
    assert [*range(6), *range(14, 20)] == drawn


def test_user_text_stays_text(page: Page):
    """Tags, entities and comments in names and titles can be read, and make no elements."""
    assert [] == page.all("script") + page.all("img") + page.all("b") + page.all("i")
    assert TITLE in page.text
    assert "<img src=x onerror=alert(2)>" in page.text
    assert METHOD in page.text
    assert "said in <i>the file</i>" in page.text
    assert 1 == html().count("</style>")


def test_elements_are_closed(page: Page):
    """Every element that is opened is closed, in order."""
    assert [] == page.open


def test_language_and_title(page: Page):
    """The language of the page is told."""
    assert [{"lang": "en"}] == page.all("html")
    assert any(tag == "title" and TITLE in text for tag, text in page.texts)


@pytest.mark.parametrize("made", [html, lambda: sheet_html(sheet())], ids=["report", "sheet"])
def test_headings_in_order(made):
    """One heading of the first level, and none that skips a level on the way down."""
    levels = [int(tag[1]) for tag, _ in Page(made()).elements if re.fullmatch("h[1-6]", tag)]
    assert 1 == levels[0]
    assert 1 == levels.count(1)
    assert all(after <= before + 1 for before, after in pairwise(levels))


@pytest.mark.parametrize("made", [html, lambda: sheet_html(sheet())], ids=["report", "sheet"])
def test_stands_on_its_own(made):
    """Nothing is asked of the network or of other files, and no script is there."""
    page = Page(made())
    assert not re.search(r"https?:|url\((?!#)|@import|src=", re.sub(r"&lt;.*?&gt;", "", made()))
    assert [] == page.all("script")
    assert ["data:,"] == [attributes["href"] for attributes in page.all("link")]
    for attributes in page.all("a") + page.all("use"):
        assert (attributes["href"] or "").startswith("#")


@pytest.mark.parametrize("made", [html, lambda: sheet_html(sheet())], ids=["report", "sheet"])
def test_names_are_unique_and_lead_somewhere(made):
    """Every id stands once, and everything that refers to one finds it."""
    page = Page(made())
    ids = [attributes["id"] for _, attributes in page.elements if "id" in attributes]
    assert len(ids) == len(set(ids))
    used = [attributes["href"] for attributes in page.all("a") + page.all("use")]
    used += [f"#{name}" for name in re.findall(r"url\(#([^)]*)\)", made())]
    used += [f"#{attributes['aria-labelledby']}" for attributes in page.all("section")]
    assert set() == set(used) - {f"#{name}" for name in ids}


def test_figures_are_told_in_words(page: Page):
    """Every figure is an image with a text of its own, and its shapes are hidden from a reader of the screen."""
    figures = page.all("figure")
    told = [str(figure["aria-label"]) for figure in figures]
    assert len(page.all("svg")) == len(figures) >= 20
    assert {"img"} == {figure["role"] for figure in figures}
    assert len(told) == len(set(told))
    assert min(len(text) for text in told) > 40


def test_tables_have_captions_and_heads(page: Page):
    """Every table has a caption, and every heading cell says what it heads."""
    assert len(page.all("table")) == len(page.all("caption")) >= 12
    assert {"col", "row"} == {head["scope"] for head in page.all("th")}
    rows = [part for part in every_section(content()) for table in tables(part) for part in table.rows]
    assert len(rows) + len(sheet_rows()) == sum(1 for head in page.all("th") if head["scope"] == "row")


def sheet_rows() -> tuple[tuple[str, ...], ...]:
    """The rows of the table of the setup sheet."""
    return content().sheet.places.rows


def test_same_bytes_again():
    """The same job, trials and seed give the same report."""
    again = report_content(awkward(), trials=TRIALS, rng=7, job_text=TEXT, file="awkward.toml")
    assert content() == again


@pytest.mark.parametrize(
    ("name", "method", "golden"),
    [("carrier", 0, "sheet-pins.txt"), ("panel", 2, "sheet-fence.txt"), ("carrier", 6, "sheet-probe.txt")],
)
def test_golden_sheet(name: str, method: int, golden: str):
    """The whole text of a setup sheet stays as it was read and found good."""
    assert (GOLDEN / golden).read_text(encoding="utf-8") == sheet_text(sheet(name, method))


def test_sheet_text_is_plain():
    """Off a terminal a sheet is ASCII in lines of at most 80 columns."""
    for line in sheet_text(sheet("panel", 1)).splitlines():
        assert re.fullmatch(r"[ -~]{0,80}", line)


def test_every_step_can_be_ticked():
    """A box for each step, on paper as on a screen."""
    count = sum(len(stage.steps) for stage in (*sheet().a, *sheet().b))
    boxes = Page(sheet_html(sheet())).all("input")
    assert [{"type": "checkbox"}] * count == boxes
    assert count == sheet_text(sheet()).count("[ ]")


def test_a_long_table_is_cut_and_says_so():
    """The sheet stays one page: the report has the rest."""
    pairs = [hole(7.0 * number + 3.0, 50.0) for number in range(24)]
    text = write_sheet(make_job(PINS, pairs=pairs))
    assert f"{26 - MOST_ROWS + 1} more: see the report" in text


def test_sheet_of_a_named_method():
    """A method is chosen by its name; the first is taken unless one is."""
    job = built_in()
    assert "probe the same corner (probe)" in write_sheet(job, method="probe the same corner")
    assert "dowels on the flip line (pins)" in write_sheet(job)
    with pytest.raises(JobError, match="unknown-method"):
        write_sheet(job, method="glue")


def test_report_is_written(tmp_path: Path):
    """The file holds the report, and the comparison comes back."""
    result = write_report(awkward(), tmp_path / "r.html", trials=TRIALS, rng=7, job_text=TEXT, file="awkward.toml")
    assert html() == (tmp_path / "r.html").read_text(encoding="utf-8")
    assert TRIALS == result.trials
    assert ["r.html"] == [path.name for path in tmp_path.iterdir()]


def test_sheet_is_written(tmp_path: Path):
    """As HTML by the ending, in capitals too; the text comes back as well."""
    text = write_sheet(built_in(), tmp_path / "s.HTML", job_text="x")
    assert text == write_sheet(built_in(), job_text="x")
    assert "Bearing carrier" in (tmp_path / "s.HTML").read_text(encoding="utf-8")


def never(job: Job, **_: object) -> None:
    raise AssertionError("worked out in vain")


def test_nothing_is_written_over(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    """A file that is there is left alone, before any work is done, unless force is given."""
    (tmp_path / "r.html").write_text("mine")
    with monkeypatch.context() as patch:
        patch.setattr("flipcheck.show.report.report.compare", never)
        with pytest.raises(FlipcheckError, match=r"r\.html is there already and is left as it is"):
            write_report(awkward(), tmp_path / "r.html")
    assert "mine" == (tmp_path / "r.html").read_text()
    write_sheet(built_in(), tmp_path / "r.html", force=True)
    assert "mine" != (tmp_path / "r.html").read_text(encoding="utf-8")


@pytest.mark.parametrize(("name", "tried"), [("r.txt", "r.html or r.pdf"), ("r", "r.html or r.pdf")])
def test_wrong_ending(tmp_path: Path, name: str, tried: str):
    """What to write instead is said."""
    with pytest.raises(FlipcheckError, match=rf"{name} is neither \.html nor \.pdf\. Try: {tried}"):
        write_report(awkward(), tmp_path / name)


def test_no_folder(tmp_path: Path):
    """A folder that is missing is named."""
    with pytest.raises(FlipcheckError, match="there is no folder"):
        write_sheet(built_in(), tmp_path / "none" / "s.html")


def test_a_file_that_cannot_be_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
    """The reason is told, and no part is left behind."""

    def full(self: Path, data: bytes) -> int:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "write_bytes", full)
    with pytest.raises(FlipcheckError, match=r"s\.html cannot be written: no space left on device"):
        write_sheet(built_in(), tmp_path / "s.html")
    assert [] == list(tmp_path.iterdir())
