"""``lehrling archive list`` and ``show``: what is kept, in lines or as JSON."""

from __future__ import annotations

import argparse

from daemon.commands.archiving.record import open_record, say, write_json
from daemon.commands.folders import settings
from daemon.errors import BadInput


def list_firings(args: argparse.Namespace) -> int:
    """List the firings that were not deleted."""
    from daemon.store.safety import record_mark
    from daemon.store.stamps import moment

    zone = settings(args).zone
    with open_record(args) as db:
        rows = list(db.query("SELECT firing_id, title, started_utc, ended_s FROM firing WHERE binned_utc IS NULL"
                             " ORDER BY firing_id"))
        for row in rows:
            head = record_mark.head(db, row["firing_id"])
            row["mark"] = None if head is None else record_mark.short(head)
    if args.json:
        write_json({"firings": [{"number": row["firing_id"], "title": row["title"],
                                 "started_utc": row["started_utc"], "ended_s": row["ended_s"], "mark": row["mark"]}
                                for row in rows]})
        return 0
    for row in rows:
        state = "runs" if row["ended_s"] is None else row["mark"] or "no chain yet"
        say(f"{row['firing_id']:>5}  {moment(row['started_utc']).astimezone(zone):%Y-%m-%d}  {state:<23}"
            f"  {row['title']}")
    if not rows:
        say("There is no firing yet.")
    return 0


def show_firing(args: argparse.Namespace) -> int:
    """Show what is kept of one firing."""
    from daemon.archive import read_out
    from daemon.archive.words import firing_lines
    from daemon.store import firings, pieces, plans

    with open_record(args) as db:
        row = firings.firing(db, args.number)
        if row is None or row.emptied_utc is not None:
            raise BadInput(str(args.number), "there is no such firing.", "lehrling archive list shows them.")
        kept = read_out.firing(db, args.number)
        if args.json:
            write_json(kept)
            return 0
        plan = None if row.plan_id is None else plans.plan(db, row.plan_id)
        config = settings(args)
        for line in firing_lines(row, kept, plan, [piece.name for piece in pieces.of_firing(db, args.number)],
                                 config.zone, config.unit):
            say(line)
    return 0
