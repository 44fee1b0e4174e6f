"""Trouble with the broker in a small file of the run folder, for the page; it goes when the trouble is over."""

from __future__ import annotations

import json
from contextlib import suppress
from datetime import datetime, timedelta
from pathlib import Path
from typing import NamedTuple

from daemon.store.stamps import moment, stamp

FILE_NAME = "mqtt.trouble.json"
TOLD_AFTER = timedelta(hours=1)
"""A line that is cut is told after so long; what the broker refuses, at once. [chosen: a broker that restarts, or a
router by night, needs no act]"""
LONGEST = 200
"""Characters of what is wrong, at most. [chosen: a sentence]"""


class Trouble(NamedTuple):
    """What keeps the kiln from being published."""

    since_utc: datetime
    text: str
    refused: bool
    """Whether the broker answers, and refuses."""

    def is_told(self, now_utc: datetime) -> bool:
        """Return whether the owner is told of it."""
        return self.refused or now_utc - self.since_utc >= TOLD_AFTER


def write(run_dir: Path, trouble: Trouble | None) -> None:
    """Write trouble, or take the file away where there is none; a full disk keeps nobody from publishing."""
    path = run_dir / FILE_NAME
    with suppress(OSError):
        if trouble is None:
            path.unlink(missing_ok=True)
            return
        part = path.with_name(f"{path.name}.part")
        part.write_text(json.dumps({"since_utc": stamp(trouble.since_utc), "text": trouble.text[:LONGEST],
                                    "refused": trouble.refused}), encoding="utf-8")
        part.replace(path)


def read(run_dir: Path) -> Trouble | None:
    """Return what trouble was written; None where none was, or it makes no sense."""
    try:
        said = json.loads((run_dir / FILE_NAME).read_text(encoding="utf-8"))
        return Trouble(moment(said["since_utc"]), str(said["text"])[:LONGEST], said["refused"] is True)
    except (OSError, ValueError, KeyError, TypeError):
        return None
