"""A TOML file becomes a `Job`, or every problem in it is told at once."""

from __future__ import annotations

import re
import tomllib
from importlib import resources
from pathlib import Path as FilePath
from typing import TYPE_CHECKING, Any

from flipcheck.errors import JobError, Problem
from flipcheck.job.document import Document
from flipcheck.job.findings import nearest
from flipcheck.job.guards import long_key, not_a_file
from flipcheck.job.lines import key_lines
from flipcheck.job.quantities import shown

if TYPE_CHECKING:
    import os

    from flipcheck.job.records import Job

#: Far beyond any job; keeps a wrong file from filling the memory.
LARGEST_FILE = 1_000_000

_SYNTAX_HINTS = {
    "Cannot declare": "double brackets, such as [[pairs]], where a block may stand several times",
    "Cannot overwrite": "each key only once in its block, and double brackets for all [[pairs]] and [[methods]]",
    "Invalid value": "text in quotes, decimals with a point, true and false in small letters",
    "Unescaped '\\'": "/ in place of \\, or single quotes",
    "Expected '='": "key = value, one to a line",
    "Expected newline": "one value to a key: a decimal with a point, a value with its unit in quotes",
    "Illegal character '\\n'": "a quote at both ends of the text, on one line",
    "Unclosed inline table": "} at its end, on the same line",
    "Unclosed array": "] at its end",
    "Invalid statement": "key = value, or a block such as [blank]",
    "Found invalid character '\\r'": "save the file with the line ends of this system",
}


def read_job(path: str | os.PathLike[str]) -> Job:
    """The job in a file.

    Raises
    ------
    JobError: the file cannot be read, or something in it must be mended.
    """
    return parse_job(text_of(path), str(path))


def text_of(path: str | os.PathLike[str], what: str = "job file", ending: str = ".toml") -> str:
    """The text of a job file, or of another file that a person writes.

    Raises
    ------
    JobError: the file cannot be read, or is not text.
    """
    name, where = str(path), f"the {what}"
    try:
        if other := not_a_file(path):
            hint = "save what comes out of it as a file first"
            raise _refused("file-unreadable", name, f"a {what} that may be read", other, hint, where=where)
        with FilePath(path).open("rb") as file:
            data = file.read(LARGEST_FILE + 1)
    except FileNotFoundError:
        came = "no file of this name"
        raise _refused("file-missing", name, f"a {what}", came, _beside(name, ending), where=where) from None
    except (OSError, ValueError) as error:
        came = getattr(error, "strerror", None) or str(error)
        raise _refused("file-unreadable", name, f"a {what} that may be read", came.lower(), where=where) from None
    if len(data) > LARGEST_FILE:
        raise _too_large(name, what)
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        hint = "save the file as UTF-8 in the editor"
        raise _refused("not-utf8", name, "text in UTF-8", "bytes that are not", hint, line, where) from None
    return text


def _beside(name: str, ending: str) -> str:
    """A file of this kind in the same folder whose name is nearly the same."""
    path = FilePath(name)
    try:
        close = nearest(path.name, [found.name for found in path.parent.glob(f"*{ending}")])
    except (OSError, ValueError):
        close = ""
    return str(path.with_name(close)) if close else ""


def parse_job(text: str, file: str | None = None) -> Job:
    """The job in a TOML text; `file` is the name to give in messages.

    Raises
    ------
    JobError: with everything that must be mended, in the order of the text.
    """
    if len(text) > LARGEST_FILE:
        raise _too_large(file)
    text = text.removeprefix("\ufeff")
    document = Document(_tables(text, file))
    job = document.job()
    if job is not None:
        return job
    raise JobError(document.problems(key_lines(text)), file)


def built_in(name: str = "carrier") -> Job:
    """A job that ships with flipcheck: "carrier" (metal, mm) or "panel" (wood, inches).

    Raises
    ------
    JobError: no-such-example.
    """
    return parse_job(built_in_text(name), f"{name}.toml")


def built_in_text(name: str = "carrier") -> str:
    """The text of a job that ships with flipcheck; errors as for `built_in`."""
    shipped = {item.name.removesuffix(".toml"): item for item in _examples().iterdir() if item.name.endswith(".toml")}
    if name not in shipped:
        needed = " or ".join(f'"{known}"' for known in sorted(shipped))
        raise _refused("no-such-example", None, needed, shown(name), nearest(name, shipped))
    return shipped[name].read_text(encoding="utf-8")


def _examples() -> Any:
    return resources.files("flipcheck") / "examples"


def _refused(
    code: str,
    file: str | None,
    needed: str,
    came: str = "",
    hint: str = "",
    line: int | None = None,
    where: str = "the job file",
) -> JobError:
    return JobError([Problem(code, where, needed, came, hint, line)], file)


def _too_large(file: str | None, what: str = "job file") -> JobError:
    needed = f"a {what} below {LARGEST_FILE} bytes"
    return _refused("file-too-large", file, needed, "a larger one", where=f"the {what}")


def _tables(text: str, file: str | None) -> dict[str, Any]:
    """The tables of a TOML text."""
    if line := long_key(text):
        raise _refused("too-deep", file, "keys of one or two words with a point between them", "very many", line=line)
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise _refused("too-deep", file, "lists and tables only a few levels deep", "a deeper nesting") from None
    except ValueError as error:  # TOMLDecodeError, or a whole number too long for Python
        message = str(error)
        found = re.search(r" \(at line (\d+), column \d+\)| \(at end of document\)", message)
        line = int(found[1]) if found and found[1] else text.count("\n") + 1 if found else None
        came = message[: found.start()] if found else message
        hint = next((hint for start, hint in _SYNTAX_HINTS.items() if came.startswith(start)), "")
        raise _refused(
            "toml-syntax", file, "a TOML file", f"something else ({came[:1].lower()}{came[1:200]})", hint, line
        ) from None
