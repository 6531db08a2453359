"""What commands take: options and arguments that several of them share, and how many trials each will do."""

from __future__ import annotations

from typing import Annotated, Any

import typer

MOST_TRIALS = 10**10
#: The same as flipcheck.decide.limits.limits.TRIALS; and the most that `limits` takes.
LIMITS_TRIALS = 16_384
#: The most parts of a batch: the blocks of such a batch take minutes.
MOST_PARTS = 10_000
MOST_KEPT = 500_000
#: The same as flipcheck.decide.first_article.correct.TRIALS.
CORRECT_TRIALS = 65_536
#: The same as flipcheck.decide.sweep.sweep.TRIALS.
SWEEP_TRIALS = 16_384

JobFile = Annotated[str | None, typer.Argument(metavar="JOB", help="Job file; the built-in example unless given.")]

OneMethod = Annotated[
    str | None, typer.Option("--method", metavar="NAME", help="Name of the method; the job's first unless given.")
]
SomeMethods = Annotated[
    list[str] | None,
    typer.Option("--method", metavar="NAME", help="Only by this method; give the option once for each."),
]


def _trials(text: str) -> int | str:
    """A number of trials, or auto."""
    return text if text == "auto" else _number(text, MOST_TRIALS, "a whole number or auto")


def _counted_trials(text: str) -> int:
    """A number of trials, however many."""
    return _number(text, MOST_TRIALS, "a whole number")


def _kept_trials(text: str) -> int:
    """A number of trials that are kept."""
    return _number(text, MOST_KEPT, "a whole number")


def _number(text: str, most: int, needed: str) -> int:
    try:
        number = int(text)
    except ValueError:
        raise typer.BadParameter(f"{needed} is needed, not {text!r}") from None
    if not 1 <= number <= most:
        raise typer.BadParameter(f"{number} is not in the range 1 to {most}")
    return number


Trials = Annotated[
    Any,
    typer.Option(
        "--trials",
        metavar="N",
        parser=_trials,
        help="How many parts to simulate; auto: until the numbers stand still in the digits printed.",
    ),
]
CorrectTrials = Annotated[
    Any,
    typer.Option("--trials", metavar="N", parser=_counted_trials, help="How many parts to simulate."),
]
KeptTrials = Annotated[
    Any,
    typer.Option(
        "--trials",
        metavar="N",
        parser=_kept_trials,
        help=f"How many parts to simulate, rounded up to whole blocks of 16384; {MOST_KEPT} at most.",
    ),
]
PointTrials = Annotated[
    Any,
    typer.Option("--trials", metavar="N", parser=_counted_trials, help="How many parts to simulate at each point."),
]
Seed = Annotated[int, typer.Option("--seed", metavar="N", min=0, help="Same job, trials and seed: same result.")]
Plain = Annotated[
    bool, typer.Option("--plain", help="Ordinary Monte Carlo: all errors drawn at random, parts counted one by one.")
]
AsJson = Annotated[bool, typer.Option("--json", help="Write the result as JSON.")]
Plots = Annotated[
    str | None, typer.Option("--plots", metavar="DIR", help="Draw pictures of the result into this folder, as SVG.")
]
Png = Annotated[bool, typer.Option("--png", help="Draw the pictures as PNG.")]
Parts = Annotated[
    int | None,
    typer.Option(
        "--parts",
        metavar="N",
        min=1,
        max=MOST_PARTS,
        help="Will all of a batch of N line up? The parts share the machine; --trials then counts batches.",
    ),
]
Coupons = Annotated[
    int,
    typer.Option(
        "--coupons",
        metavar="K",
        min=0,
        max=MOST_PARTS,
        help="With --parts: cut and measure K parts first, and correct the batch once by their mean.",
    ),
]
Force = Annotated[bool, typer.Option("--force", help="Write over files that are there already.")]
Quiet = Annotated[bool, typer.Option("--quiet", help="No notes and no progress on stderr.")]
