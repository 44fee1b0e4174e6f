"""``lehrling archive``: firings as plain files and back, checked against their chains, and copied.

The options stand here; what each action does stands in ``daemon.commands.archiving``.
"""

from __future__ import annotations

import argparse
import os
from collections.abc import Callable
from pathlib import Path

from daemon.commands import copies
from daemon.commands.archiving.moved import export_archive, import_archive
from daemon.commands.archiving.shown import list_firings, show_firing
from daemon.commands.archiving.verified import verify_archive, verify_record
from daemon.commands.folders import add_places, keep_files_private, refuse_no_folder, refuse_root
from daemon.subcommand import Command


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
        return verify_archive(args)  # needs no record
    refuse_root(args.data, os.geteuid())
    refuse_no_folder(args, "Give its data folder, or install Lehrling as docs/install.md says.")
    keep_files_private()
    actions: dict[str, Callable[[argparse.Namespace], int]] = {
        "list": list_firings, "show": show_firing, "export": export_archive, "import": import_archive,
        "verify": verify_record}
    return actions[args.action](args)


COMMAND = Command("firings as plain files and back; check that all is as it was kept", configure, run)
