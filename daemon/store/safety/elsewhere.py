"""What is known of the copies that are kept elsewhere: of each place the newest that was read back, and what fails.

The process that takes copies writes it; the page, the doctor and the watch read it.
"""

from __future__ import annotations

import json
import os
from collections.abc import Collection, Mapping
from dataclasses import asdict, dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path

from daemon.store.stamps import moment

FILE_NAME = "copies-elsewhere.json"
"""In the data folder."""
OLD = timedelta(days=8)
"""A newest copy elsewhere that is older is to be renewed. [chosen: a stick that is put in each weekend is in time]"""


@dataclass(frozen=True, slots=True)
class Known:
    """What is known of one place.

    Attributes
    ----------
    called
        What it is called in a sentence.
    copy
        File name of the newest copy that was taken there and read back; empty where there is none.
    made_utc
        When that copy was made, as a stamp; empty where there is none.
    trouble, remedy
        Why the last try failed, and what to do; empty where it went well.
    """

    called: str
    copy: str = ""
    made_utc: str = ""
    trouble: str = ""
    remedy: str = ""

    @property
    def where(self) -> str:
        """Return where its copies are, in a sentence: ``on the stick KILN``, ``in the folder /mnt/nas``."""
        return f"{'on' if self.called.startswith('the stick') else 'in'} {self.called}"

    @property
    def made(self) -> datetime | None:
        """Return when its newest copy was made; None where there is none."""
        return moment(self.made_utc) if self.made_utc else None


def known(data: Path) -> dict[str, Known]:
    """Return what is known of each place, by how the settings spell it; what makes no sense is left out."""
    try:
        said = json.loads((data / FILE_NAME).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    found = {}
    for spelt, row in said.items() if isinstance(said, Mapping) else ():
        try:
            one = Known(**row)
            if all(isinstance(value, str) for value in asdict(one).values()):
                moment(one.made_utc or "1970-01-01T00:00:00Z")  # else the page would stumble over it
                found[spelt] = one
        except (TypeError, ValueError):
            continue
    return found


def keep(data: Path, spelt: str, now: Known) -> None:
    """Keep what is known of a place; what it knew of an older copy stays where ``now`` knows of none.

    Raises
    ------
    OSError
        Where the disk takes no writing.
    """
    found = known(data)
    before = found.get(spelt)
    if before is not None and not now.copy:
        now = replace(now, copy=before.copy, made_utc=before.made_utc)
    part = data / f"{FILE_NAME}.part"
    part.write_text(json.dumps({key: asdict(one) for key, one in {**found, spelt: now}.items()}, ensure_ascii=False),
                    encoding="utf-8")
    os.replace(part, data / FILE_NAME)


def newest(data: Path, places: Collection[str]) -> Known | None:
    """Return the place, of those in the settings, with the newest copy; None where there is none yet."""
    found = [one for spelt, one in known(data).items() if spelt in places and one.made is not None]
    return max(found, key=lambda one: one.made_utc, default=None)


def age_words(made: datetime, utc: datetime) -> str:
    """Return how long ago a copy was made: ``today``, ``yesterday``, ``3 days ago``."""
    age = utc - made
    if age < timedelta(0):
        return "at a time that the clock has not reached"
    return "today" if age < timedelta(days=1) else "yesterday" if age < timedelta(days=2) else f"{age.days} days ago"
