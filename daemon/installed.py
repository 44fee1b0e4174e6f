"""How Lehrling is installed here: what to type for one of its commands, and where its documents lie."""

from __future__ import annotations

import pwd
import re
from pathlib import Path

SERVICE_UIDS = range(1, 1000)
"""Numbers of the users that services have; people have higher ones. [source: Debian Policy Manual, 9.2.2 "UID and
GID classes": 0-99 and 100-999]"""
PACKAGE_DOCUMENTS = Path("/usr/share/doc/lehrling/docs")
"""Where the Debian package puts the documents (packaging/deb/build)."""
OWN_DOCUMENTS = Path(__file__).resolve().parents[1] / "docs"
"""Where they lie beside the program, in a folder with all of the project."""
_COMMAND = re.compile(
    r"(?<![\w/-])(?<!sudo )(?<!lehrling )lehrling (?=(?:alerts|copies|doctor|sensor|settings|web)\b)")
"""Finds a command of Lehrling's in a sentence that does not say yet as whom to type it."""


def service_user(folder: Path) -> str:
    """Return the user whose services work in a data folder; empty where it is somebody's own, or not there."""
    try:
        uid = folder.stat().st_uid
        return pwd.getpwuid(uid).pw_name if uid in SERVICE_UIDS else ""
    except (OSError, KeyError):
        return ""


def as_owner(command: str, folder: Path) -> str:
    """Return what somebody else than the owner of a data folder has to type for a command.

    Parameters
    ----------
    command
        What follows the program's name, as ``web --set-passcode``.
    folder
        The data folder.
    """
    try:
        owner = pwd.getpwuid(folder.stat().st_uid).pw_name
    except (OSError, KeyError):
        owner = "lehrling"
    return f"sudo -u {owner} lehrling {command}"


def typed(command: str, folder: Path) -> str:
    """Return what to type for a command: ``sudo -u lehrling lehrling doctor`` where services have the data folder.

    ``command`` and ``folder`` are as in ``as_owner``.
    """
    return typed_in(f"lehrling {command}", folder)


def started(service: str, folder: Path) -> str:
    """Return what to type to start ``daemon``, ``deliver`` or ``web``, by its service where there is one."""
    return f"sudo systemctl start lehrling-{service}" if service_user(folder) else f"lehrling {service}"


def typed_in(sentence: str, folder: Path) -> str:
    """Return a sentence with each of Lehrling's commands in it as it has to be typed."""
    user = service_user(folder)
    return _COMMAND.sub(f"sudo -u {user} lehrling ", sentence) if user else sentence


def documents() -> Path | None:
    """Return the folder of the documents; None where they are not on this computer."""
    return next((folder for folder in (PACKAGE_DOCUMENTS, OWN_DOCUMENTS) if (folder / "install.md").is_file()), None)
