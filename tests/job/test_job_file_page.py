"""The page of the job file says what the records say: each key where it belongs, its quantity, choices and default."""

from __future__ import annotations

import re
from typing import Any, Literal, Union, get_args, get_origin

import pytest
from pydantic import BaseModel, ValidationError

from flipcheck.job import records
from flipcheck.job.spread_table import SpreadTable
from tests.job.test_pages import PAGES

PAGE = (PAGES / "job-file.md").read_text(encoding="utf-8")
SIDES = {"front", "back", "left", "right", "front-left", "front-right", "back-left", "back-right"}
#: What every pair or method has; said once for all of its kinds.
COMMON = {"name", "kind", "minutes", "zero_z"}


def parts() -> dict[str, str]:
    """The page cut at its headings and at the kinds of pair and method, by heading or kind."""
    cut = re.split(r"(?m)^(?:#+ (.+)$|\*\*(\w+)\*\*:)", PAGE)
    return {heading or kind: text for heading, kind, text in zip(cut[1::3], cut[2::3], cut[3::3], strict=True)}


def entries(text: str) -> dict[str, str]:
    """What a part says of each key: a row of a table, or a sentence that begins with the key and a colon."""
    found: dict[str, str] = {}
    for keys, meaning in re.findall(r"(?m)^\| (`\w+`(?:, `\w+`)*) \| (.*) \|$", text):
        found |= dict.fromkeys(re.findall(r"\w+", keys), meaning)
    prose = re.sub(r"(?ms)^```.*?^```$|^\|.*?$", "", text)
    found |= dict(re.findall(r"(?:^|\. )`(\w+)`: (.*?)(?=\. `\w+`:|\n\n|\Z)", prose, flags=re.M | re.S))
    return found


def inner(annotation: Any) -> list[Any]:
    """The types that a union or Annotated is made of."""
    if get_origin(annotation) is Union or type(annotation).__name__ in ("UnionType", "_AnnotatedAlias"):
        return [below for part in get_args(annotation) for below in inner(part)]
    return [annotation]


def models(annotation: Any) -> list[type[BaseModel]]:
    """The records that may stand under a key of the job."""
    every = [below for part in (annotation, *get_args(annotation)) for below in inner(part)]
    return list({one: None for one in every if isinstance(one, type) and issubclass(one, BaseModel)})


def documented() -> dict[str, tuple[type[BaseModel], set[str]]]:
    """Of each part of the page the record it is about, and the keys it should name."""
    found: dict[str, tuple[type[BaseModel], set[str]]] = {
        "The head": (records.Head, set(records.Head.model_fields)),
        "A spread": (SpreadTable, set(SpreadTable.model_fields)),
    }
    for key, field in records.Job.model_fields.items():
        for model in models(field.annotation):
            kind = model.model_fields.get("kind")
            title = kind.default if kind else next(part for part in parts() if f"\n[{key}]\n" in parts()[part])
            found[title] = (model, set(model.model_fields) - (COMMON if kind else set()))
    return found


DOCUMENTED = documented()


def test_every_record_is_looked_at():
    """The kinds of pair and of method, and the blocks of a job, are all found."""
    assert {"The head", "The blank", "The errors", "hole", "slot", "outline", "web"} <= set(DOCUMENTED)
    assert {"pins", "fence", "probe", "A spread"} <= set(DOCUMENTED)
    common = set(entries(parts()["Methods: how the blank finds its place again"]))
    assert COMMON == common
    assert COMMON >= set.intersection(*(set(model.model_fields) for model in models(records.Method)))


@pytest.mark.parametrize("title", DOCUMENTED)
def test_a_part_names_the_keys_of_its_record(title: str):
    """Every key of the record stands in its part of the page, and no other key does."""
    assert DOCUMENTED[title][1] == set(entries(parts()[title]))


def fields() -> list[tuple[str, str]]:
    return [(title, key) for title, (_, keys) in DOCUMENTED.items() for key in sorted(keys)]


@pytest.mark.parametrize(("title", "key"), [*fields(), *[("", key) for key in sorted(COMMON - {"name", "kind"})]])
def test_defaults_and_choices(title: str, key: str):
    """A default is told as such; a choice named is one, and only sides of the machine may go without saying."""
    title = title or "Methods: how the blank finds its place again"
    record = DOCUMENTED[title][0] if title in DOCUMENTED else records.PinsMethod
    field, said = record.model_fields[key], entries(parts()[title])[key]
    if elsewhere := re.match(r"as for (\w+)|for a (\w+): as above", said):
        said = entries(parts()[elsewhere[1] or elsewhere[2]])[key]
    choices = {c for one in inner(field.annotation) if get_origin(one) is Literal for c in get_args(one)}
    if choices:
        named = set(re.findall(r'`"([^"`]+)"`', said))
        assert named <= choices
        assert choices - named <= SIDES
    if field.is_required() or field.default in (None, ""):
        return
    told = {False: "false", (): "[]"}.get(field.default, f'"{field.default}"' if choices else str(field.default))
    assert re.search(rf"`?{re.escape(told)}`?(?: \(default\)| unless given)", said), said


@pytest.mark.parametrize("key", records.Errors.model_fields)
def test_quantities_of_errors(key: str):
    """The page says of each error whether it is a length, a slope or a ratio: that is what the record takes."""
    (row,) = re.findall(rf"(?m)^\| ([^|]*`{key}`[^|]*) \| ([^|]*) \|", parts()["The errors"])
    keys, quantities = re.findall(r"\w+", row[0]), row[1].split(", ")
    said = dict(zip(keys, quantities if len(quantities) > 1 else quantities * len(keys), strict=True))[key]

    assert takes(key, SIZES[said])
    assert said == next(quantity for quantity, size in SIZES.items() if takes(key, size))


#: What each quantity alone takes, but that a slope may be a percentage as well.
SIZES = {"length": "1 mm", "slope": "0.1 deg", "ratio": "1 %"}


def takes(key: str, size: str) -> bool:
    """Whether an error may be of a size with that unit, as a spread or as it stands."""
    for value in ({"std": size}, size):
        try:
            records.Errors.model_validate({key: value})
        except ValidationError:
            continue
        return True
    return False
