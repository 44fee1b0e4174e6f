"""The options that say where things are, shared by the services."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from daemon.config import Config


def add_places(parser: argparse.ArgumentParser, *, run_holds: str) -> None:
    """Add --data, --run and --config; ``run_holds`` says what the run folder is for."""
    parser.add_argument("--data", metavar="DIR", type=Path, default=Path("/var/lib/lehrling"),
                        help="data folder (default %(default)s)")
    parser.add_argument("--run", dest="run_dir", metavar="DIR", type=Path, default=Path("/run/lehrling"),
                        help=f"folder of {run_holds} (default %(default)s)")
    parser.add_argument("--config", metavar="FILE", type=Path, help="settings (default lehrling.toml in DIR)")


def settings(args: argparse.Namespace) -> Config:
    """Return the settings that --config names, else those in the data folder, else the defaults.

    Raises
    ------
    BadInput
        Where the file can't be used, or --config names none.
    """
    from daemon.config import FILE_NAME, Config, read_config

    path = args.config or args.data / FILE_NAME
    return read_config(path) if args.config or path.exists() else Config()
