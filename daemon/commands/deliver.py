"""``lehrling deliver``: sends what waits in the outbox, in a process of its own."""

from __future__ import annotations

import argparse
from pathlib import Path

from daemon.command import Command


def configure(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument("--data", metavar="DIR", type=Path, default=Path("/var/lib/lehrling"),
                        help="data folder (default %(default)s)")
    parser.add_argument("--run", dest="run_dir", metavar="DIR", type=Path, default=Path("/run/lehrling"),
                        help="folder of the present state, told in late messages (default %(default)s)")
    parser.add_argument("--config", metavar="FILE", type=Path, help="settings (default lehrling.toml in DIR)")
    parser.add_argument("--once", action="store_true", help="try what waits now, once, and end")


def run(args: argparse.Namespace) -> int:
    """Send until told to stop; with --once, until everything was tried."""
    from daemon.config import FILE_NAME, Config, read_config
    from daemon.notify.process import run_delivery

    path = args.config or args.data / FILE_NAME
    config = read_config(path) if args.config or path.exists() else Config()
    return run_delivery(config, args.data, args.run_dir, once=args.once)


COMMAND = Command("send the alerts that wait, through the channels of the settings", configure, run)
