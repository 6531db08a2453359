"""Pictures as files: whole, never over another, the same bytes each time, text as text."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree as ET

import matplotlib as mpl
import pytest

import flipcheck
from flipcheck.errors import FlipcheckError
from flipcheck.show.figures import save, stack_figure, write_all
from flipcheck.show.figures.files import safe
from tests.make import FENCE, PINS, hole, make_job
from tests.show import results
from tests.show.pictures import ODD

ERRORS = {"positioning": {"std": 0.01}, "machine_squareness": {"std": 0.0002}}


def draw(ax):
    return stack_figure(results.hole(name=ODD), "mm", ax)


def texts_of(path: Path) -> str:
    """All text of an SVG, one element a line."""
    tree = ET.parse(path)
    return "\n".join("".join(node.itertext()) for node in tree.iter("{http://www.w3.org/2000/svg}text"))


def plate(**head):
    pairs = [hole(60, 40, "seat / left"), hole(90, 40, "seat, left"), hole(10, 90, ODD)]
    return make_job(PINS, FENCE, errors=ERRORS, pairs=pairs, **head)


@pytest.mark.parametrize("kind", ["svg", "png"])
def test_the_same_picture_has_the_same_bytes(tmp_path, kind):
    """No date, no random names."""
    one, other = (save(draw, tmp_path / f"{name}.{kind}") for name in "ab")

    assert one.read_bytes() == other.read_bytes()
    assert b"<dc:date>" not in one.read_bytes()


def test_text_stays_text(tmp_path):
    """Names can be searched for in an SVG, odd ones too."""
    text = texts_of(save(draw, tmp_path / "stack.svg"))

    assert ODD in text
    assert "machine_squareness" in text.split("\n")


def test_settings_are_as_before(tmp_path):
    """What is set for one file is not set for others."""
    before = dict(mpl.rcParams)
    save(draw, tmp_path / "stack.svg")

    assert before == dict(mpl.rcParams)


def test_a_figure_of_the_caller_is_saved_too(tmp_path):
    """Beside a function that draws, a figure will do."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=(4, 3), layout="constrained")
    draw(figure.add_subplot())
    path = save(figure, tmp_path / "mine.png")

    assert b"\x89PNG" == path.read_bytes()[:4]


def test_a_name_in_another_script(tmp_path):
    """A font without its letters is no reason for a warning: they stand in the file."""
    path = save(lambda ax: stack_figure(results.hole(name="軸受"), "mm", ax), tmp_path / "stack.svg")

    assert "軸受" in texts_of(path)


def test_a_file_is_not_overwritten(tmp_path):
    """Unless that is asked for; nothing else is left in the folder."""
    path = tmp_path / "stack.svg"
    path.write_text("mine")

    with pytest.raises(FlipcheckError, match=r"stack\.svg is there already and is left as it is"):
        save(draw, path)
    assert "mine" == path.read_text()
    assert path == save(draw, path, force=True)
    assert path.read_text().startswith("<?xml")
    assert [path] == list(tmp_path.iterdir())


def test_a_drawing_that_fails_leaves_no_file(tmp_path):
    """Neither the file nor a part of it."""

    def fail(ax):
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        save(fail, tmp_path / "stack.svg")
    assert [] == list(tmp_path.iterdir())


def test_other_endings_are_refused(tmp_path):
    """SVG and PNG are what is written."""
    with pytest.raises(FlipcheckError, match=r"stack.pdf is neither .svg nor .png. Try: stack.svg"):
        save(draw, tmp_path / "stack.pdf")


def test_a_folder_that_is_not_there(tmp_path):
    """A single file is not written into a folder that would have to be made."""
    with pytest.raises(FlipcheckError, match=r"there is no folder .* to write stack\.svg into"):
        save(draw, tmp_path / "none" / "stack.svg")


def test_all_pictures_of_a_comparison(tmp_path):
    """Methods; both setups, the map and three pictures a pair of the recommended one; each under a name of its own."""
    job = plate()
    result = flipcheck.compare(job, trials=2000)
    written = write_all(job, result, tmp_path / "new" / "plots")

    assert [
        "methods.svg",
        "setup-a.svg",
        "setup-b.svg",
        "map.svg",
        *(f"pair-01-seat-left-{what}.svg" for what in ("stack", "cloud", "distance")),
        *(f"pair-02-seat-left-{what}.svg" for what in ("stack", "cloud", "distance")),
        *(f"pair-03-odd-a-1-2-frac-1-2-{what}.svg" for what in ("stack", "cloud", "distance")),
    ] == [path.name for path in written]
    assert set(written) == set((tmp_path / "new" / "plots").iterdir())
    assert f'by "{result.recommendation.method}"' in texts_of(written[1])
    assert ODD in texts_of(written[-1])


def test_all_pictures_of_one_method(tmp_path):
    """Nothing to compare; the method that was checked is the one drawn; a web has no cloud in x and y."""
    web = {"name": "floor", "kind": "web", "at": [50, 50], "depth_a": 5.0, "depth_b": 5.0, "min_web": 1.0}
    job = make_job(PINS, FENCE, errors=ERRORS | {"z_touch": {"std": 0.01}}, pairs=[web], units="in")
    written = write_all(job, flipcheck.check(job, "fence", trials=2000), tmp_path, kind="png")

    assert ["setup-a.png", "setup-b.png", "map.png", "pair-01-floor-stack.png", "pair-01-floor-distance.png"] == [
        path.name for path in written
    ]


def test_no_blank_goes_on(tmp_path):
    """Pictures that have nothing to show say so."""
    job = make_job(PINS | {"hole": {"diameter": 5.9}}, errors=ERRORS)
    written = write_all(job, flipcheck.check(job, trials=500), tmp_path)

    assert ["map.svg", "pair-01-seat-cloud.svg", "pair-01-seat-distance.svg"] == [
        path.name for path in written if "No blank goes on" in texts_of(path)
    ]


def test_all_or_none(tmp_path):
    """One file that is there already keeps all of them from being written."""
    job = plate()
    result = flipcheck.check(job, trials=500)
    (tmp_path / "map.svg").write_text("mine")

    with pytest.raises(FlipcheckError, match=r"map\.svg is there already"):
        write_all(job, result, tmp_path)
    assert ["map.svg"] == [path.name for path in tmp_path.iterdir()]
    assert 12 == len(write_all(job, result, tmp_path, force=True))
    assert (tmp_path / "map.svg").read_text() != "mine"


def test_a_folder_that_is_a_file(tmp_path):
    """It is said which."""
    (tmp_path / "plots").write_text("mine")
    job = plate()

    with pytest.raises(FlipcheckError, match=r"the folder .*plots cannot be made"):
        write_all(job, flipcheck.check(job, trials=500), tmp_path / "plots")


def test_names_are_safe_for_files():
    """Letters, digits and hyphens, not too many of them."""
    assert "bearing-seat-left" == safe("Bearing seat, left")
    assert "trager-4-5" == safe("Träger 4.5")
    assert "etc-passwd" == safe("../../etc/passwd")
    assert "pair" == safe("軸受")
    assert 40 == len(safe("a" * 80))


def test_no_window_is_reached_for():
    """Neither the module nor a picture loads what could open a window, and importing loads no matplotlib."""
    code = (
        "import sys, io, flipcheck; from flipcheck.show import figures, drawing\n"
        "assert 'matplotlib' not in sys.modules\n"
        "from flipcheck.show.ink import sheet; job = flipcheck.built_in()\n"
        "for draw in (lambda ax: drawing.setup_drawing(job, job.methods[0], 'A', ax),):\n"
        "    figure, ax = sheet(8, 5); draw(ax); figure.savefig(io.BytesIO())\n"
        "print('matplotlib.pyplot' in sys.modules)"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)

    assert "False\n" == run.stdout


def test_pictures_follow_the_seed_of_the_result(tmp_path):
    """The same result gives the same files; another seed another cloud."""
    job = plate()
    result = flipcheck.check(job, trials=500, rng=3)
    first, again, other = (
        write_all(job, one, tmp_path / name)[4]
        for one, name in ((result, "a"), (result, "b"), (replace(result, seed=4), "c"))
    )

    assert first.read_bytes() == again.read_bytes() != other.read_bytes()
