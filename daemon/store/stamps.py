"""Wall times as they stand in the file: RFC 3339 in UTC, to the millisecond."""

from __future__ import annotations

from datetime import UTC, datetime


def stamp(moment: datetime) -> str:
    """Return an aware moment as text; texts sort as their moments do."""
    return moment.astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def moment(text: str) -> datetime:
    """Return the moment that ``stamp`` wrote, aware, in UTC."""
    return datetime.fromisoformat(text).astimezone(UTC)
