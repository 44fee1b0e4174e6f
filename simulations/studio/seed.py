"""A small invented studio for the demonstration: pieces, plans and past firings, all marked as invented.

The past firings are simulated and judged by the same decision as a live one, and kept by the same
functions. Nothing here is anybody's: names and notes are made up.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from functools import cache

import sqlite_utils

from daemon.doctor.compare import keep
from daemon.firing.plan.plan import parse_plan, write_plan
from daemon.firing.setup import Setup
from daemon.glass.materials import FAMILIES
from daemon.lifecycle.keep_whole import Judged, judge_whole, keep_whole
from daemon.sensor.comparison import compare
from daemon.sensor.reference import boiling_at, ice
from daemon.sensor.steady import Steady
from daemon.settings.config import Config, Probe
from daemon.store import kilns, notes, outcomes, pieces, plans
from daemon.store.database import transaction
from simulations.firing import read_faults, simulate
from simulations.random_plans import on_paper

KILN_NAME = "Bench kiln (invented)"
THICKNESS_MM = 6.0
"""All the studio's pieces are this thick [mm]. [chosen: two layers of 3 mm]"""
LIVE_PIECE = "Lamp shade panel"
LIVE_TITLE = "Lamp shade panel, full fuse"
REHEARSAL_TITLE = "Rehearsal: nothing is in the kiln"
INVENTED = "Invented for the demonstration."

FULL_FUSE = write_plan(on_paper(
    "Full fuse, two layers, 6 mm",
    "220/620, 50/670/30 squeeze, 250/800/10 top, free/516/60 anneal, 80/461, 150/406, free/40"))
REHEARSED = write_plan(on_paper(
    "Rehearsal: warm up and anneal", "500/620/5 top, free/516/60 anneal, 80/461, 150/406, free/40"))
"""Short, so that a rehearsal comes to its anneal soon."""
HOTTER = write_plan(on_paper(
    "Full fuse against haze, 810 °C",
    "150/620, 50/670/20 squeeze, 250/810/15 top, free/516/60 anneal, 80/461, 150/406, free/40"))
SLUMP = write_plan(on_paper(
    "Slump, 6 mm, shallow mould", "120/650/15 top, free/516/45 anneal, 80/461, 150/406, free/40",
    tell={1: "slump begins near the end of this climb"}))
"""Rates of common practice for 6 mm of the 90 class; the data sheet of the glass in hand comes first."""
PRIMER = write_plan(on_paper("Shelf primer, empty kiln", "free/540/10 top, free/40"))
"""As fast as the kiln goes, with no glass in it: the one firing that shows the most its elements can do."""


@dataclass(frozen=True, slots=True)
class PastFiring:
    """A firing the invented maker has behind them."""

    title: str
    piece: str
    """Its name in PIECES; empty where no glass was in the kiln."""
    plan: str
    days_ago: int
    at_utc: str
    seed: int
    faults: tuple[str, ...] = ()
    note: str = ""
    came_out: tuple[str, ...] = ()
    """How it came out, in the fixed words; empty where nobody has said so yet."""
    came_out_note: str = ""


PIECES = {
    "Tide-pool bowl": ("two layers of 3 mm, sea greens under clear", "Slumps into the shallow 28 cm mould."),
    "Rain tiles, set of six": ("two layers of 3 mm, greys, frit in between", "For the splashback; 10 × 10 cm."),
    "Lamp shade panel": ("two layers of 3 mm, amber streaks over white", "One of three; keep the edges even."),
    "Heron sketch": ("two layers of 3 mm, black powder drawing on white", "Waits for its drawing to dry."),
}
"""What is on the shelf: name to layers and note; all class 90, 6 mm."""
PAST = (
    PastFiring("Tide-pool bowl, full fuse", "Tide-pool bowl", FULL_FUSE, 12, "19:05", 41,
               note="Mixed the clear from two sheets. Edges round.",
               came_out=("as hoped", "clear"), came_out_note="No bubbles where the two greens meet."),
    PastFiring("Rain tiles, full fuse", "Rain tiles, set of six", FULL_FUSE, 8, "20:40", 42,
               ("cooling=2.5,12min@step5:ramp+60s",),
               "Had keyed in 200 for 80; got up and put it right. All six go to the polariser first.",
               came_out=("haze",), came_out_note="Faint, on two of six; those go in again, ten degrees hotter."),
    PastFiring("Rain tiles, fired again", "Rain tiles, set of six", HOTTER, 6, "19:30", 44,
               note="A skim of powder over the two hazy ones.", came_out=("clear",)),
    PastFiring("Tide-pool bowl, slump", "Tide-pool bowl", SLUMP, 4, "18:20", 43, ("start-late=10min",),
               "Down to the mould all round. Rim a little uneven on the door side."),
    PastFiring("Shelf primer dried", "", PRIMER, 15, "16:10", 45, note="Three coats. No glass in the kiln."),
)
"""What the invented maker has fired; how the last slump came out was not said yet, so that the question is seen."""


def seed_studio(
    db: sqlite_utils.Database, now_utc: datetime, past: Sequence[PastFiring] = PAST,
) -> dict[str, int]:
    """Fill an empty database with the invented studio and return the ids of its pieces by name.

    Parameters
    ----------
    db
        With today's schema and no piece in it.
    now_utc
        The past firings lie before this.
    past
        What has been fired, of the pieces in PIECES; firings alike but for title and day are simulated once.
    """
    first_utc = now_utc - timedelta(days=20)
    ids = {
        name: pieces.add_piece(
            db, name=name, glass="90", thickness_mm=THICKNESS_MM, layers=layers, note=f"{note} {INVENTED}",
            now_utc=first_utc,
        )
        for name, (layers, note) in PIECES.items()
    }
    for fired in past:
        _keep(db, fired, ids.get(fired.piece), now_utc)
    _compare(db, first_utc)
    return ids


def _compare(db: sqlite_utils.Database, then_utc: datetime) -> None:
    """Keep that the invented maker compared the thermocouple with ice and boiling water."""
    config = Config(kiln_name=KILN_NAME, probe=Probe("bench"))
    for reference, read_c in ((ice(), 0.6), (boiling_at(310.0), 99.5)):
        invented = replace(reference, said=f"{reference.said}; invented".removeprefix("; "))
        still = Steady(read_c, scatter_k=0.2, moved_k=0.1, number=60, span_s=60.0)
        keep(db, compare(invented, still), 23.0, config, then_utc)


def plan_id(db: sqlite_utils.Database, toml: str, now_utc: datetime) -> int:
    """Return the id of a plan of the studio, kept where it is new."""
    return plans.add_plan(db, toml, now_utc, "the demonstration's plan")


@cache
def _fire(plan_toml: str, faults: tuple[str, ...], seed: int) -> Judged:
    """Simulate a firing and judge it, reading by reading."""
    plan = parse_plan(plan_toml, "the demonstration's plan")
    return judge_whole(Setup(plan, FAMILIES["90"], THICKNESS_MM),
                       simulate(plan, faults=read_faults(faults, plan), seed=seed).samples)


def _keep(db: sqlite_utils.Database, past: PastFiring, piece_id: int | None, now_utc: datetime) -> None:
    """Keep a past firing as the service would have."""
    fired = _fire(past.plan, past.faults, past.seed)
    hour, minute = (int(figure) for figure in past.at_utc.split(":"))
    started_utc = (now_utc - timedelta(days=past.days_ago)).replace(hour=hour, minute=minute)
    ended_utc = started_utc + timedelta(seconds=fired.samples[-1].t_s)
    with transaction(db):
        kiln = kilns.kiln_id(db, KILN_NAME)
        firing_id = keep_whole(
            db, fired, started_utc, kiln_id=kiln, probe_id=kilns.probe_id(db, kiln, "bench", "K"), title=past.title,
            opened_by="maker", boot_id=f"invented-{past.seed}", plan_id=plan_id(db, past.plan, started_utc),
            glass="90", thickness_mm=THICKNESS_MM, piece_ids=[] if piece_id is None else [piece_id],
            invented=True)
        if past.note:
            notes.add_note(db, firing_id, f"{past.note} ({INVENTED})", ended_utc + timedelta(hours=2))
        if past.came_out:
            outcomes.add_outcome(db, firing_id=firing_id, piece_id=piece_id, words=past.came_out, place="",
                                 note=f"{past.came_out_note} ({INVENTED})", now_utc=ended_utc + timedelta(hours=3))
