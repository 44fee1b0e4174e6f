"""An invented year of firings, and a night with twelve alerts, for docs/sheet.py; all of it simulated."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from nights import PLAN, TWELVE, WOKEN_AT

from daemon.firing.plan.plan import write_plan
from daemon.store import outcomes
from daemon.store.database import FILE_NAME, create_database
from simulations.random_plans import on_paper
from simulations.studio.seed import PIECES, SLUMP, PastFiring, seed_studio

COUNT = 300
HAZE = "Rain tiles, set of six"
COMPARED = (298, 299, 300)
"""The last three of the year: one piece, fired three times because of haze."""
WORDS = {202: "haze", 206: "haze", 210: "haze", 214: "clear", 222: "haze", 226: "haze", 230: "clear", 242: "haze",
         246: "haze", 250: "clear", 298: "haze", 299: "haze", 300: "clear", 262: "haze", 266: "haze",
         270: "clear"}
KINDS = (
    PastFiring("full fuse", "", PLAN, 0, "", 11),
    PastFiring("full fuse, started late", "", PLAN, 0, "", 12, ("start-late=20min",)),
    PastFiring("slump", "", SLUMP, 0, "", 13),
    PastFiring("full fuse, second try", "", PLAN, 0, "", 14, ("cooling=2.5,12min@step3:ramp",)),
)
"""What an ordinary firing of the year is, but for its piece and its day."""
HAZY = tuple(
    write_plan(on_paper(f"Full fuse, {top} °C", f"{rate}/670/30 squeeze, {fast}/{top}/{hold} top, free/516/60 "
                        "anneal, 80/461, 150/406, free/40"))
    for rate, fast, top, hold in ((220, 110, 788, 25), (220, 110, 800, 10), (220, 250, 800, 10)))
AGAIN = {
    number: write_plan(on_paper(f"Full fuse again, {top} °C", f"150/670/20 squeeze, 250/{top}/{hold} top, "
                                "free/516/60 anneal, 80/461, 150/406, free/40"))
    for number, top, hold in ((206, 778, 10), (210, 786, 10), (214, 796, 15), (226, 774, 22), (230, 806, 12),
                              (246, 799, 8), (250, 810, 14), (266, 782, 12), (270, 808, 13))
}
"""The tiles fired again because of haze, by the firing's number."""
HOT = (280, 290)
"""Slumps among the last ten that went hot, by the firing's number."""
NOTES = ("White film along the ground edges. Washed once.", "A skim of powder over it; still a little haze.",
         "Straight through the haze range. Clear all over.")


@dataclass
class StillClock:
    """A clock that stands."""

    wall: datetime = WOKEN_AT
    speed: float = 1.0
    boot_id: str = "boot-a"

    def now_s(self) -> float:
        """Return seconds of a machine that has just been switched on."""
        return 1000.0

    def utc(self) -> datetime:
        """Return when the photograph is taken."""
        return self.wall

    def synchronised(self) -> bool:
        """Return that the clock is right."""
        return True

    def sleep_until(self, deadline_s: float) -> None:
        """Wait for nothing."""


def year(folder: Path) -> StillClock:
    """Fill a database with COUNT firings; return the clock to look at it by."""
    names = tuple(PIECES)
    ordinary = []
    for n in range(COUNT - len(HAZY)):
        kind, piece = KINDS[n % 7 % 4], names[n % 4]
        if n + 1 in HOT:
            kind = replace(kind, title="slump, hot", seed=kind.seed + n, faults=("hold-off=13@step1:hold",))
        if n + 1 in AGAIN:
            kind = PastFiring("full fuse again", "", AGAIN[n + 1], 0, "", 60 + n)
        ordinary.append(replace(kind, title=f"{piece}, {kind.title}", piece=piece, days_ago=COUNT + 10 - n,
                                at_utc=f"{17 + n % 5}:{n % 60:02d}"))
    hazy = [PastFiring(f"{HAZE}, full fuse", HAZE, plan, 9 - 3 * n, "18:40", 50 + n, note=note)
            for n, (plan, note) in enumerate(zip(HAZY, NOTES, strict=True))]
    db = create_database(folder / FILE_NAME)
    pieces = seed_studio(db, WOKEN_AT, (*ordinary, *hazy))
    for number, word in WORDS.items():
        outcomes.add_outcome(db, firing_id=number, piece_id=pieces[HAZE], words=[word], place="", note="",
                             now_utc=WOKEN_AT)
    db.close()
    return StillClock()


def twelve_alerts(folder: Path) -> StillClock:
    """Fill a database with one firing, in which almost everything goes wrong; return the clock to look at it by."""
    db = create_database(folder / FILE_NAME)
    seed_studio(db, WOKEN_AT, (PastFiring("Lamp shade panel, a bad night", "Lamp shade panel", PLAN, 1, "18:05", 7,
                                          TWELVE),))
    db.close()
    return StillClock()
