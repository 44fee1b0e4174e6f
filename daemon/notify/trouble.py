"""What is wrong with Lehrling itself: of which part, and in a sentence; how the state file holds it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from enum import StrEnum
from typing import Any, NamedTuple


class Ailing(StrEnum):
    """A part of Lehrling that can be in trouble, as the state file names it."""

    RECORD = "record"
    """The database can't be written."""
    PROBE = "probe"
    """There is none, so nothing is watched."""
    JUDGING = "judging"
    """The firing is not judged."""
    DELIVERY = "delivery"
    """Messages do not get through."""
    UPKEEP = "upkeep"
    """Backups and the check of the database; also a part that this version does not know."""
    COPIES = "copies"
    """No copy was taken elsewhere for long."""
    SETTINGS = "settings"
    """The owner's file can't be used, or not all of it."""
    SOUNDER = "sounder"
    """Sounder and lamp at the kiln can't be switched."""


class Trouble(NamedTuple):
    """One thing that is wrong."""

    ailing: Ailing
    text: str
    """A sentence for the page and the daily word."""

    def as_json(self) -> dict[str, str]:
        """Return it as the state file holds it."""
        return {"ailing": self.ailing.value, "text": self.text}


def troubles_in(state: Mapping[str, Any]) -> list[Trouble]:
    """Return the troubles that a state file tells of; entries that make no sense are left out."""
    rows = state.get("trouble")
    return list(_read(rows)) if isinstance(rows, list) else []


def _read(rows: Iterable[Any]) -> Iterable[Trouble]:
    for row in rows:
        text = row.get("text") if isinstance(row, Mapping) else None
        if isinstance(text, str):
            name = row.get("ailing")
            yield Trouble(next((one for one in Ailing if one.value == name), Ailing.UPKEEP), text)
