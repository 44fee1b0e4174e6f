"""What the page asks, read sceptically: values of the right kind and size, or a sentence why not."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from daemon.errors import BadInput
from daemon.fields import Fields
from daemon.firing.events import Line, Said, Saying
from daemon.firing.setup import DEFAULT_GLASS, DEFAULT_THICKNESS_MM, THICKEST_MM, THINNEST_MM
from daemon.firing.text_json import read_lines
from daemon.glass.materials import FAMILIES
from daemon.store.requests import KINDS
from daemon.toml import shown

LONGEST_ASKED_S = 86_400.0
"""The longest quiet that may be asked for; at most LONGEST_QUIET_S of it is granted [s]. [chosen: a day; more is a
slip]"""
LOWEST_CALL_C, HIGHEST_CALL_C = 20.0, 1300.0
"""A call may be asked for at temperatures between these [°C]. [chosen: from a room to the highest that a studio
kiln reaches]"""
_TAKEN_AWAY = ("plan_id", "offset_c")
"""Keys whose null takes away what a firing had; any other null is a key left out."""
_FACES = "1 on a shelf, 2 where air reaches both sides."


@dataclass(frozen=True)
class Start:
    """Open a firing now; the open one ends, if it is the one that was seen."""

    title: str = "Firing"
    piece_ids: tuple[int, ...] = ()
    plan_id: int | None = None
    glass: str = DEFAULT_GLASS
    thickness_mm: float = DEFAULT_THICKNESS_MM
    faces: int = 1
    offset_c: float | None = None
    saw_firing_id: int | None = None
    """The firing that ran when the form was shown; None where none did. Only that one is ended by a start."""
    token: str = ""
    """Of the form; a form that is sent twice starts one firing."""


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


@dataclass(frozen=True)
class Delete:
    """Delete a firing into the bin; ``is_test`` says that nothing in it is worth keeping though it was hot."""

    firing_id: int
    is_test: bool


@dataclass(frozen=True)
class TakeBack:
    """Take a firing out of the bin."""

    firing_id: int


@dataclass(frozen=True)
class KeyedIn:
    """Lines that were keyed in at the controller; they are the plan from here."""

    firing_id: int | None
    lines: tuple[Line, ...]


Ask = Start | End | Say | Name | Delete | TakeBack | KeyedIn


def read_request(kind: str, payload: Mapping[str, Any]) -> Ask:
    """Return what is asked.

    Raises
    ------
    BadInput
        Naming each key, its value and the remedy.
    """
    if kind not in KINDS:
        raise BadInput(kind, "is no request.", f"Known: {', '.join(KINDS)}.")
    said = {key: value for key, value in payload.items() if value is not None or key in _TAKEN_AWAY}
    row = Fields(said, f"{kind} ")
    read = {"start": _start, "end": _end, "name": _name, "delete": _delete, "take-back": _take_back,
            "keyed-in": _keyed_in}.get(kind, _say)
    found = read(row)
    row.left.clear()  # a newer page may say more than this program knows
    row.finish()
    return found


def _start(row: Fields) -> Ask:
    return Start(_title(row) or Start.title, _pieces(row) or (), _id(row, "plan_id"),
                 row.choice("glass", Start.glass, tuple(FAMILIES)),
                 row.number("thickness_mm", Start.thickness_mm, THINNEST_MM, THICKEST_MM, "mm"),
                 row.whole("faces", Start.faces, 1, 2, _FACES), _offset_c(row), _id(row, "saw_firing_id"),
                 row.text("token", "") if row.has("token") else "")


def _end(row: Fields) -> Ask:
    return End(_id(row, "firing_id"))


def _say(row: Fields) -> Ask:
    """Return something said of the open firing; its word is the kind itself where that is no ``said``."""
    word = row.text("what", "") if row.where == "said " else row.where.strip()
    known = {saying.value: saying for saying in Saying}
    if word not in known:
        row.problem("what", f"{shown(word)} is unknown.", f"Known: {', '.join(known)}.")
    what = known.get(word, Saying.ACKNOWLEDGE)
    temp_c = row.number("temp_c", None, LOWEST_CALL_C, HIGHEST_CALL_C, "°C")
    if what is Saying.CALL and temp_c is None:
        row.problem("temp_c", "missing.", "Say at which temperature.")
    return Say(_id(row, "firing_id"),
               Said(0.0, what, _id(row, "alert_no"), row.number("for_s", None, 1.0, LONGEST_ASKED_S, "s"), temp_c))


def _name(row: Fields) -> Ask:
    """Return the naming of a firing, with those columns only that were given."""
    firing_id = _which(row)
    leaves = {key for key in _TAKEN_AWAY if not row.has(key)}
    changes = {
        "title": _title(row), "glass": row.choice("glass", None, tuple(FAMILIES)),
        "thickness_mm": row.number("thickness_mm", None, THINNEST_MM, THICKEST_MM, "mm"),
        "faces": row.whole("faces", None, 1, 2, _FACES),
    }
    changes = {key: value for key, value in changes.items() if value is not None}
    changes |= {"plan_id": _id(row, "plan_id"), "offset_c": _offset_c(row)}
    return Name(firing_id, {key: value for key, value in changes.items() if key not in leaves}, _pieces(row))


def _delete(row: Fields) -> Ask:
    return Delete(_which(row), row.flag("is_test", False))


def _take_back(row: Fields) -> Ask:
    return TakeBack(_which(row))


def _which(row: Fields) -> int:
    """Return the firing that must be named; 0, with the problem noted, where it is not."""
    firing_id = _id(row, "firing_id")
    if firing_id is None:
        row.problem("firing_id", "missing.", "Say which firing.")
    return firing_id or 0


def _keyed_in(row: Fields) -> Ask:
    """Return the lines that were keyed in."""
    lines = read_lines(row.take("lines", list, [], "a list", "Write a list of rate, target and hold."))
    if not lines:
        row.problem("lines", "none can be read.", "Load the page again and use its button.")
    return KeyedIn(_id(row, "firing_id"), lines)


def _id(row: Fields, key: str) -> int | None:
    return row.whole(key, None, 1, 2**53 - 1, "Write a whole number above 0.")


def _offset_c(row: Fields) -> float | None:
    return row.number("offset_c", None, -100.0, 100.0, "°C")


def _title(row: Fields) -> str | None:
    """Return the title without blanks around it; None where it is left out."""
    return row.text("title", Start.title).strip() if row.has("title") else None


def _pieces(row: Fields) -> tuple[int, ...] | None:
    """Return the pieces' ids, each once; None where they are left out."""
    if not row.has("piece_ids"):
        return None
    ids = row.take("piece_ids", list, [], "a list", "Write a list of whole numbers.")
    if not all(type(item) is int and 0 < item < 2**53 for item in ids):
        row.problem("piece_ids", f"{shown(ids)} can't be used.", "Write a list of whole numbers.")
        return None
    return tuple(dict.fromkeys(ids))
