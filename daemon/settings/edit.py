"""One setting changed in the text of ``lehrling.toml``; every other line, and every remark, stays as it is."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import AoT, Table

from daemon.errors import BadInput
from daemon.settings.keys import channel_key
from daemon.toml import read_toml

_CHANNEL = "channel"
_BY_HAND = "Mend the file by hand first."


def with_settings(text: str, source: str, changes: Mapping[str, Any]) -> str:
    """Return the text with some settings changed.

    Parameters
    ----------
    text
        The file as it is.
    source
        What to call it in messages.
    changes
        By name; None takes a setting out. ``channel.NAME`` with None takes out a channel;
        ``channel.NAME.url_file`` makes one where there is none.

    Raises
    ------
    BadInput
        Where the text is no TOML, or a section in it is something else.
    """
    read_toml(text, source, _BY_HAND)  # whose words are plain
    try:
        document = tomlkit.parse(text)
    except (TOMLKitError, ValueError, RecursionError) as err:
        raise BadInput(source, f"not readable as TOML: {err}.", _BY_HAND) from None
    for key, value in changes.items():
        if key.startswith(f"{_CHANNEL}."):
            _change_channel(document, source, key, value)
        else:
            section, _, name = key.partition(".")
            _change(_table(document, source, section, make=value is not None), name, value)
    return tomlkit.dumps(document)


def _table(document: tomlkit.TOMLDocument, source: str, section: str, *, make: bool) -> Any:
    """Return a section, made where it is missing and something is to stand in it."""
    found = document.get(section)
    if found is None:
        if not make:
            return {}
        if document.as_string() and not document.as_string().endswith("\n\n"):
            document.add(tomlkit.nl())
        document.add(section, tomlkit.table())
        found = document[section]
    if not isinstance(found, Mapping):
        raise BadInput(source, f"[{section}] is not a section.", _BY_HAND)
    return found


def _change(table: Any, name: str, value: Any) -> None:
    if value is None:
        table.pop(name, None)
    else:
        table[name] = value


def _change_channel(document: tomlkit.TOMLDocument, source: str, key: str, value: Any) -> None:
    """Change a channel, add one, or take one out."""
    rows = document.get(_CHANNEL)
    if isinstance(rows, list) and not rows:
        del document[_CHANNEL]  # "channel = []" would keep any [[channel]] from being added below it
        rows = None
    if rows is not None and not isinstance(rows, AoT):
        raise BadInput(source, "channel is not a list of [[channel]].", _BY_HAND)
    parts = channel_key(key)
    name, field = parts or (key.removeprefix(f"{_CHANNEL}."), "")
    if not parts and key.endswith(".url_file"):
        name, field = name.removesuffix(".url_file"), "url_file"
    at = next((at for at, row in enumerate(rows or ()) if row.get("name") == name), None)
    if not field:
        if rows is not None and at is not None:
            del rows[at]
        if not rows and _CHANNEL in document:
            del document[_CHANNEL]
        return
    if rows is not None and at is not None:
        _change(rows[at], field, value)
    elif field == "url_file":
        _add_channel(document, rows, name, value)
    else:
        raise BadInput(key, f"there is no channel “{name[:40]}”.", "Give it an address first.")


def _add_channel(document: tomlkit.TOMLDocument, rows: AoT | None, name: str, url_file: str) -> None:
    row: Table = tomlkit.table()
    row["name"] = name
    row["url_file"] = url_file
    if rows is None:
        document.add(tomlkit.nl())
        rows = tomlkit.aot()
        rows.append(row)
        document.add(_CHANNEL, rows)
    else:
        rows.append(row)
