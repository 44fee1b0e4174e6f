"""``lehrling deliver``: sends what waits in the outbox, in a process of its own."""

from __future__ import annotations

import argparse

from daemon.commands.folders import add_places, keep_files_private, refuse_root, service_settings, settings_file
from daemon.commands.restart import restart_process
from daemon.subcommand import Command


def configure(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    add_places(parser, run_holds="the present state, which late messages tell")
    parser.add_argument("--once", action="store_true", help="try what waits now, once, and end")


def run(args: argparse.Namespace) -> int:
    """Send until told to stop; with --once, until everything was tried."""
    import os

    from daemon.delivery.process import run_delivery
    from daemon.settings.change import file_mark

    refuse_root(args.data, os.geteuid())
    keep_files_private()
    path = settings_file(args)
    mark = file_mark(path)
    code = run_delivery(service_settings(args), args.data, args.run_dir, once=args.once,
                        stale=lambda: file_mark(path) != mark)
    if code is None:
        restart_process()
    return code


COMMAND = Command("send the alerts that wait, through the channels of the settings", configure, run)
