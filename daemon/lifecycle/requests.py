"""What the page asks, read sceptically: values of the right kind and size, or a sentence why not."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite
from typing import Any

from daemon.errors import BadInput
from daemon.firing.events import Said, Saying
from daemon.firing.setup import DEFAULT_GLASS, DEFAULT_THICKNESS_MM, THICKEST_MM, THINNEST_MM
from daemon.glass.materials import FAMILIES
from daemon.store.requests import KINDS
from daemon.toml import not_a_line, shown

LONGEST_ASKED_S = 86_400.0
"""The longest quiet that may be asked for; at most LONGEST_QUIET_S of it is granted [s]."""
LOWEST_CALL_C, HIGHEST_CALL_C = 20.0, 1300.0


@dataclass(frozen=True)
class Start:
    """Open a firing now; an open one ends."""

    title: str = "Firing"
    piece_ids: tuple[int, ...] = ()
    plan_id: int | None = None
    glass: str = DEFAULT_GLASS
    thickness_mm: float = DEFAULT_THICKNESS_MM
    faces: int = 1
    offset_c: float | None = None


@dataclass(frozen=True)
class End:
    """End the open firing."""

    firing_id: int | None


@dataclass(frozen=True)
class Say:
    """Something the maker says about the open firing; its second is filled in when it is taken."""

    firing_id: int | None
    said: Said


@dataclass(frozen=True)
class Name:
    """Name a firing, or say afterwards what was in it; ``changes`` are columns of the firing."""

    firing_id: int
    changes: Mapping[str, Any]
    piece_ids: tuple[int, ...] | None


Ask = Start | End | Say | Name


def read_request(kind: str, payload: Mapping[str, Any]) -> Ask:
    """Return what is asked.

    Raises
    ------
    BadInput
        Naming the key, its value and the remedy.
    """
    row = _Payload(kind, payload)
    if kind == "start":
        return Start(row.title() or Start.title, row.pieces() or (), row.whole("plan_id"), row.glass() or Start.glass,
                     row.thickness() or Start.thickness_mm, row.faces() or Start.faces,
                     row.number("offset_c", -100, 100))
    if kind == "end":
        return End(row.whole("firing_id"))
    if kind in ("acknowledge", "quiet", "said"):
        return Say(row.whole("firing_id"), row.said())
    if kind == "name":
        firing_id = row.whole("firing_id")
        if firing_id is None:
            raise BadInput("name firing_id", "missing.", "Say which firing.")
        return Name(firing_id, row.changes(), row.pieces())
    raise BadInput(kind, "is no request.", f"Known: {', '.join(KINDS)}.")


class _Payload:
    """Takes keys out of a payload; None is what was left out."""

    def __init__(self, kind: str, payload: Mapping[str, Any]) -> None:
        self.kind = kind
        self.payload = payload

    def refuse(self, key: str, value: Any, remedy: str) -> BadInput:
        return BadInput(f"{self.kind} {key}", f"{shown(value)} can't be used.", remedy)

    def whole(self, key: str) -> int | None:
        value = self.payload.get(key)
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, int) or not 0 < value < 2**53:
            raise self.refuse(key, value, "Write a whole number above 0.")
        return value

    def number(self, key: str, low: float, high: float) -> float | None:
        value = self.payload.get(key)
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, int | float) or not isfinite(value):
            raise self.refuse(key, value, "Write a number.")
        if not low <= value <= high:
            raise self.refuse(key, value, f"Write a number from {low:g} to {high:g}.")
        return float(value)

    def title(self) -> str | None:
        value = self.payload.get("title")
        if value is None:
            return None
        fault = not_a_line(value)
        if fault is not None or not value.strip():
            raise BadInput(f"{self.kind} title", fault or "is empty. Write something.")
        return str(value).strip()

    def glass(self) -> str | None:
        value = self.payload.get("glass")
        if value is None:
            return None
        if not isinstance(value, str) or value not in FAMILIES:
            raise self.refuse("glass", value, f"Known: {', '.join(FAMILIES)}.")
        return value

    def thickness(self) -> float | None:
        return self.number("thickness_mm", THINNEST_MM, THICKEST_MM)

    def faces(self) -> int | None:
        value = self.whole("faces")
        if value not in (None, 1, 2):
            raise self.refuse("faces", value, "1 on a shelf, 2 where air reaches both sides.")
        return value

    def pieces(self) -> tuple[int, ...] | None:
        value = self.payload.get("piece_ids")
        if value is None:
            return None
        if not isinstance(value, list) or not all(type(item) is int and item > 0 for item in value):
            raise self.refuse("piece_ids", value, "Write a list of whole numbers.")
        return tuple(dict.fromkeys(value))

    def said(self) -> Said:
        word = self.payload.get("what") if self.kind == "said" else self.kind
        try:
            what = Saying(str(word))
        except ValueError:
            known = ", ".join(saying.value for saying in Saying)
            raise self.refuse("what", word, f"Known: {known}.") from None
        temp_c = self.number("temp_c", LOWEST_CALL_C, HIGHEST_CALL_C)
        if what is Saying.CALL and temp_c is None:
            raise BadInput("said temp_c", "missing.", "Say at which temperature.")
        return Said(0.0, what, self.whole("alert_no"), self.number("for_s", 1.0, LONGEST_ASKED_S), temp_c)

    def changes(self) -> dict[str, Any]:
        found: dict[str, Any] = {
            "title": self.title(), "glass": self.glass(), "thickness_mm": self.thickness(), "faces": self.faces(),
        }
        found = {key: value for key, value in found.items() if value is not None}
        if "plan_id" in self.payload:
            found["plan_id"] = self.whole("plan_id")
        if "offset_c" in self.payload:
            found["offset_c"] = self.number("offset_c", -100, 100)
        return found
