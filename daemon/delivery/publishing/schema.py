"""The published messages as JSON Schema 2020-12: the state, and under ``$defs`` the event."""

from __future__ import annotations

from typing import Any, get_args

from daemon.firing.events import Change, Rank

Schema = dict[str, Any]


def _object(means: str, **properties: Schema) -> Schema:
    return {"type": "object", "description": means, "properties": properties, "required": list(properties),
            "additionalProperties": False}


def _of(kind: str, means: str, **more: Any) -> Schema:
    return {"type": kind, "description": means, **more}


def _or_null(schema: Schema) -> Schema:
    return {**schema, "type": [schema["type"], "null"]}


def _utc(means: str) -> Schema:
    return _of("string", f"{means} RFC 3339, UTC.", format="date-time",
               pattern=r"^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z$")


_RANK = _of("string", "wake: somebody must get up. look: look in the morning. log: noted.",
            enum=[rank.value for rank in Rank])
_KIND = _of("string", "Its kind, by name; docs/words.md has them all.")
_WHAT = _of("string", "What happened, in a short sentence, in the owner's unit.")
_NUMBER = _of("integer", "Its number within the firing, from 1.", minimum=1)
_PART = {"step": _of("integer", "Step of the plan, from 1.", minimum=1),
         "part": _of("string", "Whether the step climbs or falls (ramp), or holds.", enum=["ramp", "hold"])}
_ALERT = _object(
    "An alert whose cause goes on.", alert=_NUMBER, kind=_KIND, rank=_RANK, what=_WHAT,
    since_utc=_or_null(_utc("When the trouble began, as well as the readings tell.")),
    raised_utc=_or_null(_utc("When it was told first.")),
    answered=_of("boolean", "Whether somebody said that they are up."))
_EVENT = _object(
    "One step of an alert's life, under TOPIC/event.",
    number=_of("integer", "Grows with each step. The same number and at_utc again is the same step.", minimum=1),
    at_utc=_utc("When it happened; after an outage it is published later."),
    kiln=_of("string", "What the owner calls the kiln."), firing=_of("integer", "The firing's number."),
    alert=_NUMBER, change=_of("string", "What became of the alert.", enum=list(get_args(Change))),
    kind=_KIND, rank=_RANK, what=_WHAT)
_STATE = _object(
    "The present state of a kiln, retained under TOPIC/state. What is not known is null.",
    kiln=_of("string", "What the owner calls the kiln."),
    watching=_of("boolean", "Whether the kiln's daemon is heard. If not, nothing else is known."),
    written_utc=_or_null(_utc("When the daemon last wrote its state.")),
    temperature_c=_or_null(_of("number", "What the thermocouple reads [°C].")),
    rate_c_per_h=_or_null(_of("number", "Rate of the temperature [°C/h]; below 0 it falls.")),
    planned_c=_or_null(_of("number", "What the plan has now [°C].")),
    firing_open=_or_null(_of("boolean", "Whether a firing is open.")),
    firing_started_utc=_or_null(_utc("When it began.")),
    part=_or_null(_object("The part of the plan that the kiln is in.", **_PART,
                          since_utc=_or_null(_utc("When it began.")))),
    next_part=_or_null(_object("The next part.", **_PART, at_utc=_or_null(_utc("When it is expected.")))),
    opens_at_utc=_or_null(_utc("Forecast: when it is probably cool enough to open. Read the kiln's own display.")),
    opens_at_margin_s=_or_null(_of("number", "So much earlier or later it may be [s].", minimum=0)),
    get_up=_or_null(_of("boolean", "Whether an alert asks somebody to get up, and nobody made it quiet.")),
    alerts=_or_null(_of("array", "The alerts of the open firing whose cause goes on.", items=_ALERT)),
    troubles_standing=_or_null(_of("integer", "How many things are wrong with Lehrling itself.", minimum=0)),
)


def published() -> Schema:
    """Return the schema of the state; that of an event stands in it under ``$defs``."""
    return {"$schema": "https://json-schema.org/draft/2020-12/schema",
            "title": "State of a kiln, as Lehrling publishes it over MQTT", **_STATE, "$defs": {"event": _EVENT}}
