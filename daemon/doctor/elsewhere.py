"""The copies that are kept elsewhere, as the doctor tells of them; no place is touched."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from daemon.doctor.finding import Finding, good, mend, note
from daemon.settings.elsewhere import Elsewhere
from daemon.store.safety import elsewhere
from daemon.store.safety.elsewhere import OLD, age_words

PART = "copy elsewhere"
_TAKE = "Then take one: lehrling copies make"


def copy_elsewhere(data: Path, places: Sequence[Elsewhere], utc: datetime) -> Finding:
    """Return how old the newest copy elsewhere is, and why it is no newer.

    Parameters
    ----------
    data
        The data folder.
    places
        As the settings name them.
    utc
        Wall time.
    """
    if not places:
        return note(PART, "None is kept. If this disk fails, the record and its copies go with it.",
                    "docs/install.md, “A copy elsewhere”, says how. Or download one from the kiln’s page.")
    known = elsewhere.known(data)
    troubles = [known[place.spelt] for place in places if place.spelt in known and known[place.spelt].trouble]
    why = " ".join(one.trouble for one in troubles)
    remedy = " ".join(dict.fromkeys(one.remedy for one in troubles))
    newest = elsewhere.newest(data, [place.spelt for place in places])
    if newest is None or newest.made is None:
        return mend(PART, f"There is none yet. {why}".strip(), remedy or "Leave the box on overnight. " + _TAKE)
    said = f"The newest was made {age_words(newest.made, utc)}. It is {newest.where}, and was read back."
    if utc - newest.made > OLD:
        return mend(PART, f"{said} {why}".strip(), f"{remedy} {_TAKE}".strip())
    return note(PART, f"{said} {why}", remedy) if troubles else good(PART, said)
