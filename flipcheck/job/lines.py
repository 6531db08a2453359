"""On which line of a TOML text each key stands; the reader of the standard library does not say."""

from __future__ import annotations

import bisect
import contextlib
import re
import tomllib
from collections import Counter

_BLANK = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_SPACE = re.compile(r"[ \t]*")
_STRING = re.compile(
    r'"""(?:[^\\]|\\.)*?"{3,5}'
    r"|'''.*?'{3,5}"
    r'|"(?:[^"\\\n]|\\.)*"'
    r"|'[^'\n]*'",
    re.DOTALL,
)
_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_SCALAR = re.compile(r"[^,\]}#\n]+")

#: No key of a job stands deeper; what does gets the line of what it stands in.
DEEPEST = 12

Path = tuple[str | int, ...]


def key_lines(text: str) -> dict[Path, int]:
    """The line, counted from 1, of every key path and array item of a valid TOML text.

    The n-th table of an array of tables has the number n - 1 in its path, as has the n-th item of an array. Where the
    text cannot be followed (nested too deep), the lines found so far are given.
    """
    scanner = _Scanner(text)
    with contextlib.suppress(_LostError, RecursionError):
        scanner.document()
    return scanner.lines


class _LostError(Exception):
    """The scanner does not know what stands here."""


class _Scanner:
    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.starts = [0, *(match.end() for match in re.finditer("\n", text))]
        self.lines: dict[Path, int] = {}
        self.counts: Counter[Path] = Counter()

    def document(self) -> None:
        table: Path = ()
        self.skip(_BLANK)
        while self.at < len(self.text):
            table = self.header() if self.next() == "[" else self.pair(table)
            self.skip(_BLANK)

    def header(self) -> Path:
        """``[a.b]`` or ``[[a.b]]``; gives the path of the table that it opens."""
        array = self.text.startswith("[[", self.at)
        here = self.at
        self.at += 2 if array else 1
        *parents, last = self.keys()
        self.at += 2 if array else 1
        path: Path = ()
        for key in parents:
            path = self.newest((*path, key))
        path = (*path, last)
        self.mark(path, here)
        if array:
            self.counts[path] += 1
        path = self.newest(path)
        self.mark(path, here)
        return path

    def newest(self, path: Path) -> Path:
        """The last table so far, where `path` is an array of tables."""
        return (*path, self.counts[path] - 1) if path in self.counts else path

    def pair(self, table: Path) -> Path:
        """``a.b = value``; gives back the table it stands in."""
        here = self.at
        path = table
        for key in self.keys():
            path = (*path, key)
            self.mark(path, here)
        self.expect("=")
        self.skip(_SPACE)
        self.value(path)
        return table

    def keys(self) -> list[str]:
        found = []
        while True:
            self.skip(_SPACE)
            if self.next() in "\"'":
                found.append(str(tomllib.loads(f"key = {self.take(_STRING)}")["key"]))
            else:
                found.append(self.take(_BARE_KEY))
            self.skip(_SPACE)
            if self.next() != ".":
                return found
            self.at += 1

    def value(self, path: Path) -> None:
        first = self.next()
        if first == "[":
            self.items(path)
        elif first == "{":
            self.at += 1
            self.skip(_BLANK)
            while self.next() != "}":
                self.pair(path)
                self.comma("}")
            self.at += 1
        else:
            self.take(_STRING if first in "\"'" else _SCALAR)

    def items(self, path: Path) -> None:
        self.at += 1
        self.skip(_BLANK)
        number = 0
        while self.next() != "]":
            self.mark((*path, number), self.at)
            self.value((*path, number))
            self.comma("]")
            number += 1
        self.at += 1

    def comma(self, end: str) -> None:
        self.skip(_BLANK)
        if self.next() != end:
            self.expect(",")
            self.skip(_BLANK)

    def next(self) -> str:
        if self.at >= len(self.text):
            raise _LostError
        return self.text[self.at]

    def expect(self, sign: str) -> None:
        if self.next() != sign:
            raise _LostError
        self.at += 1

    def skip(self, pattern: re.Pattern[str]) -> None:
        match = pattern.match(self.text, self.at)
        self.at = match.end() if match else self.at

    def take(self, pattern: re.Pattern[str]) -> str:
        match = pattern.match(self.text, self.at)
        if match is None:
            raise _LostError
        self.at = match.end()
        return match.group()

    def mark(self, path: Path, at: int) -> None:
        if len(path) <= DEEPEST:
            self.lines.setdefault(path, bisect.bisect_right(self.starts, at))
