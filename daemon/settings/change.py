"""Settings changed by a command or the page: checked whole before they are kept, addresses in files of their own."""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Mapping
from pathlib import Path

from daemon.errors import BadInput
from daemon.files import read_text
from daemon.settings.config import Config, parse_config
from daemon.settings.keys import channel_key, known, read_value

NEW_MODE = 0o640
"""Of a settings file that is new: its owner writes, its group reads. [chosen: as the services' files are]"""
SECRET_MODE = 0o600
"""Of a file with an address. [chosen: only the services' own user reads it]"""
LONGEST = 2000
"""Characters of a value at most. [chosen: beyond any address]"""
LONGEST_NAME = 40
"""Characters of a channel's name at most. [chosen: it stands in a line of the page]"""

Changes = Mapping[str, str | None]
"""Settings by name, as they are typed; None takes one out."""


def change(path: Path, changes: Changes, check: Callable[[Config], None] = lambda config: None) -> Config:
    """Change settings in the file at ``path``, made where it is missing, and return what it says then.

    Parameters
    ----------
    path
        The file.
    changes
        What to change.
    check
        Raises BadInput where what the file would say can't be used, besides what reading it tells.

    Raises
    ------
    BadInput
        Naming the setting that can't be used and the remedy; nothing is changed then.
    """
    from daemon.settings.edit import with_settings  # a library that a watch of months needs once

    text = read_text(str(path), what="settings file") if path.exists() else ""
    values, secrets = _values(changes)
    new = with_settings(text, str(path), values)
    config = parse_config(new, str(path), path.parent)
    check(config)
    for file, address in secrets.items():
        _write(path.parent / file, f"{address}\n", SECRET_MODE)
    try:
        mode = path.stat().st_mode & 0o777
    except OSError:
        mode = NEW_MODE
    _write(path, new, mode)
    _forget(path.parent, text, config)
    return config


def _values(changes: Changes) -> tuple[dict[str, object], dict[str, str]]:
    """Return the values to write, and the addresses by the file that each goes into."""
    values: dict[str, object] = {}
    secrets: dict[str, str] = {}
    for key, typed in changes.items():
        if typed is not None and len(typed) > LONGEST:
            raise BadInput(key[:60], f"has {len(typed)} characters.", f"Write at most {LONGEST}.")
        channel = channel_key(key)
        if channel and channel[1] == "address" and typed is not None:
            name, file = channel[0], secret_file(channel[0])
            secrets[file] = _address(name, typed)
            values[f"channel.{name}.url_file"] = file
        elif key.startswith("channel.") and not channel:
            if typed is not None:
                known(key)
            values[key] = None
        else:
            values[key] = None if typed is None else read_value(key, typed)
            known(key)
    return values, secrets


def secret_file(name: str) -> str:
    """Return the name of the file that holds a channel's address."""
    plain = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")
    return f"{plain or 'channel'}.url"


def _address(name: str, typed: str) -> str:
    """Return an address that may be one; it is a secret, so no message repeats it."""
    if len(name) > LONGEST_NAME or not name.strip() or not name.isprintable():
        raise BadInput("channel", "a channel’s name is a short word.", "Write one such as phone.")
    address = typed.strip()
    if not re.fullmatch(r"[a-z][a-z0-9+.-]*://\S+", address, re.IGNORECASE):
        raise BadInput(f"channel.{name}.address", "this is no address.",
                       "It begins with the kind of service and ://, as mailto://… does, and has no blank.")
    return address


def _write(path: Path, text: str, mode: int) -> None:
    """Write a file in one step, so that a reader finds the old one or the new one whole."""
    part = path.with_name(f".{path.name}.part")
    try:
        handle = os.open(part, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, mode)
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        part.chmod(mode)
        part.replace(path)
    except OSError as err:
        part.unlink(missing_ok=True)
        raise BadInput(str(path), f"can't be written: {err.strerror}.",
                       "Give the file and its folder to the user Lehrling runs as.") from None


def file_mark(path: Path) -> tuple[int, int, int] | None:
    """Return what changes whenever a file is written anew; None where there is none."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_mtime_ns, found.st_size, found.st_ino


def _forget(folder: Path, before: str, now: Config) -> None:
    """Delete the address of a channel that was taken out, where its file is one that ``change`` made."""
    try:
        old = parse_config(before, "", folder).channels
    except BadInput:
        return
    kept = {Path(channel.url_file) for channel in now.channels}
    for channel in old:
        file = Path(channel.url_file)
        if file not in kept and file == folder / secret_file(channel.name):
            file.unlink(missing_ok=True)
