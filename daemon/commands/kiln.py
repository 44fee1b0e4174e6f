"""``lehrling kiln``: another kiln on this computer, with a daemon, a record and a page of its own."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from daemon.subcommand import Command

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from daemon.settings.config import Config

BUSES = ("/dev/spidev0.0", "/dev/spidev0.1")
"""Devices that the services may open without a drop-in (systemd/lehrling-daemon@.service)."""
_PROGRAM = "/opt/lehrling/bin/lehrling"
_LONGEST_S = 120.0
"""No step takes longer [s]. [chosen: a daemon that starts on a slow card]"""


def _configure(parser: argparse.ArgumentParser) -> None:
    from daemon.commands.folders import add_places

    actions = parser.add_subparsers(dest="action", metavar="ACTION", required=True)
    add = actions.add_parser("add", help="set up the services of another kiln on this computer",
                             description="Set up the services of another kiln on this computer, as root. The first "
                                         "kiln’s page shows its state too.")
    add.add_argument("name", metavar="NAME", help="a short name for its folders and services, such as casting")
    add.add_argument("--called", metavar="WORDS", help="what the kiln is called (NAME and the word kiln)")
    add.add_argument("--bus", metavar="DEVICE", help="the SPI device of its converter (the one of two that is free)")
    add.add_argument("--port", metavar="N", help="port of its own page (the next one that no kiln here has)")
    add.add_argument("--print", dest="only_print", action="store_true", help="print the commands, and change nothing")
    add_places(add, run_holds="the first kiln’s state")


def steps(args: argparse.Namespace, first: Config, there: Sequence[Config]) -> list[list[str]]:
    """Return the commands that set up another kiln, in their order.

    Parameters
    ----------
    args
        The options.
    first, there
        The settings of the first kiln, and of all kilns that are here.

    Raises
    ------
    BadInput
        Where the name, the bus or the port can't be used.
    """
    folder, run_dir = (f"{path}-{_name(args.name)}" for path in (args.data, args.run_dir))
    at = ["--data", folder, "--run", run_dir]
    own = ["runuser", "-u", "lehrling", "--", _PROGRAM]
    others = ", ".join([*(str(path) for path in first.page.others if str(path) != run_dir), run_dir])
    units = [f"lehrling-{unit}@{args.name}.{kind}" for unit, kind in (
        ("daemon", "service"), ("deliver", "service"), ("web", "service"), ("copies", "timer"))]
    passcode = args.data / "passcode"
    return [
        ["install", "-d", "-o", "lehrling", "-g", "lehrling", "-m", "750", folder],
        *([["install", "-o", "lehrling", "-g", "lehrling", "-m", "600", str(passcode), f"{folder}/passcode"]]
          if passcode.exists() else []),
        [*own, "settings", "set", "kiln.name", args.called or f"{args.name} kiln", "probe.bus", _bus(args.bus, there),
         "page.host", first.page.host, "page.port", _port(args.port, there), *at],
        ["systemctl", "enable", "--now", *units],
        [*own, "settings", "set", "page.others", others, "--data", str(args.data), "--run", str(args.run_dir)],
    ]


def _name(name: str) -> str:
    import re

    from daemon.errors import BadInput

    if not re.fullmatch(r"[a-z0-9][a-z0-9-]{0,30}", name, re.ASCII) or name == "copies":
        raise BadInput(name[:60], "can’t be the name of folders and services.",
                       "Write small letters, digits and hyphens, such as casting; the kiln’s own name goes behind "
                       "--called.")
    return name


def _bus(asked: str | None, there: Sequence[Config]) -> str:
    from daemon.errors import BadInput

    taken = {one.probe.settings.get("bus", BUSES[0]) for one in there}
    free = [bus for bus in BUSES if bus not in taken] if asked is None else [asked]
    if not free or free[0] in taken:
        problem = "another kiln’s converter is there." if free else "both devices of the first SPI bus are taken."
        raise BadInput(f"--bus {asked}" if asked else "--bus", problem,
                       "Name the device of this kiln’s converter, and see systemd/README.md for another bus.")
    return free[0]


def _port(asked: str | None, there: Sequence[Config]) -> str:
    from daemon.commands.load_options import whole
    from daemon.errors import BadInput

    taken = {one.page.port for one in there}
    if asked is None:
        return str(max(taken) + 1)
    if whole("--port", asked, 1, 65535) in taken:
        raise BadInput(f"--port {asked}", "another kiln’s page is there.", "Give another one, such as 8081.")
    return asked


def _kilns_here(data: Path) -> list[Config]:
    """Return the settings of all kilns that are here, the first one first."""
    from daemon.settings.config import FILE_NAME, Config, read_config

    folders = [data, *sorted(path for path in data.parent.glob(f"{data.name}-*") if path.is_dir())]
    return [read_config(path) if path.exists() else Config() for path in (folder / FILE_NAME for folder in folders)]


def _run(args: argparse.Namespace) -> int:
    import os
    import shlex
    import subprocess
    import sys

    from daemon.commands.folders import refuse_no_folder
    from daemon.errors import BadInput

    refuse_no_folder(args, "Install Lehrling first, as docs/install.md says.")
    if not args.only_print and args.data.with_name(f"{args.data.name}-{_name(args.name)}").exists():
        raise BadInput(args.name, f"there is a kiln of this name: {args.data}-{args.name}.", "Give another name.")
    there = _kilns_here(args.data)
    wanted = steps(args, there[0], there)
    if not args.only_print and os.geteuid() != 0:
        raise BadInput("lehrling kiln add", "only root may set up services.",
                       f"Type it with sudo: sudo lehrling kiln add {args.name}")
    for command in wanted:
        sys.stdout.write(shlex.join(command) + "\n")
        sys.stdout.flush()
        if args.only_print:
            continue
        try:
            ran = subprocess.run(command, timeout=_LONGEST_S, check=False).returncode
        except (OSError, subprocess.TimeoutExpired) as err:
            raise BadInput(shlex.join(command), f"could not be run: {err}.", "What came before it stays.") from None
        if ran:
            raise BadInput(shlex.join(command), f"ended with {ran}.",
                           "What came before it stays. Mend this, then type it and those that come after it in: "
                           f"lehrling kiln add {args.name} --print")
    if not args.only_print:
        folder = f"{args.data}-{args.name}"
        sys.stdout.write(
            f"The kiln has its own daemon now, and its own page. The first page shows it too.\n"
            f"Nobody is woken by it yet: name a way on its page, under “How Lehrling reaches you”, and try it.\n"
            f"Then have the box looked over: sudo -u lehrling lehrling doctor --data {folder} "
            f"--run {args.run_dir}-{args.name}\n")
    return 0


COMMAND = Command("add another kiln to this computer", _configure, _run)
