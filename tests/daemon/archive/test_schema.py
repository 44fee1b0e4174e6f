"""The published schema is the one that is checked by, and the check knows every word that the schema uses."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest

from daemon.archive.schema import FIRING, HEAD, STUDIO, complaints, published

PUBLISHED = Path(__file__).parents[3] / "docs" / "archive-schema.json"
KNOWN = {"type", "properties", "required", "additionalProperties", "items", "enum", "minimum", "maximum", "pattern",
         "format"}


def parts(schema) -> Iterator[dict]:
    """Yield a schema and those within it."""
    yield schema
    for within in (*schema.get("properties", {}).values(), schema.get("items"), schema.get("additionalProperties")):
        if isinstance(within, dict):
            yield from parts(within)


def test_the_schema_in_the_documents_and_in_an_archive_is_the_one_in_use(archive):
    assert json.loads(PUBLISHED.read_text(encoding="utf-8")) == published()
    assert json.loads((archive / "schema.json").read_text(encoding="utf-8")) == published()


@pytest.mark.parametrize("schema", [HEAD, STUDIO, FIRING])
def test_no_word_of_the_schema_is_passed_over(schema):
    for one in parts(schema):
        assert one.keys() <= KNOWN
        kinds = one["type"] if isinstance(one["type"], list) else [one["type"]]
        assert ("properties" in one or "additionalProperties" in one) == ("object" in kinds)
        assert ("items" in one) == ("array" in kinds)


# By hand, from JSON Schema 2020-12, "Validation", 6.1 to 6.5: what each word asks.
@pytest.mark.parametrize(("value", "schema", "said"), [
    (True, {"type": "integer"}, ["the whole is True, not integer"]), (1, {"type": "integer"}, []),
    (1, {"type": "number"}, []), (float("inf"), {"type": "number"}, ["the whole is inf, not number"]),
    (None, {"type": ["string", "null"]}, []), ("", {"type": "null"}, ["the whole is '', not null"]),
    (3, {"type": "integer", "maximum": 2}, [" is 3, outside its limits"]),
    (2, {"type": "integer", "maximum": 2, "minimum": 2}, []),
    ("b", {"type": "string", "enum": ["a"]}, [" is 'b', none of a"]),
    ("ab\n", {"type": "string", "pattern": "^ab$"}, [" is 'ab\\n', which it can't be"]),
    ("xaby", {"type": "string", "pattern": "ab"}, []),
    ({"a": [1, "x"]}, {"type": "object", "properties": {"a": {"type": "array", "items": {"type": "integer"}}},
                       "additionalProperties": False}, ["a.2 is 'x', not integer"]),
    ({"b": 1}, {"type": "object", "properties": {}, "required": ["a"], "additionalProperties": False},
     ["a is missing", "b is unknown"]),
])
def test_the_check_asks_what_the_schema_says(value, schema, said):
    assert list(complaints(value, schema)) == said
