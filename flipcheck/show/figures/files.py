"""Pictures as files: the same bytes for the same picture."""

from __future__ import annotations

import re
import unicodedata
import warnings
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from flipcheck.decide.check import method_named
from flipcheck.decide.survey import survey
from flipcheck.errors import FlipcheckError
from flipcheck.files import reason, refuse_taken, write_whole
from flipcheck.show.drawing import drawing_size, setup_drawing
from flipcheck.show.figures.batch import batch_figure
from flipcheck.show.figures.cloud import CLOUD_SIZE, cloud_figure
from flipcheck.show.figures.distance import DISTANCE_SIZE, distance_figure
from flipcheck.show.figures.methods import methods_figure, methods_size
from flipcheck.show.figures.over_blank import map_figure, map_size
from flipcheck.show.figures.stack import stack_figure, stack_size
from flipcheck.show.figures.sweep import sweep_chance_figure, sweep_map_figure, sweep_p95_figure, sweep_size
from flipcheck.show.ink import sheet

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from flipcheck.decide.batch.batch import Batch
    from flipcheck.decide.results import PairResult, Result
    from flipcheck.decide.survey import Cloud
    from flipcheck.decide.sweep.results import Sweep
    from flipcheck.job.records import Job

    Draw = Callable[[Axes], Axes]
    #: Name, size in inches, and drawing.
    Picture = tuple[str, tuple[float, float], Draw]

#: What a picture of the given kind must leave out for its bytes to be the same each time.
_METADATA: dict[str, dict[str, str | None]] = {"svg": {"Date": None}, "png": {"Software": None}}
#: Dots to an inch of a PNG, and characters of a name that go into that of a file.
_DPI, _LONGEST = 200, 40


def save(
    picture: Figure | Draw, path: str | Path, *, force: bool = False, size: tuple[float, float] = (6.4, 4.4)
) -> Path:
    """Write a figure, or what a function draws on an axes of `size` inches, as SVG or PNG by the ending of `path`.

    Text stays text in an SVG. The file appears whole or not at all, and over another only with `force`.

    Raises
    ------
    FlipcheckError: if the ending is another, the file is there already, or it cannot be written.
    """
    path = Path(path)
    kind = path.suffix.lower().removeprefix(".")
    if kind not in _METADATA:
        raise FlipcheckError(f"{path.name} is neither .svg nor .png. Try: {path.stem}.svg")
    refuse_taken(path, force=force)
    if callable(picture):
        figure, ax = sheet(*size)
        picture(ax)
    else:
        figure = picture
    write_whole(path, lambda part: _print(figure, part, kind), force=force)
    return path


def _print(figure: Figure, path: Path, kind: str) -> None:
    import matplotlib as mpl

    with mpl.rc_context({"svg.fonttype": "none", "svg.hashsalt": "flipcheck"}), warnings.catch_warnings():
        # a name in another script is still in the SVG, to be shown by a font that has it
        warnings.filterwarnings("ignore", "Glyph")
        figure.savefig(path, format=kind, dpi=_DPI, metadata=_METADATA[kind], facecolor="white")


def write_all(
    job: Job,
    result: Result,
    folder: str | Path,
    kind: Literal["svg", "png"] = "svg",
    force: bool = False,
    batch: Batch | None = None,
) -> list[Path]:
    """Write all pictures of a result into a folder, which is made if need be; returns the files in order.

    Of several methods: the comparison, and everything else of the recommended one (the best, where none is). First of
    all a batch, if there is one.

    Raises
    ------
    FlipcheckError: if one of the files is there already (then none is written), or one cannot be written.
    """
    return _write(_pictures(job, result, batch), Path(folder), kind, force)


def write_sweep(
    sweep: Sweep, folder: str | Path, kind: Literal["svg", "png"] = "svg", force: bool = False
) -> list[Path]:
    """Write the pictures of a sweep, as `write_all` does those of a result."""
    return _write(sweep_pictures(sweep), Path(folder), kind, force)


def _write(found: Iterable[Picture], folder: Path, kind: str, force: bool) -> list[Path]:
    pictures = [(folder / f"{name}.{kind}", size, draw) for name, size, draw in found]
    for path, _, _ in pictures:
        if folder.is_dir():
            refuse_taken(path, force=force)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise FlipcheckError(f"the folder {folder} cannot be made: {reason(error)}") from None
    return [save(draw, path, force=force, size=size) for path, size, draw in pictures]


def _pictures(job: Job, result: Result, batch: Batch | None) -> Iterator[Picture]:
    """Name, size in inches and drawing of every picture."""
    if batch:
        yield "batch", (6.4, 3.6), lambda ax: batch_figure(batch, ax)
    if len(result.methods) > 1:
        yield "methods", methods_size(result), lambda ax: methods_figure(result, ax)
    name = result.recommendation.method if result.recommendation else result.methods[0].name
    fares = next(method for method in result.methods if method.name == name)
    method = method_named(job, name)
    size = drawing_size(job, method)
    yield "setup-a", size, lambda ax: setup_drawing(job, method, "A", ax)
    yield "setup-b", size, lambda ax: setup_drawing(job, method, "B", ax)
    seen = survey(job, name, rng=result.seed)
    yield "map", map_size(job, method), lambda ax: map_figure(seen.map, job, ax, method)
    for number, (pair, cloud) in enumerate(zip(fares.pairs, seen.clouds, strict=True), start=1):
        yield from _of_pair(f"pair-{number:02d}-{safe(pair.name)}", pair, cloud, result.units)


def _of_pair(stem: str, pair: PairResult, cloud: Cloud, units: str) -> Iterator[Picture]:
    yield f"{stem}-stack", stack_size(pair), lambda ax: stack_figure(pair, units, ax)
    if cloud.x is not None:
        yield f"{stem}-cloud", CLOUD_SIZE, lambda ax: cloud_figure(cloud, pair, units, ax)
    yield f"{stem}-distance", DISTANCE_SIZE, lambda ax: distance_figure(cloud, pair, units, ax)


def sweep_pictures(sweep: Sweep) -> Iterator[Picture]:
    """Name, size in inches and drawing of every picture of a sweep."""
    if len(sweep.varied) == 1:
        size = sweep_size(sweep)
        yield "sweep-chance", size, lambda ax: sweep_chance_figure(sweep, ax)
        yield "sweep-p95", size, lambda ax: sweep_p95_figure(sweep, ax)
        return
    for number, name in enumerate(sweep.methods, start=1):
        draw = partial(sweep_map_figure, sweep, name)
        yield f"sweep-{number:02d}-{safe(name, 'method')}", (6.8, 4.8), draw


def safe(name: str, otherwise: str = "pair") -> str:
    """A name as part of that of a file: small letters, digits and hyphens; empty where none of them is left."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:_LONGEST].rstrip("-") or otherwise
