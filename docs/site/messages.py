"""What flipcheck says of each example on the page of errors, found by reading it as a job or as readings."""

from __future__ import annotations

import re
from dataclasses import replace

from flipcheck.errors import JobError
from flipcheck.job.reader import parse_job
from flipcheck.job.readings.file import parse_readings
from flipcheck.show.to_mend import to_mend

#: An example, and the language that it is in.
EXAMPLE = re.compile(r"(?ms)^```(toml|csv)\n(.*?)^```$\n")
#: Blocks of a job that is right, for those that an example does not show.
BASE = {
    "head": 'flip = "left-right"',
    "blank": "[blank]\nsize = [180, 110, 12]",
    "errors": "[errors]\npositioning = { std = 0.01 }",
    "between": "",
    "pairs": '[[pairs]]\nname = "seat"\nkind = "hole"\nat = [60, 55]\nallowed = 0.15',
    "methods": '[[methods]]\nname = "pins"\nkind = "pins"\npins = [[90, 8], [90, 102]]\n'
    "pin = { diameter = 6 }\nhole = { diameter = 6.05 }",
}


def completed(lines: str) -> str:
    """A whole job around the lines of an example."""
    head, *blocks = re.split(r"(?m)^(?=\[)", lines)
    text = head if "flip" in head else f"{BASE['head']}\n{head}"
    for block in ("blank", "errors", "between", "pairs", "methods"):
        shown = [part for part in blocks if part.lstrip("[").startswith(block)]
        text += "\n" + ("\n".join(shown) or BASE[block]) + "\n"
    return text


def with_messages(page: str) -> str:
    """The page with what comes of each example below it."""
    return EXAMPLE.sub(lambda found: f"{found[0]}\n```text\n{message(found[2], found[1])}\n```\n", page)


def message(example: str, language: str) -> str:
    """What is to be mended in an example, without the lines of a file that nobody has.

    Raises
    ------
    ValueError: if there is nothing.
    """
    try:
        if language == "toml":
            parse_job(completed(example))
        else:
            parse_readings(example, parse_job(completed("")))
    except JobError as error:
        _, told = to_mend(JobError([replace(problem, line=None) for problem in error.problems])).split("\n\n", 1)
        return told
    raise ValueError(f"an example of an error that is none:\n{example}")
