"""What the doctor says of one part of the box."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Any


class State(StrEnum):
    """How a part is."""

    GOOD = "good"
    """In order."""
    NOTE = "note"
    """Not known, or worth knowing; nothing has to be done before the next firing."""
    MEND = "mend"
    """Something is to be done before anybody relies on it."""


@dataclass(frozen=True, slots=True)
class Finding:
    """One line of the doctor.

    Attributes
    ----------
    part
        What was looked at, in a word or two.
    state
        How it is.
    said
        What was found, in a sentence.
    do
        What to do about it; empty where nothing is to be done.
    """

    part: str
    state: State
    said: str
    do: str = ""

    def as_json(self) -> dict[str, Any]:
        """Return it as ``lehrling doctor --json`` prints it."""
        return {"part": self.part, "state": self.state.value, "said": self.said, "do": self.do or None}


def good(part: str, said: str) -> Finding:
    """Return a finding of a part that is in order."""
    return Finding(part, State.GOOD, said)


def note(part: str, said: str, do: str = "") -> Finding:
    """Return a finding that is worth knowing."""
    return Finding(part, State.NOTE, said, do)


def mend(part: str, said: str, do: str) -> Finding:
    """Return a finding that asks for an act."""
    return Finding(part, State.MEND, said, do)


def found_in(said: Any) -> list[Finding]:
    """Return the findings of a kept result; rows that make no sense are left out."""
    rows = said.get("findings") if isinstance(said, dict) else None
    found = []
    for row in rows if isinstance(rows, list) else ():
        if not isinstance(row, dict) or not isinstance(row.get("part"), str) or not isinstance(row.get("said"), str):
            continue
        state = next((one for one in State if one.value == row.get("state")), State.NOTE)
        found.append(Finding(row["part"], state, row["said"], row["do"] if isinstance(row.get("do"), str) else ""))
    return found
