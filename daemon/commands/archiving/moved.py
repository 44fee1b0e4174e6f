"""``lehrling archive export`` and ``import``: firings as plain files, and back into a record."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from daemon.commands import copies
from daemon.commands.archiving.record import bar, open_record, say, write_json
from daemon.commands.folders import settings
from daemon.errors import BadInput

if TYPE_CHECKING:
    import sqlite_utils

    from daemon.archive.export import Pages

PAGES = "lehrling.archive_pages"
"""The entry points of what draws the pages of an archive."""


def export_archive(args: argparse.Namespace) -> int:
    """Write an archive."""
    from daemon.archive.export import write_archive
    from daemon.archive.words import exported_json, exported_lines
    from daemon.clock import SystemClock

    with open_record(args) as db:
        piece_id = None if args.piece is None else _piece(db, args.piece)
        pages = None if args.without_pages else _pages(args)
        try:
            done = write_archive(db, args.data, args.out, SystemClock().utc(), piece_id=piece_id, pages=pages,
                                 progress=bar)
        except OSError as err:
            raise BadInput(str(args.out), f"can't be written: {err.strerror or err}.",
                           "Make room, or name another place. Nothing of it stays.") from None
    if args.json:
        write_json({"archive": str(args.out), **exported_json(done)})
        return 0
    for line in exported_lines(done, args.out):
        say(line)
    return 0


def import_archive(args: argparse.Namespace) -> int:
    """Take an archive into the record."""
    from daemon.archive.source import open_archive
    from daemon.archive.take_in import take_in
    from daemon.archive.words import taken_json, taken_lines
    from daemon.clock import SystemClock

    if copies.is_hot(args.run_dir):
        raise BadInput("not now", "the kiln is hot or a firing is open, and the record takes nothing else while an "
                       "archive is taken in.", "Wait until the firing is over and the kiln is cold.")
    with open_archive(args.source) as source, open_record(args, readonly=False) as db:
        try:
            done = take_in(source, db, args.data, SystemClock().utc(), bar)
        except OSError as err:
            raise BadInput(str(args.data), f"can't be written: {err.strerror or err}.",
                           "Make room. The record is as it was.") from None
    if args.json:
        write_json(taken_json(done))
        return 0
    for line in taken_lines(done):
        say(line)
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
