"""The JSON files of an archive as JSON Schema 2020-12, and a check of a value against such a schema.

The schema goes into each archive as ``schema.json``, so that any validator can check its files. The check here knows
the words of JSON Schema that the schema uses, and no others. [source: JSON Schema 2020-12, "Core" and "Validation"]
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from datetime import datetime
from math import isfinite
from typing import Any

from daemon.firing.events import Saying
from daemon.store.chain import source_file
from daemon.store.outcomes import WORDS
from daemon.store.readings import FAULT_CODES

FORMAT = "lehrling archive"
VERSION = 2
"""Of the archive's format. [chosen: the second; it has the file that a firing was taken in from, and of each outcome
the piece as the chain names it]"""
KNOWN_VERSIONS = (1, VERSION)
"""Versions that are taken in. [chosen: all so far]"""
Schema = dict[str, Any]

_MOST = 2**31 - 1
"""No whole number is greater, or a further below 0. [chosen: four bytes; as seconds, 68 years]"""
_MOST_NUMBER = 1e9
"""Nor is any other number. [chosen: as seconds, 31 years]"""
_YEARS = (1970, 2200)
"""First and last year that a date can have. [chosen: a clock that is not set begins in 1970]"""
_INT: Schema = {"type": "integer", "minimum": -_MOST, "maximum": _MOST}
_NUMBER: Schema = {"type": "number", "minimum": -_MOST_NUMBER, "maximum": _MOST_NUMBER}
_TEXT: Schema = {"type": "string"}
_UTC: Schema = {"type": "string", "format": "date-time",
                "pattern": r"^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d{1,6})?Z$"}
_DAY: Schema = {"type": "string", "format": "date", "pattern": r"^\d{4}-\d\d-\d\d$"}
_HASH: Schema = {"type": "string", "pattern": "^[0-9a-f]{64}$"}
_FLAG: Schema = {"type": "integer", "enum": [0, 1]}
_RANK: Schema = {"type": "string", "enum": ["wake", "look", "log"]}


def _or_null(schema: Schema) -> Schema:
    more = {"enum": [*schema["enum"], None]} if "enum" in schema else {}
    return {**schema, "type": [schema["type"], "null"], **more}


def _object(**properties: Schema) -> Schema:
    return {"type": "object", "properties": properties, "required": list(properties), "additionalProperties": False}


def _may_lack(schema: Schema, *names: str) -> Schema:
    """Return the schema of an object that archives of version 1 have without ``names``."""
    return {**schema, "required": [name for name in schema["required"] if name not in names]}


def _list(items: Schema) -> Schema:
    return {"type": "array", "items": items}


def _one_of(*words: str) -> Schema:
    return {"type": "string", "enum": list(words)}


_FACTS = _object(
    title=_TEXT, opened_by=_one_of("maker", "climb"), started_utc=_UTC, start_boot_id=_TEXT, start_clock_s=_NUMBER,
    speed=_NUMBER, glass=_TEXT, thickness_mm=_NUMBER, faces={"type": "integer", "enum": [1, 2]},
    offset_c=_or_null(_NUMBER), ended_s=_INT, ended_utc=_UTC, ended_by=_one_of("maker", "cold", "next"),
    highest_128=_or_null(_INT), alert_base=_INT, invented=_FLAG, plan_sha256=_or_null(_HASH), probe=_TEXT,
    thermocouple_type=_TEXT)
_ALERT = _object(
    no=_INT, kind=_TEXT, rank=_RANK, since_s=_NUMBER, raised_s=_NUMBER, woke_s=_or_null(_NUMBER),
    cleared_s=_or_null(_NUMBER), acknowledged_s=_or_null(_NUMBER), step=_or_null(_INT), under=_or_null(_TEXT),
    named=_TEXT, what=_TEXT, meaning=_TEXT, advice=_TEXT, time_left_s=_or_null(_NUMBER), pieces=_TEXT)
_PHOTOGRAPH = {"moment": _one_of("before", "during", "after"), "mark": _HASH, "width": _INT, "height": _INT,
               "caption": _TEXT, "wall_utc": _UTC}

FIRING = _may_lack(_object(
    number=_INT, kiln=_INT, plan=_or_null(_INT), pieces=_list(_INT), firing=_FACTS,
    parts=_list(_object(part_index=_INT, step=_INT, part=_one_of("ramp", "hold"), start_s=_NUMBER,
                        end_s=_or_null(_NUMBER), rate_c_per_h=_or_null(_NUMBER), mean_c=_or_null(_NUMBER))),
    alert=_list(_ALERT),
    told=_list(_object(alert_no=_INT, t_s=_NUMBER, wall_utc=_UTC, change=_TEXT, kind=_TEXT, rank=_RANK, what=_TEXT)),
    said=_list(_object(t_s=_INT, what=_one_of(*(one.value for one in Saying)), alert_no=_or_null(_INT),
                       for_s=_or_null(_NUMBER), temp_c=_or_null(_NUMBER))),
    note=_list(_object(wall_utc=_UTC, text=_TEXT)),
    judgement=_list(_object(wall_utc=_UTC, version=_TEXT, told=_TEXT)),
    links=_list(_object(kind=_TEXT, ref={"type": "integer", "minimum": 0}, own=_HASH, head=_HASH)),
    mark=_or_null({"type": "string", "pattern": "^[0-9A-Z]{5}( [0-9A-Z]{5}){3}$"}),
    gap=_list(_object(from_s=_INT, to_s=_INT, reason=_TEXT)),
    clock_mark=_list(_object(t_s=_INT, wall_utc=_UTC, boot_id=_TEXT, clock_s=_NUMBER, synchronised=_FLAG)),
    milestone=_list(_object(t_s=_NUMBER, name=_TEXT, text=_TEXT, step=_or_null(_INT), temp_c=_or_null(_NUMBER))),
    outcome=_list(_may_lack(_object(
        piece=_or_null(_INT), piece_made_utc=_or_null(_UTC), words=_list(_one_of(*(word.value for word in WORDS))),
        place=_TEXT, note=_TEXT, wall_utc=_UTC), "piece_made_utc")),
    photograph=_list(_object(piece=_or_null(_INT), **_PHOTOGRAPH)),
    meter_reading=_list(_object(kwh=_NUMBER, wall_utc=_UTC)),
    source=_or_null(_object(name=_TEXT, bytes={"type": "integer", "minimum": 0, "maximum": source_file.MOST_BYTES},
                            kept_utc=_UTC, sha256=_HASH))), "source")
"""``firings/NUMBER/firing.json``: what is kept of one firing beside its readings."""

STUDIO = _object(
    kilns=_list(_object(
        kiln=_INT, name=_TEXT,
        part_change=_list(_object(part_change=_INT, part=_one_of("elements", "thermocouple"),
                                  day=_DAY, note=_TEXT, wall_utc=_UTC,
                                  removed_utc=_or_null(_UTC))),
        calibration=_list(_object(
            part_change=_or_null(_INT), thermocouple_type=_TEXT,
            tolerance_class={"type": ["integer", "null"], "enum": [1, 2, None]},
            method=_one_of("ice", "boiling", "hold"), said=_TEXT, reference_c=_NUMBER, reading_c=_NUMBER,
            cold_junction_c=_or_null(_NUMBER), readings=_INT, plus_minus_k=_NUMBER, reference_k=_NUMBER,
            noise_k=_NUMBER, steadiness_k=_NUMBER, step_k=_NUMBER, wall_utc=_UTC, removed_utc=_or_null(_UTC))))),
    plans=_list(_object(plan=_INT, title=_TEXT, version=_INT, toml=_TEXT, created_utc=_UTC,
                        retired_utc=_or_null(_UTC), only_for=_or_null(_INT))),
    pieces=_list(_object(
        piece=_INT, name=_TEXT, glass=_TEXT, thickness_mm=_NUMBER, layers=_TEXT, note=_TEXT, created_utc=_UTC,
        thinnest_mm=_or_null(_NUMBER), separator=_TEXT, drying_from_utc=_or_null(_UTC), dry_by_utc=_or_null(_UTC),
        colour=_one_of("", "high-fire", "low-fire"), photograph=_list(_object(**_PHOTOGRAPH)))))
"""``studio.json``: kilns, plans and pieces, each with the number it had in the record that was exported."""

HEAD = _object(
    format=_one_of(FORMAT), version={"type": "integer", "enum": [*KNOWN_VERSIONS]}, made_utc=_UTC, lehrling=_TEXT,
    files={"type": "object", "additionalProperties": _object(bytes={"type": "integer", "minimum": 0},
                                                             sha256=_HASH)})
"""``archive.json``: what the archive is, and size and SHA-256 of each other file."""

READINGS_COLUMNS = ("seconds", "steps", "below", "above", "fault_code", "celsius", "fault")
"""Columns of ``firings/NUMBER/readings.csv``; the first five are what the chain hashes."""


def published() -> Schema:
    """Return the schema of all three files, as it is published."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": f"The JSON files of a {FORMAT}, version {VERSION}",
        "description": "archive.json is a head, studio.json a studio, each firings/NUMBER/firing.json a firing. "
                       "readings.csv has the columns " + ", ".join(READINGS_COLUMNS) + "; a fault_code is "
                       + ", ".join(f"{code} for {word}" for word, code in FAULT_CODES.items()) + ".",
        "anyOf": [{"$ref": f"#/$defs/{name}"} for name in ("head", "studio", "firing")],
        "$defs": {"head": HEAD, "studio": STUDIO, "firing": FIRING},
    }


def complaints(value: Any, schema: Mapping[str, Any], at: str = "") -> Iterator[str]:
    """Yield what in ``value`` is not as ``schema`` asks, each with its place, such as ``note.2.text``."""
    kinds = schema.get("type", "object")
    kinds = [kinds] if isinstance(kinds, str) else kinds
    if not any(_IS[kind](value) for kind in kinds):
        yield f"{at or 'the whole'} is {_shown(value)}, not {' or '.join(kinds)}"
    elif "enum" in schema and value not in schema["enum"]:
        yield f"{at} is {_shown(value)}, none of {', '.join(map(str, schema['enum']))}"
    elif isinstance(value, dict):
        yield from _of_object(value, schema, at)
    elif isinstance(value, list):
        for number, entry in enumerate(value, start=1):
            yield from complaints(entry, schema["items"], f"{at}.{number}" if at else str(number))
    elif isinstance(value, str):
        yield from _of_text(value, schema, at)
    elif value is not None and not schema.get("minimum", value) <= value <= schema.get("maximum", value):
        yield f"{at} is {_shown(value)}, outside its limits"


def _of_object(value: dict[str, Any], schema: Mapping[str, Any], at: str) -> Iterator[str]:
    properties, more = schema.get("properties", {}), schema["additionalProperties"]
    for name in schema.get("required", ()):
        if name not in value:
            yield f"{at + '.' if at else ''}{name} is missing"
    for name, entry in value.items():
        place = f"{at + '.' if at else ''}{_shown(name)[1:-1]}"
        if name in properties:
            yield from complaints(entry, properties[name], place)
        elif more is False:
            yield f"{place} is unknown"
        else:
            yield from complaints(entry, more, place)


def _of_text(value: str, schema: Mapping[str, Any], at: str) -> Iterator[str]:
    try:
        value.encode()
        if schema.get("format") in ("date-time", "date"):
            moment = datetime.fromisoformat(value)
            if not _YEARS[0] <= moment.year <= _YEARS[1]:
                raise ValueError
        if not re.search(re.sub(r"\$$", r"\\Z", schema.get("pattern", "")), value):
            raise ValueError
    except ValueError:
        yield f"{at} is {_shown(value)}, which it can't be"


_IS = {
    "object": lambda value: isinstance(value, dict), "array": lambda value: isinstance(value, list),
    "string": lambda value: isinstance(value, str), "null": lambda value: value is None,
    "integer": lambda value: isinstance(value, int) and not isinstance(value, bool),
    "number": lambda value: isinstance(value, int | float) and not isinstance(value, bool) and isfinite(value),
}


def _shown(value: object) -> str:
    """Return a value as it is shown in a sentence: short, and free of what a terminal would act on."""
    text = ascii(value)
    return text if len(text) <= 40 else f"{text[:36]} …{text[-1]}"
