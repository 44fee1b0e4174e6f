"""The state file as its readers see it: its name, and its fields read with suspicion.

It may be missing, old or half there. ``state_file`` writes it.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from daemon.firing.events import Alert, Rank
from daemon.firing.text_json import read_text
from daemon.notify.trouble import Trouble, troubles_in

FILE_NAME = "present.json"
_LARGEST = 1e9
"""No figure of the file is larger. [derived: thirty years in seconds]"""
STALE_S = 15.0
"""Older than this, the state file does not tell the present [s]. [chosen: three times the time between two stored
readings]"""


@dataclass(frozen=True, slots=True)
class DaemonState:
    """What the daemon last said, and whether that is still the present."""

    said: Mapping[str, Any]
    written_utc: datetime
    age_s: float

    @property
    def stale(self) -> bool:
        """Return whether the daemon has been silent for too long, or writes from the future."""
        return self.age_s > STALE_S or self.age_s < -STALE_S

    @property
    def started_utc(self) -> datetime | None:
        """Return when the open firing began; None where none is open."""
        t_s = self.number("t_s")
        if t_s is None:
            return None
        return _moment(self.text("started_utc")) or self.written_utc - timedelta(seconds=t_s)

    @property
    def troubles(self) -> list[Trouble]:
        """Return what is wrong with Lehrling itself."""
        return troubles_in(self.said)

    def number(self, key: str) -> float | None:
        """Return a number of the file; None where there is none."""
        return number(self.said, key)

    def text(self, key: str) -> str:
        """Return a text of the file; empty where there is none."""
        value = self.said.get(key)
        return value if isinstance(value, str) else ""

    def table(self, key: str) -> Mapping[str, Any]:
        """Return a table of the file; empty where there is none."""
        value = self.said.get(key)
        return value if isinstance(value, Mapping) else {}

    def tables(self, key: str) -> list[Mapping[str, Any]]:
        """Return a list of tables of the file; empty where there is none."""
        value = self.said.get(key)
        return [row for row in value if isinstance(row, Mapping)] if isinstance(value, list) else []


def number(table: Mapping[str, Any], key: str) -> float | None:
    """Return ``table[key]`` where it is a number that a kiln or a clock could give, else None."""
    value = table.get(key)
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    return float(value) if abs(value) < _LARGEST else None


def alert_of(table: Mapping[str, Any]) -> Alert | None:
    """Return the alert that a table of the state file describes; None where it makes no sense."""
    no, since_s, raised_s = (number(table, key) for key in ("no", "since_s", "raised_s"))
    kind, text = table.get("kind"), table.get("text")
    if no is None or raised_s is None or not isinstance(kind, str) or not isinstance(text, Mapping):
        return None
    try:
        rank = Rank(str(table.get("rank")))
    except ValueError:
        return None
    under = table.get("under")
    step = number(table, "step")
    return Alert(
        no=int(no), kind=kind, rank=rank, since_s=raised_s if since_s is None else since_s, raised_s=raised_s,
        text=read_text(text), seen_s=number(table, "seen_s"),
        woke_s=number(table, "woke_s"), cleared_s=number(table, "cleared_s"),
        acknowledged_s=number(table, "acknowledged_s"), quiet_until_s=number(table, "quiet_until_s"),
        step=None if step is None else int(step),
        under=under if isinstance(under, str) else None,
    )


def _moment(text: str) -> datetime | None:
    try:
        found = datetime.fromisoformat(text)
    except ValueError:
        return None
    return found if found.tzinfo is not None else found.replace(tzinfo=UTC)


def read_daemon_state(run_dir: Path, now_utc: datetime) -> DaemonState | None:
    """Return what the daemon last said; None where there is no file that can be read."""
    try:
        said = json.loads((run_dir / FILE_NAME).read_text(encoding="utf-8"))
        written = _moment(said["written_utc"])
    except (OSError, ValueError, KeyError, TypeError):
        return None
    if written is None:
        return None
    return DaemonState(said, written, (now_utc - written).total_seconds())
