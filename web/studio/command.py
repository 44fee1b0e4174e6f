"""``lehrling studio``: a server that collects from the boxes of a studio and shows all kilns; the token of a box."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from daemon.commands.folders import (
    add_places,
    keep_files_private,
    refuse_no_folder,
    refuse_root,
    service_settings,
)
from daemon.subcommand import Command

if TYPE_CHECKING:
    from daemon.studio.settings import Studio
    from web.settings import Settings


def configure(parser: argparse.ArgumentParser) -> None:
    """Declare the actions and their options."""
    actions = parser.add_subparsers(dest="action", required=True, metavar="ACTION")
    token = actions.add_parser("token", help="on a box: print the token that the server shows")
    add_places(token, run_holds="the present state")
    collect = actions.add_parser("collect", help="on the server: collect from the boxes until told to stop")
    collect.add_argument("--once", action="store_true", help="ask each box once, and end")
    web = actions.add_parser("web", help="on the server: serve the page of all kilns")
    web.add_argument("--set-passcode", action="store_true", help="ask for a new passcode, keep it, and end")
    listing = actions.add_parser("list", help="on the server: list the boxes, and what was collected of each")
    verify = actions.add_parser("verify", help="on the server: is all as the boxes kept it?")
    renew = actions.add_parser("renew", help="on the server: another record is at a box’s address; begin anew beside")
    renew.add_argument("name", metavar="NAME", help="the box, as studio.toml names it")
    for action in (collect, web, listing, verify, renew):
        action.add_argument("--settings", metavar="FILE", type=Path, default=Path("studio.toml"),
                            help="the settings (default %(default)s)")


def run(args: argparse.Namespace) -> int:
    """Do what was asked."""
    if args.action == "token":
        return _token(args)
    from daemon.studio.settings import read_studio

    keep_files_private()
    studio = read_studio(args.settings)
    return {"collect": _collect, "web": _web, "list": _list, "verify": _verify, "renew": _renew}[args.action](
        args, studio)


def _token(args: argparse.Namespace) -> int:
    """Print the token of this box."""
    import os

    from web.command import settings_of
    from web.security import passcode, studio_token

    refuse_root(args.data, os.geteuid())
    refuse_no_folder(args, "Give its data folder, or install Lehrling as docs/install.md says.")
    keep_files_private()
    args.open_house = False
    mine = settings_of(args, service_settings(args))
    _say(studio_token.token(passcode.page_key(mine.data_dir), passcode.fingerprint(mine.passcode_path)))
    if not mine.studio:
        sys.stderr.write("It holds once you turn it on: lehrling settings set page.studio true\n")
    return 0


def _collect(args: argparse.Namespace, studio: Studio) -> int:
    """Collect until told to stop by SIGTERM or SIGINT."""
    import logging
    import signal
    import threading

    from daemon.clock import SystemClock
    from daemon.service.watchdog import READY, STOPPING, notify
    from daemon.studio.collecting import Collector

    logging.basicConfig(stream=sys.stderr, level=logging.INFO, format="%(levelname)s %(message)s")
    collector = Collector(studio, SystemClock())
    stopped = threading.Event()
    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, lambda *_: stopped.set())
    try:
        if args.once:
            collector.round()
        else:
            notify(READY)
            collector.run(stopped)
    finally:
        notify(STOPPING)
        collector.close()
    return 0


def _web(args: argparse.Namespace, studio: Studio) -> int:
    """Serve the page of all kilns."""
    import logging

    from web.command import serve, set_passcode
    from web.studio.page import create_studio

    logging.basicConfig(stream=sys.stderr, level=logging.INFO, format="%(levelname)s %(message)s")
    house = house_of(studio)
    if args.set_passcode:
        return set_passcode(house)
    return serve(house, studio.host, studio.port, create_studio(studio, house))


def house_of(studio: Studio) -> Settings:
    """Return the page's settings of a studio's server: its passcode lies beside its settings."""
    from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

    from daemon.errors import BadInput
    from daemon.settings.page_address import address_problem
    from daemon.wall_clock import machine_zone
    from web.settings import Settings

    if wrong := address_problem(studio.host, behind_tls=False):
        raise BadInput(f"{studio.file}, host", *wrong)
    folder = studio.file.absolute().parent
    try:
        zone = machine_zone() if studio.time_zone is None else ZoneInfo(studio.time_zone)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise BadInput(f"{studio.file}, time_zone", f"{studio.time_zone!r} is no time zone.",
                       "Write a name such as Europe/Vienna.") from None
    return Settings(data_dir=folder, run_dir=folder, kiln="All kilns", unit=studio.unit, zone=zone,
                    allowed_hosts=studio.allowed_hosts, open_reading=studio.open_reading,
                    passcode_file=folder / "passcode")


def _list(args: argparse.Namespace, studio: Studio) -> int:
    """List the boxes."""
    from daemon.clock import SystemClock
    from daemon.studio.database import connect
    from daemon.studio.record import seen

    del args
    boxes = seen(studio, SystemClock().utc())
    with connect(studio, autocommit=True) as db:
        counts = dict(db.execute("SELECT box, count(*) FROM lehrling.firing WHERE state != 'emptied' GROUP BY box"))
    for one in boxes:
        heard = "never" if one.heard_utc is None else f"{one.heard_utc:%Y-%m-%d %H:%M:%S} UTC"
        _say(f"{one.name:<20} heard {heard:<23} firings {counts.get(one.box, 0):>5}  {one.kiln}")
        if one.trouble:
            _say(f"{'':<20} {one.trouble}")
    return 0


def _verify(args: argparse.Namespace, studio: Studio) -> int:
    """Hold all that was collected against its chains."""
    from daemon.errors import BadInput
    from daemon.studio.database import connect, refuse_other_steps
    from daemon.studio.verifying import verify

    del args
    counts: dict[str, list[int]] = {}
    wrong: list[str] = []
    with connect(studio, autocommit=True) as db:
        refuse_other_steps(db, f"{studio.file}, database")
        for one in verify(db):
            count = counts.setdefault(f"{one.box} since {one.since_utc[:10]}", [0, 0, 0])
            for at, more in enumerate((1, one.links, one.readings)):
                count[at] += more
            if one.faults:
                wrong.append(f"{one.box}, firing {one.firing_id}")
    for name, (firings, links, readings) in counts.items():
        _say(f"{name}: {firings} firings, {links} entries, {readings} readings")
    if wrong:
        raise BadInput(str(studio.file), f"not as it was kept: {'; '.join(wrong)}.",
                       "The box’s own record is what counts. Ask there: lehrling archive verify")
    _say("All as the boxes kept it." if counts else "Nothing was collected yet.")
    return 0


def _renew(args: argparse.Namespace, studio: Studio) -> int:
    """Keep what was collected under a name, and begin anew beside it."""
    from daemon.clock import SystemClock
    from daemon.errors import BadInput
    from daemon.studio.database import connect, refuse_other_steps
    from daemon.studio.taking import close_box

    with connect(studio, autocommit=True) as db:
        refuse_other_steps(db, f"{studio.file}, database")
        done = close_box(db, args.name, SystemClock().utc())
    if not done:
        raise BadInput(args.name, "nothing was collected under this name.",
                       f"Boxes of {studio.file}: {', '.join(box.name for box in studio.boxes)}.")
    _say(f"What was collected from {args.name} stays in the database. The next round begins a new record beside it.")
    return 0


def _say(line: Any) -> None:
    sys.stdout.write(f"{line}\n")


COMMAND = Command("a server for a studio of several boxes: collect, show, check", configure, run)
