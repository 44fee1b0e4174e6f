"""How long the computer was off, known once its clock is set: what was stored as "at least" is then corrected."""

from __future__ import annotations

from collections.abc import Sequence

import sqlite_utils

from daemon.firing.durations import duration
from daemon.store import found_parts
from daemon.store.found_parts import ClockMark, Gap

OFF_UNKNOWN = "the computer was off and its clock is not set: at least this long, perhaps longer"
_WORTH_S = 60.0
"""Times that are wrong by less need no word [s]. [chosen: they are shown to the minute]"""


def correct(db: sqlite_utils.Database, firing_id: int, mark: ClockMark, speed: float) -> None:
    """Say of a gap of unknown length how long it was, by a mark of a clock that is set.

    Parameters
    ----------
    db
        An open database.
    firing_id
        The firing.
    mark
        The first mark of a clock that is set after the gap.
    speed
        Firing seconds a wall second.
    """
    found = found_parts.gaps(db, firing_id)
    for gap in corrected(found, found_parts.clock_marks(db, firing_id), mark, speed):
        found_parts.name_gap(db, firing_id, gap)


def corrected(gaps: Sequence[Gap], marks: Sequence[ClockMark], mark: ClockMark, speed: float) -> list[Gap]:
    """Return the gap whose length is known now, with its new reason, in a list; an empty one where none is.

    The clock was set before the gap and is set now, so the wall time between tells; the seconds of the firing that
    were counted are taken off. Of two gaps between two such marks only the sum would be known.
    """
    unknown = [gap for gap in gaps if gap.reason == OFF_UNKNOWN and gap.to_s <= mark.t_s]
    before = [one for one in marks if one.synchronised and unknown and one.t_s <= unknown[-1].from_s]
    if not before or (len(unknown) > 1 and unknown[-2].to_s > before[-1].t_s):
        return []
    gap, known = unknown[-1], before[-1]
    counted_s = (gap.from_s - known.t_s) + (mark.t_s - gap.to_s)
    off_s = (mark.wall_utc - known.wall_utc).total_seconds() * speed - counted_s
    late_s = off_s - (gap.to_s - gap.from_s)
    if late_s < -_WORTH_S:
        return []  # the clock was set back meanwhile: nothing is known
    reason = f"the computer was off for {duration(off_s)}, by its clock, which was set later"
    if late_s > _WORTH_S:
        reason += f". All times after it are {duration(late_s)} too early"
    return [Gap(gap.from_s, gap.to_s, reason)]
