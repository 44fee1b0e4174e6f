"""``lehrling archive``: firings as plain files and back, checked against their chains, and copied."""

from __future__ import annotations

import argparse
import json
import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from daemon.commands import copies
from daemon.commands.folders import add_places, keep_files_private, refuse_no_folder, refuse_root, settings
from daemon.errors import BadInput
from daemon.subcommand import Command

if TYPE_CHECKING:
    import sqlite_utils

    from daemon.archive.export import Pages
    from daemon.store.chain.verify import Verified

PROVES = """This finds what was changed, lost or exchanged after it was kept, by a fault or by hand.
It proves nothing against somebody who writes the whole file anew, unless a mark was printed or
kept elsewhere. To ask for such a mark: lehrling archive verify --mark MARK"""
PAGES = "lehrling.archive_pages"
"""The entry points of what draws the pages of an archive."""


def configure(parser: argparse.ArgumentParser) -> None:
    """Declare the actions and their options."""
    actions = parser.add_subparsers(dest="action", required=True, metavar="ACTION")
    listing = actions.add_parser("list", help="list the firings of the record, with their marks")
    show = actions.add_parser("show", help="show what is kept of one firing")
    show.add_argument("number", metavar="NUMBER", type=int, help="the firing's number")
    export = actions.add_parser("export", help="write all firings that have ended as plain files")
    export.add_argument("out", metavar="OUT", type=Path, help="the folder to make, or a zip: NAME.zip")
    export.add_argument("--piece", metavar="PIECE", help="only this piece, by name or number, with its firings")
    export.add_argument("--without-pages", action="store_true", help="no pages to read in a browser; much quicker")
    taking = actions.add_parser("import", help="take the firings of an archive into the record, under new numbers")
    taking.add_argument("source", metavar="FROM", type=Path, help="the folder or the zip that export wrote")
    verify = actions.add_parser("verify", help="check the record, or an archive: is all as it was kept?")
    verify.add_argument("source", metavar="FROM", type=Path, nargs="?", help="an archive; without it the record")
    verify.add_argument("--mark", metavar="MARK", help="a mark as it is printed on a card: which firing had it?")
    for action in (listing, show, export, taking, verify):
        add_places(action, run_holds="the present state")
        action.add_argument("--json", action="store_true", help="print the result as JSON")
    copies.add_make(actions.add_parser("backup", help=f"{copies.MAKES}; as lehrling copies make"))
    copies.add_restore(actions.add_parser("restore", help=f"{copies.RESTORES}; as lehrling copies restore"))


def run(args: argparse.Namespace) -> int:
    """List, show, export, import or verify; copies are made and put back by ``lehrling copies``."""
    if args.action in ("backup", "restore"):
        args.action = {"backup": "make", "restore": "restore"}[args.action]
        return copies.run(args)
    if args.action == "verify" and args.source is not None and args.mark is None:
        return _verify_archive(args)  # needs no record
    refuse_root(args.data, os.geteuid())
    refuse_no_folder(args, "Give its data folder, or install Lehrling as docs/install.md says.")
    keep_files_private()
    actions: dict[str, Callable[[argparse.Namespace], int]] = {
        "list": _list, "show": _show, "export": _export, "import": _import, "verify": _verify}
    return actions[args.action](args)


@contextmanager
def _record(args: argparse.Namespace, *, readonly: bool = True) -> Iterator[sqlite_utils.Database]:
    """Give the record, where it is of this version and can be read.

    Raises
    ------
    BadInput
        Where it is not.
    """
    import sqlite3

    from daemon.store.database import FILE_NAME, NoDatabase, is_current, open_database

    path = args.data / FILE_NAME
    try:
        db = open_database(path, readonly=readonly)
        try:
            if not is_current(db):
                raise NoDatabase(str(path), "is of an older version.",
                                 "Start lehrling daemon once; it brings it up to date.")
            yield db
        finally:
            db.close()
    except sqlite3.Error as err:
        raise BadInput(str(path), f"can't be read or written: {err}.", "Ask: lehrling doctor") from None


def _list(args: argparse.Namespace) -> int:
    """List the firings that were not deleted."""
    from daemon.store.safety import record_mark
    from daemon.store.stamps import moment

    zone = settings(args).zone
    with _record(args) as db:
        rows = list(db.query("SELECT firing_id, title, started_utc, ended_s FROM firing WHERE binned_utc IS NULL"
                             " ORDER BY firing_id"))
        for row in rows:
            head = record_mark.head(db, row["firing_id"])
            row["mark"] = None if head is None else record_mark.short(head)
    if args.json:
        _write_json({"firings": [{"number": row["firing_id"], "title": row["title"],
                                  "started_utc": row["started_utc"], "ended_s": row["ended_s"], "mark": row["mark"]}
                                 for row in rows]})
        return 0
    for row in rows:
        state = "runs" if row["ended_s"] is None else row["mark"] or "no chain yet"
        _say(f"{row['firing_id']:>5}  {moment(row['started_utc']).astimezone(zone):%Y-%m-%d}  {state:<23}"
             f"  {row['title']}")
    if not rows:
        _say("There is no firing yet.")
    return 0


def _show(args: argparse.Namespace) -> int:
    """Show what is kept of one firing."""
    from daemon.archive import read_out
    from daemon.archive.words import firing_lines
    from daemon.store import firings, pieces, plans

    with _record(args) as db:
        row = firings.firing(db, args.number)
        if row is None or row.emptied_utc is not None:
            raise BadInput(str(args.number), "there is no such firing.", "lehrling archive list shows them.")
        kept = read_out.firing(db, args.number)
        if args.json:
            _write_json(kept)
            return 0
        plan = None if row.plan_id is None else plans.plan(db, row.plan_id)
        config = settings(args)
        for line in firing_lines(row, kept, plan, [piece.name for piece in pieces.of_firing(db, args.number)],
                                 config.zone, config.unit):
            _say(line)
    return 0


def _export(args: argparse.Namespace) -> int:
    """Write an archive."""
    from daemon.archive.export import write_archive
    from daemon.archive.words import exported_json, exported_lines
    from daemon.clock import SystemClock

    with _record(args) as db:
        piece_id = None if args.piece is None else _piece(db, args.piece)
        pages = None if args.without_pages else _pages(args)
        try:
            done = write_archive(db, args.data, args.out, SystemClock().utc(), piece_id=piece_id, pages=pages,
                                 progress=_bar)
        except OSError as err:
            raise BadInput(str(args.out), f"can't be written: {err.strerror or err}.",
                           "Make room, or name another place. Nothing of it stays.") from None
    if args.json:
        _write_json({"archive": str(args.out), **exported_json(done)})
        return 0
    for line in exported_lines(done, args.out):
        _say(line)
    return 0


def _import(args: argparse.Namespace) -> int:
    """Take an archive into the record."""
    from daemon.archive.source import open_archive
    from daemon.archive.take_in import take_in
    from daemon.archive.words import taken_json, taken_lines
    from daemon.clock import SystemClock

    if copies.is_hot(args.run_dir):
        raise BadInput("not now", "the kiln is hot or a firing is open, and the record takes nothing else while an "
                       "archive is taken in.", "Wait until the firing is over and the kiln is cold.")
    with open_archive(args.source) as source, _record(args, readonly=False) as db:
        try:
            done = take_in(source, db, args.data, SystemClock().utc(), _bar)
        except OSError as err:
            raise BadInput(str(args.data), f"can't be written: {err.strerror or err}.",
                           "Make room. The record is as it was.") from None
    if args.json:
        _write_json(taken_json(done))
        return 0
    for line in taken_lines(done):
        _say(line)
    return 0


def _verify(args: argparse.Namespace) -> int:
    """Check the record against its chains; bad input where something was changed."""
    if args.mark is not None:
        return _verify_mark(args)
    from daemon.archive.words import spans, verified_json, verified_lines
    from daemon.store.chain.verify import verify

    zone = settings(args).zone
    found: list[Verified] = []
    with _record(args) as db:
        for one in verify(db):
            found.append(one)
            for line in () if args.json else verified_lines(one, zone):
                _say(line)
    wrong = [one.firing_id for one in found if one.state in ("changed", "missing")]
    if args.json:
        _write_json({"whole": not wrong, "firings": [verified_json(one, zone) for one in found]})
    else:
        _say("There is no firing yet." if not found else PROVES)
    if wrong:
        raise BadInput(str(args.data), f"not as it was kept: firing {spans(wrong)}.",
                       "Keep this record as it is. An older copy may have what was lost: lehrling copies list")
    return 0


def _verify_mark(args: argparse.Namespace) -> int:
    """Say which firing had a mark, and whether it is still as it was kept."""
    from daemon.archive.words import counted, verified_json
    from daemon.store.chain.verify import verify
    from daemon.store.safety import record_mark

    mark = record_mark.typed(args.mark)
    if mark is None:
        raise BadInput(f"--mark {args.mark}", "is no mark.",
                       "A mark is four groups of five letters and digits, as printed on the card.")
    zone = settings(args).zone
    with _record(args) as db:
        had = record_mark.had(db, mark)
        found = next((one for one in verify(db) if had and one.firing_id == had[0][0]), None)
    if found is None:
        raise BadInput(f"--mark {mark}", "no firing here has had this mark.",
                       "Is it typed as it is printed? Else the firing is not in this record, or was written anew.")
    if args.json:
        _write_json({**verified_json(found, zone), "links_at_mark": had[0][1] + 1})
    after = found.links - had[0][1] - 1
    if found.state != "whole":
        raise BadInput(f"firing {found.firing_id}", found.sentences(zone)[0],
                       "Keep this record as it is. An older copy may have what was lost: lehrling copies list")
    if not args.json:
        _say(f"Firing {found.firing_id}, {found.title}, had this mark. What was kept until then is as it was kept."
             + (f" {counted(after, 'entry', 'entries')} came later, such as notes and corrections." if after else ""))
    return 0


def _verify_archive(args: argparse.Namespace) -> int:
    """Read an archive through."""
    from daemon.archive.source import open_archive
    from daemon.archive.take_in import check_all
    from daemon.archive.words import counted

    with open_archive(args.source) as source:
        studio, firings, photographs = check_all(source, _bar)
    if args.json:
        _write_json({"whole": True, "firings": firings, "pieces": len(studio["pieces"]), "photographs": photographs})
        return 0
    _say(f"{args.source} is whole: {counted(firings, 'firing')}, {counted(len(studio['pieces']), 'piece')} and "
         f"{counted(photographs, 'photograph')}, as they were kept.\n{PROVES}")
    return 0


def _pages(args: argparse.Namespace) -> Pages | None:
    """Return what draws the pages, where it is installed."""
    from importlib.metadata import entry_points

    for point in entry_points(group=PAGES):
        draw = point.load()
        config = settings(args)
        return lambda numbers: draw(args.data, args.run_dir, config, numbers)
    return None


def _piece(db: sqlite_utils.Database, asked: str) -> int:
    """Return the piece of a name or number.

    Raises
    ------
    BadInput
        Where there is none, or there are several of that name.
    """
    found = db.execute("SELECT piece_id, name FROM piece WHERE name = ? OR piece_id = ? ORDER BY piece_id",
                       [asked, int(asked) if asked.isdecimal() and len(asked) < 10 else None]).fetchall()
    by_name = [row[0] for row in found if row[1] == asked]
    if len(by_name) > 1:
        raise BadInput(f"--piece {asked}", f"{len(by_name)} pieces have this name: "
                       f"{', '.join(map(str, by_name))}.", "Give the number instead.")
    if not found:
        raise BadInput(f"--piece {asked}", "there is no such piece.", "The page Pieces shows their names.")
    return int(by_name[0] if by_name else found[0][0])


def _bar(rows: Any) -> Any:
    """Show a bar on a terminal while ``rows`` are gone through; a pipe gets none."""
    from tqdm import tqdm

    return tqdm(rows, disable=None, unit="firing", leave=False)


def _say(line: str) -> None:
    sys.stdout.write(line + "\n")


def _write_json(said: dict[str, Any]) -> None:
    sys.stdout.write(json.dumps(said, ensure_ascii=False, indent=2) + "\n")


COMMAND = Command("firings as plain files and back; check that all is as it was kept", configure, run)
