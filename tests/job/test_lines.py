from __future__ import annotations

import tomllib

import pytest

from flipcheck.job.lines import key_lines

TEXT = '''# a comment with [brackets] and "quotes"
title = "one # two"
blank.size = [1, 2, 3]  # dotted

[errors] # after a header
positioning = { std = 0.01, bias = "0.1 mm" }
"machine squareness".limit = 1
'quoted'.'twice' = "a \\" quote"

[[pairs]]
name = """many
lines ""quoted"" \\"""
in one"""
points = [
  [1, 2],   # first

  [3, 4], [5,
  6],
]
note = \'\'\'raw
text\'\'\'

[[ pairs ]]
name = "second"
when = 1979-05-27 07:32:00
[pairs.pin]
diameter = 6
[[pairs.holes]]
at = [1979-05-27 07:32:00, 2]
[[pairs.holes]]
at = []
yes = true
"\\u00b5" = 0.1
'''

LINES = [
    (("title",), 2),
    (("blank",), 3),
    (("blank", "size"), 3),
    (("blank", "size", 2), 3),
    (("errors",), 5),
    (("errors", "positioning"), 6),
    (("errors", "positioning", "bias"), 6),
    (("errors", "machine squareness", "limit"), 7),
    (("errors", "quoted", "twice"), 8),
    (("pairs",), 10),
    (("pairs", 0), 10),
    (("pairs", 0, "name"), 11),
    (("pairs", 0, "points"), 14),
    (("pairs", 0, "points", 0), 15),
    (("pairs", 0, "points", 1), 17),
    (("pairs", 0, "points", 2), 17),
    (("pairs", 0, "points", 2, 1), 18),
    (("pairs", 0, "note"), 20),
    (("pairs", 1), 23),
    (("pairs", 1, "when"), 25),
    (("pairs", 1, "pin", "diameter"), 27),
    (("pairs", 1, "holes", 0, "at", 1), 29),
    (("pairs", 1, "holes", 1), 30),
    (("pairs", 1, "holes", 1, "yes"), 32),
    (("pairs", 1, "holes", 1, "µ"), 33),
]


@pytest.mark.parametrize(("path", "line"), LINES)
@pytest.mark.parametrize("ending", ["\n", "\r\n"])
def test_lines_of_keys(path: tuple[str | int, ...], line: int, ending: str) -> None:
    """Every way to write a key in TOML is found on its line, with either line ending."""
    assert line == key_lines(TEXT.replace("\n", ending))[path]


def paths_of(value: object, path: tuple[str | int, ...] = ()) -> set[tuple[str | int, ...]]:
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    return {path} | {deeper for key, below in items for deeper in paths_of(below, (*path, key))}


def test_every_key_of_the_document_is_found() -> None:
    """The paths found are those of the document that the standard library reads, no more and no fewer."""
    assert paths_of(tomllib.loads(TEXT)) - {()} == set(key_lines(TEXT))


def test_what_cannot_be_followed_gives_the_lines_so_far() -> None:
    """Text that is not TOML, or nested too deep, ends the search without an error."""
    assert {("a",): 1, ("b",): 2} == key_lines("a = 1\nb = ")
    deep = "a = 1\nb = " + "[" * 5000 + "]" * 5000
    assert 1 == key_lines(deep)[("a",)]
