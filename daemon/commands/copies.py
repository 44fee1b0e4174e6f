"""``lehrling copies``: copies of the record, here and elsewhere; and the record put back from one."""

from __future__ import annotations

import argparse
import os
import sys
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING

from daemon.commands.folders import DATA, add_places, keep_files_private, refuse_root, settings
from daemon.errors import BadInput
from daemon.installed import as_owner
from daemon.subcommand import Command

if TYPE_CHECKING:
    from daemon.copies.place import Place

NOT_TAKEN = 1
"""Exit code where a place has no new copy. [chosen: as a trial alert that was not delivered; 2 is bad input]"""
MAKES = "copy the record now, and take the copy to each place in the settings"
RESTORES = "put the record back from a copy; the present one is set aside"
_NICEST = 19
"""Priority of the work: whatever else this computer does comes first. [source: POSIX, nice: the largest is 19]"""


def configure(parser: argparse.ArgumentParser) -> None:
    """Declare the actions and their options."""
    actions = parser.add_subparsers(dest="action", required=True, metavar="ACTION")
    add_make(actions.add_parser("make", help=MAKES))
    listing = actions.add_parser("list", help="list the copies here, or at a place")
    listing.add_argument("place", metavar="PLACE", nargs="?", help="as in the settings, such as usb:KILN")
    add_places(listing, run_holds="the present state")
    add_restore(actions.add_parser("restore", help=RESTORES))


def add_make(make: argparse.ArgumentParser) -> None:
    """Declare the options of making copies."""
    make.add_argument("--due", action="store_true",
                      help="only what the night’s copy still lacks, and only while the kiln is cold")
    add_places(make, run_holds="the present state")


def add_restore(back: argparse.ArgumentParser) -> None:
    """Declare the options of putting the record back."""
    back.add_argument("source", metavar="FROM", nargs="?",
                      help="a place such as usb:KILN, or a file; without it a copy beside the record")
    back.add_argument("--copy", metavar="NAME", default="", help="which copy (the newest)")
    back.add_argument("--of", metavar="RECORD", default="", help="which record, where a place holds several")
    back.add_argument("--without-photographs", action="store_true",
                      help="although photographs are missing from it; those that it has are put back")
    back.add_argument("--while-hot", action="store_true",
                      help="although the kiln is hot or a firing is open: nobody watches it meanwhile")
    add_places(back, run_holds="the present state")


def run(args: argparse.Namespace) -> int:
    """Make, list or restore copies."""
    if not args.data.is_dir():
        raise BadInput(f"--data {args.data}", "no such folder.", "Install Lehrling as docs/install.md says.")
    if not os.access(args.data, os.R_OK | os.X_OK):
        raise BadInput(f"--data {args.data}", "you may not look into it.", f"Type: {as_owner('copies …', args.data)}")
    keep_files_private()
    with suppress(OSError):
        os.nice(_NICEST)
    return {"make": _make, "list": _list, "restore": _restore}[args.action](args)


def _make(args: argparse.Namespace) -> int:
    """Take copies; 1 where one failed, unless only what is due was asked for."""
    config = settings(args)
    if args.due and not config.copies:
        return 0
    import logging
    import sqlite3

    from daemon.clock import SystemClock
    from daemon.copies.alone import Busy, alone
    from daemon.copies.take import take_everywhere
    from daemon.store.database import FILE_NAME
    from daemon.store.safety.copies import make_copy

    refuse_root(args.data, os.geteuid())
    logging.basicConfig(stream=sys.stderr, level=logging.WARNING, format="%(levelname)s %(message)s")
    record, clock = args.data / FILE_NAME, SystemClock()
    if args.due and is_hot(args.run_dir):
        _say("The kiln is hot. Copies elsewhere are taken when it is cold.")
        return 0
    try:
        with alone(args.data, "lehrling copies make"):
            if not args.due:
                try:
                    _say(f"The record is copied, and the copy checked: {make_copy(record, clock.utc()).name}.")
                except (sqlite3.Error, OSError, BadInput) as err:
                    raise BadInput(str(record), f"could not be copied: {err}.", "Ask: lehrling doctor") from None
            done = take_everywhere(record, config.copies, clock.now_s, only_due=args.due)
    except Busy:
        if not args.due:
            raise
        _say("A copy is being taken or put back just now. What is due is taken the next time.")
        return 0
    if not config.copies:
        _say("No place elsewhere is set. Name one: lehrling settings set copies.elsewhere usb:KILN")
    for now in done.values():
        _say(f"{now.trouble} {now.remedy}" if now.trouble else f"It was taken to {now.called}, and read back whole.")
    return NOT_TAKEN if not args.due and any(now.trouble for now in done.values()) else 0


def is_hot(run_dir: Path) -> bool:
    """Return whether a daemon watches a hot kiln, or an open firing whose temperature is not known."""
    from daemon.clock import SystemClock
    from daemon.service.kiln_alarm import HOT_C
    from daemon.service.state_reader import read_daemon_state

    state = read_daemon_state(run_dir, SystemClock().utc())
    if state is None or state.stale:
        return False
    temp_c = state.number("temp_c")
    return state.number("t_s") is not None if temp_c is None else temp_c >= HOT_C


def _list(args: argparse.Namespace) -> int:
    """List the copies here and what is known of each place; or the copies at a place."""
    from daemon.store.database import FILE_NAME
    from daemon.store.safety import elsewhere
    from daemon.store.safety.copies import copies_of, is_broken

    if args.place:
        _list_place(_place(args, args.place))
        return 0
    here = copies_of(args.data / FILE_NAME)
    for copy in here:
        _say(f"here  {copy.path.name}" + ("  broken: it is empty, cut short or no database"
                                         if is_broken(copy.path) else ""))
    if not here:
        _say("There is no copy here yet. One is made every night; lehrling copies make makes one now.")
    known = elsewhere.known(args.data)
    for place in settings(args).copies:
        found = known.get(place.spelt)
        _say(f"{place.spelt}  {found.copy if found and found.copy else 'none yet'}"
             + (f"  {found.trouble}" if found and found.trouble else ""))
    return 0


def _list_place(place: Place) -> None:
    from daemon.copies.place import NotTaken, capital

    try:
        found = [(mark, name) for mark in place.marks() for name in sorted(place.stored(mark).copies)]
    except NotTaken as err:
        raise BadInput(place.called, err.said, err.do) from None
    _say("Each was read back when it was taken. Whether it is still in order shows when it is restored."
         if found else f"{capital(place.called)} holds no copies.")
    for mark, name in found:
        _say(f"{mark}  {name}")


def _place(args: argparse.Namespace, spelt: str) -> Place:
    """Return a place by how it is spelt."""
    from daemon.clock import SystemClock
    from daemon.copies.folder import FolderPlace
    from daemon.copies.place import NotTaken
    from daemon.copies.take import open_place
    from daemon.settings.elsewhere import read_place

    where = read_place(spelt)
    if where.kind == "folder":  # to read from, any folder will do
        return FolderPlace(where.called, Path(where.name), SystemClock().now_s)
    try:
        return open_place(where, args.data, SystemClock().now_s)
    except NotTaken as err:
        raise BadInput(spelt, err.said, err.do) from None


def _restore(args: argparse.Namespace) -> int:
    """Put the record back from a copy."""
    from daemon.copies.put_back import Asked, put_back

    has_services = os.geteuid() == 0 and args.data == DATA and Path("/run/systemd/system").is_dir()
    put_back(Asked(args.source, args.copy, args.of, while_hot=args.while_hot,
                   without_photographs=args.without_photographs), args.data, args.run_dir,
             lambda spelt: _place(args, spelt), _say, has_services=has_services)
    return 0


def _say(sentence: str) -> None:
    """Write a line at once."""
    sys.stdout.write(sentence + "\n")
    sys.stdout.flush()


COMMAND = Command("copies of the record, here and elsewhere; put the record back from one", configure, run)
