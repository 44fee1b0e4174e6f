"""An alert's words in pieces as plain values, for the file and the state: written here, and read with suspicion."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from daemon.firing.events import IfNotKeyed, Line, Text

_WORDS = ("head", "caution", "unit", "key_unit")
_MOST_LINES = 50
"""More lines to key in than this are none of ours. [chosen: no recovery has as many]"""


def pieces_json(text: Text) -> dict[str, Any]:
    """Return all of a text but what it means by itself: its pieces, and the same in the other unit."""
    return {
        **{name: getattr(text, name) for name in _WORDS}, "acts": list(text.acts),
        "lines": [list(line) for line in text.lines], "lines_after": text.lines_after,
        "is_for_later": text.is_for_later, "before_s": text.before_s,
        "if_not_keyed": text.if_not_keyed.value, "keyed_from_c": text.keyed_from_c,
        "other": None if text.other is None else text_json(text.other),
    }


def text_json(text: Text) -> dict[str, Any]:
    """Return all of a text."""
    return {"what": text.what, "meaning": text.meaning, "do": text.do, "time_left_s": text.time_left_s,
            **pieces_json(text)}


def text_of(bare: Text, found: Mapping[str, Any]) -> Text:
    """Return ``bare`` with the pieces of a table; what makes no sense there is left out."""
    head, caution, unit, key_unit = (value if isinstance(value := found.get(name), str) else "" for name in _WORDS)
    rows, other = found.get("lines"), found.get("other")
    acts = _acts(found.get("acts"))
    lines = read_lines(rows) if isinstance(rows, list) else ()
    return replace(
        bare, head=head, caution=caution, unit=unit, key_unit=key_unit, before_s=_number(found.get("before_s")),
        acts=acts, lines=lines, lines_after=_lines_after(found, acts) if lines else None,
        is_for_later=found.get("is_for_later") is True, if_not_keyed=_if_not_keyed(found.get("if_not_keyed")),
        keyed_from_c=_number(found.get("keyed_from_c")),
        other=None if not isinstance(other, Mapping) else read_text(other))


def read_text(found: Mapping[str, Any]) -> Text:
    """Return the text of a table; what is missing is empty."""
    what, meaning, do = (str(found.get(name, "")) for name in ("what", "meaning", "do"))
    return text_of(Text(what, meaning, do, _number(found.get("time_left_s"))), found)


def _acts(value: Any) -> tuple[str, ...]:
    """Return the acts of a table; those that are no words are left out."""
    return tuple(act for act in value if isinstance(act, str)) if isinstance(value, list) else ()


def _lines_after(found: Mapping[str, Any], acts: Sequence[str]) -> int | None:
    """Return which of ``acts`` the lines follow; None where none is.

    Versions up to 2026-11-29 did not store it: there, and where it makes no sense, it is the act with a colon at its
    end, by which those versions set the lines.
    """
    stored = found.get("lines_after")
    if isinstance(stored, int) and not isinstance(stored, bool) and 0 <= stored < len(acts):
        return stored
    return next((number for number, act in enumerate(acts) if act.endswith(":")), None)


def read_lines(rows: list[Any]) -> tuple[Line, ...]:
    """Return the lines of a list of rate, target and hold; none where one of them makes no sense."""
    found: list[Line] = []
    for row in rows[:_MOST_LINES]:
        if not isinstance(row, list) or len(row) != 3:
            return ()
        rate, to_c, hold_s = (_number(value) for value in row)
        if to_c is None or hold_s is None or (rate is None and row[0] is not None):
            return ()
        found.append(Line(rate, to_c, hold_s))
    return tuple(found)


def _if_not_keyed(value: Any) -> IfNotKeyed:
    """Return what a value says to who can't key the lines in; nothing where it is none of the known ones."""
    return next((known for known in IfNotKeyed if known == value), IfNotKeyed.NOTHING)


def _number(value: Any) -> float | None:
    """Return a value where it is a number of a kiln or a clock, else None."""
    if isinstance(value, bool) or not isinstance(value, int | float) or not abs(value) < 1e9:
        return None
    return float(value)
