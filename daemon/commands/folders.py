"""The options that say where things are, shared by the services."""

from __future__ import annotations

import argparse
import os
from pathlib import Path
from typing import TYPE_CHECKING

from daemon.errors import BadInput
from daemon.installed import as_owner

if TYPE_CHECKING:
    from daemon.doctor.places import Places
    from daemon.settings.config import Config


DATA = Path("/var/lib/lehrling")


def keep_files_private() -> None:
    """Let nobody outside the own group read what this process writes from now on, though it is started by hand."""
    os.umask(os.umask(0o077) | 0o027)


def add_places(parser: argparse.ArgumentParser, *, run_holds: str) -> None:
    """Add --data, --run and --config; ``run_holds`` says what the run folder is for."""
    parser.add_argument("--data", metavar="DIR", type=Path, default=DATA,
                        help="data folder (default %(default)s)")
    parser.add_argument("--run", dest="run_dir", metavar="DIR", type=Path, default=Path("/run/lehrling"),
                        help=f"folder of {run_holds} (default %(default)s)")
    parser.add_argument("--config", metavar="FILE", type=Path, help="settings (default lehrling.toml in DIR)")


def refuse_no_folder(args: argparse.Namespace, remedy: str) -> None:
    """Raise BadInput with ``remedy`` where the data folder is not there, or is a file."""
    if not args.data.is_dir():
        what = "is a file, not a folder." if args.data.exists() else "no such folder."
        raise BadInput(f"--data {args.data}", what, remedy)


def settings(args: argparse.Namespace) -> Config:
    """Return the settings that --config names, else those in the data folder, else the defaults.

    Raises
    ------
    BadInput
        Where the file can't be used, or --config names none.
    """
    from daemon.settings.config import FILE_NAME, Config, read_config

    path = args.config or args.data / FILE_NAME
    return read_config(path) if args.config or path.exists() else Config()


def settings_file(args: argparse.Namespace) -> Path:
    """Return where the settings are, or would be."""
    from daemon.settings.config import FILE_NAME

    path: Path = args.config or args.data / FILE_NAME
    return path


def service_settings(args: argparse.Namespace) -> Config:
    """Return the settings that a service works with: as ``settings`` does, else the last that could be used.

    Raises
    ------
    BadInput
        Where neither can be used.
    """
    from daemon.settings.config import FILE_NAME, Config
    from daemon.settings.last_good import COPY_NAME, usable_settings

    path = args.config or args.data / FILE_NAME
    if args.config or path.exists() or (args.data / COPY_NAME).exists():
        return usable_settings(path, args.data)
    return Config()


def refuse_root(folder: Path, uid: int) -> None:
    """Refuse to work as root in a data folder of another user, whose services could then not write their own files.

    Parameters
    ----------
    folder
        The data folder; where it is missing, root makes only one that was named.
    uid
        The user this process runs as.

    Raises
    ------
    BadInput
        Saying as whom to call it.
    """
    if uid != 0:
        return
    if not folder.exists():
        if folder == DATA:
            raise BadInput(f"--data {folder}", "no such folder.",
                           "Set Lehrling up as docs/install.md says, or give a folder of your own.")
        return
    if folder.stat().st_uid != 0:
        raise BadInput(f"--data {folder}", "belongs to another user, who could not write what root leaves in it.",
                       f"Call it as that user: sudo -u '#{folder.stat().st_uid}' lehrling …")


def places_of(args: argparse.Namespace, command: str) -> Places:
    """Return where to look.

    Raises
    ------
    BadInput
        Where the data folder is missing, or may not be looked into; it names the command to type.
    """
    from daemon.doctor.places import Places

    refuse_root(args.data, os.geteuid())
    refuse_no_folder(args, "Give its data folder, or install Lehrling as docs/install.md says.")
    if not os.access(args.data, os.R_OK | os.X_OK):
        raise BadInput(f"--data {args.data}", "you may not look into it.",
                       f"Type: {as_owner(command, args.data)}")
    keep_files_private()
    return Places(args.data, args.run_dir, settings_file(args))
