"""What the kiln will do with a plan, in a process of its own: ``python -m web.plans.foresee_process``.

The page must answer others meanwhile; learning the kiln from a dozen firings takes some seconds on a small machine.
Nothing is written.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Mapping, Sequence
from datetime import datetime, time
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import sqlite_utils

from daemon.errors import BadInput
from daemon.firing.advice.plan_check import doubt_lines
from daemon.firing.plan.plan import Plan, parse_plan, to_unit
from daemon.firing.plan.schedule import ASSUMED_ROOM_C
from daemon.firing.setup import DEFAULT_THICKNESS_MM, Setup
from daemon.firing.units import Units
from daemon.glass.advice import TARGET_MPA
from daemon.glass.exposure import HAZE_C
from daemon.glass.materials import FAMILIES
from daemon.kiln.haze_record import sentence, tonight
from daemon.kiln.planning.beside import (
    Tariff,
    brief,
    energy_line,
    glass_rows,
    missing,
    not_changed,
    rows_beside,
    shown,
    times_of,
)
from daemon.kiln.planning.energy_ahead import read_over_foreseen
from daemon.kiln.planning.followable import Followable, followable
from daemon.kiln.planning.followable_words import followable_lines, followable_toml
from daemon.kiln.planning.judged_changes import change_lines
from daemon.kiln.planning.latest_start import Done, DoneBy, latest_lines, new_plan_lines
from daemon.kiln.planning.what_if import Changes, Kiln, by_plan, columns, fitting, latest_of_new
from daemon.kiln.told import learned, sentences
from daemon.kiln.told import rows as told_rows
from daemon.store.finding.figures import haze_by_glass
from daemon.store.finding.refires import judged
from daemon.wall_clock import machine_zone
from web.request.child_process import ChildProcess

LONGEST_S = 60.0
"""A forecast that takes longer is ended [s]. [chosen: nobody waits longer for a page]"""
_PROCESS = ChildProcess("web.plans.foresee_process", LONGEST_S)


def foreseen_today(arguments: Sequence[str]) -> Mapping[str, Any] | None:
    """Return what ``main`` prints for these arguments; None where another one is made just now, or it failed."""
    return _PROCESS.run(arguments)


def main(arguments: list[str] | None = None) -> int:
    """Print the forecast as JSON; ``{}`` where the kiln has not fired by a plan yet."""
    from daemon.kiln.learn import learn
    from daemon.lifecycle.kiln_from_store import past_firings
    from daemon.store import firings, plans
    from daemon.store.database import open_database
    from daemon.store.wear.past_energy import past_energy

    args = _arguments(arguments)
    db = open_database(args.database, readonly=True)
    stored = plans.plan(db, args.plan) if args.plan is not None else None
    plan = stored.parsed() if stored is not None else parse_plan(args.toml, "the plan") if args.toml else None
    past = past_firings(db, args.kiln, args.zone)
    model = learn(past)
    if plan is None or model is None:
        sys.stdout.write("{}")
        return 0
    setup = Setup(plan, FAMILIES[args.glass], args.thickness_mm, args.faces, unit=args.reads, is_empty=args.empty)
    energy = past_energy(db, args.kiln, args.power_kw)
    kiln = Kiln(model, ASSUMED_ROOM_C, ASSUMED_ROOM_C,
                energy and energy._replace(times=read_over_foreseen(past, model)),
                firings.current(db, args.kiln) is not None)
    said = _said(plan, setup, kiln, args)
    said["haze"] = "" if args.empty else _haze(db, args, said, args.reads)
    json.dump(said, sys.stdout, allow_nan=False)
    return 0


def _arguments(arguments: list[str] | None) -> argparse.Namespace:
    parser = argparse.ArgumentParser()
    parser.add_argument("database", type=Path)
    parser.add_argument("kiln", type=int)
    which = parser.add_mutually_exclusive_group(required=True)
    which.add_argument("--plan", type=int)
    which.add_argument("--toml")
    parser.add_argument("--glass", choices=tuple(FAMILIES), default="90")
    parser.add_argument("--thickness-mm", type=float, default=DEFAULT_THICKNESS_MM)
    parser.add_argument("--faces", type=int, default=1)
    parser.add_argument("--starts", type=datetime.fromisoformat, action="append", default=[])
    parser.add_argument("--hotter-k", type=float, action="append", default=[])
    parser.add_argument("--longer-s", type=float, action="append", default=[])
    parser.add_argument("--anneal-mm", type=float, action="append", default=[])
    parser.add_argument("--empty", action="store_true", help="nothing but shelves is in the kiln")
    parser.add_argument("--reads", choices=("C", "F"), default="C", help="the reader’s unit")
    parser.add_argument("--twelve", action="store_true", help="the reader’s clock counts to twelve")
    parser.add_argument("--done", type=Done, choices=tuple(Done), default=Done.HOLD)
    parser.add_argument("--done-by", type=time.fromisoformat)
    parser.add_argument("--now", type=datetime.fromisoformat)
    parser.add_argument("--power-kw", type=float)
    parser.add_argument("--price", type=float)
    parser.add_argument("--currency", default="")
    parser.add_argument("--zone", type=ZoneInfo)
    return parser.parse_args(arguments)


def _said(plan: Plan, setup: Setup, kiln: Kiln, args: argparse.Namespace) -> dict[str, Any]:
    """Return what the page shows of the plan, of the glass, and of each change that is asked about."""
    words, tariff, wrong, asked = Units(args.reads), Tariff(args.price, args.currency), "", _asked(args)
    asked, refused = fitting(plan, setup, asked)
    glass = setup.glass_or_none
    try:
        beside = columns(plan, setup, kiln, asked)
    except BadInput as err:
        wrong, beside = f"{err.problem} {err.remedy}", columns(plan, setup, kiln, asked._replace(
            starts=asked.starts[:1], hotter_k=(), longer_s=(), anneal_mm=()))
    written = beside[0]
    two = [by_plan(plan, setup, kiln, written.clock), written._replace(name="in this kiln")]
    rows = rows_beside(beside, glass, words, tariff) if len(beside) > 1 else []
    can_follow = followable(plan, kiln.model, kiln.from_c, kiln.room_c)
    beyond = written.beyond and written.beyond.step
    return {
        "starts": written.clock.starts_iso, "latest": [] if asked.done_by is None else [*latest_lines(
            asked.done_by, written.latest, written.outlook, glass, words), *filter(None, [times_of(written)])],
        "beyond": beyond, "learned": learned(kiln.model), "starts_s": kiln.model.starts_s, "wrong": wrong,
        "refused": {what: f"{why.problem} {why.remedy}" for what, why in refused},
        "rows": [row._asdict() for row in told_rows(written.planned, kiln.model, written.found, words,
                                                    written.clock, beyond)],
        "sentences": list(sentences(written.planned, kiln.model, written.found, glass, words, written.clock,
                                    beyond)),
        "glass": [row._asdict() for row in glass_rows(two, glass, words, tariff)],
        "doubts": doubt_lines(setup), "well_mpa": TARGET_MPA,
        "energy": energy_line(written.outlook.energy, tariff),
        "names": [one.name for one in beside], "briefs": [brief(one) for one in beside],
        "what_if": [row._asdict() for row in shown(rows)], "not_changed": not_changed(rows),
        "missing": list(missing(beside)) if rows else [],
        "changes": list(change_lines(beside, setup, kiln.model, words)),
        "curves": [[[t_s + one.clock.later_s(written.clock), temp_c] for t_s, temp_c in one.found.curve]
                   for one in beside],
        "followable": [*followable_lines(can_follow, setup), *new_plan_lines(
            asked.done_by, written.latest, latest_of_new(can_follow, setup, kiln, asked.done_by))],
        "new_plan": followable_toml(can_follow, setup) if isinstance(can_follow, Followable) else "",
        "peak_c": written.outlook.peak_c, "above_min": written.outlook.above_haze_s / 60,
    }


def _asked(args: argparse.Namespace) -> Changes:
    """Return what is asked, each moment in the owner's zone, whose clock may be changed during the firing."""
    zone = args.zone or machine_zone()
    return Changes([start.astimezone(zone) for start in args.starts], args.hotter_k, args.longer_s, args.anneal_mm,
                   args.done_by and DoneBy(args.done, args.done_by, args.now.astimezone(zone), args.twelve),
                   args.twelve)


def _haze(db: sqlite_utils.Database, args: argparse.Namespace, said: Mapping[str, Any], unit: str) -> str:
    """Return where the plan lies among the firings of hazy pieces of this glass in this kiln; empty without any.

    In the unit of who reads it, as on the page of these firings, to which it leads.
    """
    if said["peak_c"] <= HAZE_C[0]:
        return ""
    known = {one.glass: one for one in haze_by_glass(db, args.kiln)}.get(args.glass)
    if known is None:
        return ""
    found = [one for _, one in judged(db, known.refired, HAZE_C[1], unit)]
    here = tonight(found, round(to_unit(said["peak_c"], unit)), said["above_min"], HAZE_C[1], unit)
    return f"{sentence(found, HAZE_C[1], unit)} {here}".strip()


if __name__ == "__main__":
    sys.exit(main())
