"""Every key of a job file as a table, made from the JSON schema of the records that read it."""

from __future__ import annotations

from typing import Any

from flipcheck.job.records import Job

Schema = dict[str, Any]

TYPES = {"number": "number", "string": "text", "boolean": "true or false", "null": "", "object": "table"}
#: Defaults that are not told as they stand in a file.
SAID = {"": "", "None": "", "()": "", "[]": "", "False": "false"}


def table() -> str:
    """The keys block by block, as Markdown: what each takes, what it may be, and what holds where it is not given."""
    schema = Job.model_json_schema()
    head = {key: field for key, field in schema["properties"].items() if "$defs" not in str(field)}
    blocks: list[tuple[str, Schema]] = [("the head", {**schema, "properties": head})]
    for key, field in schema["properties"].items():
        kinds = field.get("items", {}).get("discriminator", {}).get("mapping")
        if kinds:
            blocks += [(f"[[{key}]], {kind}", named(schema, place)) for kind, place in kinds.items()]
        elif key not in head:
            blocks.append((f"[{key}]", named(schema, next(iter(refs(field))))))
    spreads = sorted(name for name in schema["$defs"] if name.endswith("Table"))
    blocks += [(spread(name), schema["$defs"][name]) for name in spreads]
    return "\n\n".join(f"## {title}\n\n{rows(block)}" for title, block in blocks)


def named(schema: Schema, place: str) -> Schema:
    """The part of a schema that a reference stands for."""
    found: Schema = schema["$defs"][place.rsplit("/", 1)[1]]
    return found


def refs(field: Schema) -> list[str]:
    """What a field refers to."""
    return [part["$ref"] for part in (field, *field.get("anyOf", ())) if "$ref" in part]


def spread(name: str) -> str:
    """How a table of a spread is called."""
    return f"spread: {name.removesuffix('Table').lower()}"


def rows(block: Schema) -> str:
    """A row for each key of a block."""
    needed = block.get("required", ())
    lines = ["| key | takes | unless given |", "|---|---|---|"]
    for key, field in block["properties"].items():
        given = "must be given" if key in needed else SAID.get(str(field.get("default", "")), f"`{field['default']}`")
        lines.append(f"| `{key}` | {takes(field)} | {given} |")
    return "\n".join(lines)


def takes(field: Schema) -> str:
    """What may be given for a key, in words."""
    if "const" in field:
        return f"`{field['const']}`"
    if "enum" in field:
        return ", ".join(f"`{choice}`" for choice in field["enum"])
    if "$ref" in field:
        return spread(field["$ref"].rsplit("/", 1)[1])
    if "anyOf" in field:
        return " or ".join(dict.fromkeys(filter(None, map(takes, field["anyOf"]))))
    if field.get("type") == "array":
        entry = field.get("items") or field["prefixItems"][0]
        least, most = field.get("minItems", 0), field.get("maxItems", "any number")
        return f"list of {most if least == most else f'{least} to {most}'}, each {takes(entry)}"
    return TYPES[field["type"]]
