"""``lehrling settings``: list, read and change the settings by name."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING, Any

from daemon.commands.folders import add_places, refuse_root, settings_file
from daemon.errors import BadInput
from daemon.subcommand import Command

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

_KEY = "section and name, such as kiln.name or channel.phone.address"


def configure(parser: argparse.ArgumentParser) -> None:
    """Declare the actions and their options."""
    actions = parser.add_subparsers(dest="action", required=True, metavar="ACTION")
    listing = actions.add_parser("list", aliases=["show"], help="list every setting, its value and what it means")
    get = actions.add_parser("get", help="print one setting")
    put = actions.add_parser("set", help="change settings, checked together before they are kept")
    drop = actions.add_parser("unset", help="take settings out, or channels: the usual value serves again")
    get.add_argument("key", metavar="KEY", help=_KEY)
    put.add_argument("words", metavar="KEY VALUE", nargs="+",
                     help="each setting and its new value; - reads one line from the input, for an address")
    drop.add_argument("keys", metavar="KEY", nargs="+", help=_KEY)
    for action in (listing, get, put, drop):
        add_places(action, run_holds="the daemon's socket")


def run(args: argparse.Namespace) -> int:
    """List, print or change settings."""
    if args.action in ("list", "show"):
        return _list(_said(args))
    if args.action == "get":
        return _get(_said(args), args.key)
    return _change(args)


def _said(args: argparse.Namespace) -> Mapping[str, Any]:
    """Return the settings file as it stands, which is checked."""
    from daemon.files import read_text
    from daemon.settings.config import parse_config
    from daemon.toml import read_toml

    path = settings_file(args)
    if not args.config and not path.exists():
        return {}
    text = read_text(str(path), what="settings file")
    parse_config(text, str(path), path.parent)
    return read_toml(text, str(path), "")


def _list(said: Mapping[str, Any]) -> int:
    from daemon.settings.keys import CHANNEL_KEYS, KEYS

    rows = [(key, _value(said, key), known.usual, known.means) for key, known in KEYS.items()]
    for row in said.get("channel", ()):
        name = row.get("name", "")
        for field, known in CHANNEL_KEYS.items():
            rows.append((f"channel.{name}.{field}", _channel_value(row, field), known.usual, known.means))
    for name, word in said.get("tell", {}).items():
        rows.append((f"tell.{name}", word, "", "no, quiet or ring"))
    wide = max(len(key) for key, *_ in rows)
    for key, value, usual, means in rows:
        set_to = _shown(value) if value is not None else f"({usual})"
        sys.stdout.write(f"{key:<{wide}}  {set_to:<18}  {means}\n")
    sys.stdout.write("In brackets: the usual value, which serves where nothing is set.\n")
    return 0


def _get(said: Mapping[str, Any], key: str) -> int:
    from daemon.settings.keys import channel_key, known

    found = known(key)
    channel = channel_key(key)
    if channel:
        row = next((row for row in said.get("channel", ()) if row.get("name") == channel[0]), None)
        if row is None:
            raise BadInput(key, "there is no such channel.", "lehrling settings list names all.")
        value = _channel_value(row, channel[1])
    else:
        value = _value(said, key)
    sys.stdout.write(f"{_shown(value) if value is not None else found.usual}\n")
    return 0


def _change(args: argparse.Namespace) -> int:
    """Change settings together, by way of the daemon where it runs."""
    import os

    from daemon.service import sounder_word
    from daemon.service.ask_settings import ask_settings
    from daemon.settings.change import Changes

    is_set = args.action == "set"
    changes: Changes = _pairs(args.words) if is_set else dict.fromkeys(args.keys)
    refuse_root(args.data, os.geteuid())
    if not is_set and (unset := _not_set(args)):
        sys.stdout.write(f"Nothing was set of {', '.join(unset)}.\n")
        changes = {key: None for key in changes if key not in unset}
        if not changes:
            return 0
    before = sounder_word.before_change(args.run_dir)
    heard = ask_settings(settings_file(args), args.run_dir, changes)
    word = None
    if sounder_word.is_set(changes):
        word = sounder_word.after_change(args.run_dir, before) if heard else sounder_word.Word("not tried")
    in_use = [key for key in changes
              if not (word and word.found == "not opened" and key.startswith("sounder."))]
    sys.stdout.write(" ".join(["Kept." if is_set else "Taken out.", *_from_when(in_use, heard=heard)]) + "\n")
    if word:
        sys.stdout.write(f"{_SOUNDER[word.found]}{word.why and ' ' + word.why}\n")
    for warning in _warnings(args, changes):
        sys.stdout.write(f"{warning}\n")
    return 0


def _not_set(args: argparse.Namespace) -> list[str]:
    """Return which of the settings to take out do not stand in the file; none where it can't be read.

    Raises
    ------
    BadInput
        Where a channel is to be taken out that is none: its name is mistyped.
    """
    from daemon.settings.keys import channel_key, known

    try:
        said = _said(args)
    except BadInput:
        return []  # what is asked next tells why
    names = {row.get("name") for row in said.get("channel", ())}
    for key in args.keys:
        if key.startswith("channel.") and not channel_key(key) and key.removeprefix("channel.") not in names:
            raise BadInput(key[:60], "there is no such channel.", "lehrling settings list names all.")
    return [key for key in dict.fromkeys(args.keys)
            if not key.startswith("channel.") and known(key) and _value(said, key) is None]


_SOUNDER = {
    "opened": "The daemon has opened the sounder. Hear it: lehrling alerts test --channel sounder",
    "not opened": "But the daemon could not open the sounder, so it will not wake you.",
    "not tried": "The sounder was not tried yet. Once lehrling daemon runs: lehrling alerts test --channel sounder",
}
"""What is said of a sounder that was set."""


def _from_when(changed: Sequence[str], *, heard: bool) -> list[str]:
    """Return from when on Lehrling works with the settings that were changed, as sentences."""
    from daemon.settings.keys import AT_NEXT_START

    later = [key for key in changed if key in AT_NEXT_START]
    said = []
    if len(later) < len(changed):
        said.append("Lehrling works with it from now on." if heard else
                    "lehrling daemon does not run here; it works with it from its next start on.")
    if later:
        said.append(f"The page works with {' and '.join(later)} from its next start on: "
                    "sudo systemctl restart lehrling-web")
    return said


def _pairs(words: list[str]) -> dict[str, str]:
    """Return the settings and their values, as they were typed one after the other."""
    from daemon.settings.keys import known

    changes: dict[str, str] = {}
    for key, value in zip(words[::2], [*words[1::2], None], strict=False):
        known(key)
        if value is None:
            raise BadInput(key, "stands without a value.",
                           "Write each with its value: lehrling settings set KEY VALUE KEY VALUE. Put a value with "
                           "blanks in quotes.")
        if key in changes:
            raise BadInput(key, "is given twice.", "Give it once.")
        changes[key] = sys.stdin.readline().strip() if value == "-" else value
    return changes


def _warnings(args: argparse.Namespace, changes: Mapping[str, str | None]) -> list[str]:
    """Return a sentence for each file, folder and host that was named now and can't serve yet."""
    from daemon.settings.config import read_config
    from daemon.settings.named_files import doubts
    from daemon.settings.page_address import host_doubt

    try:
        config = read_config(settings_file(args))
    except BadInput:
        return []  # this user may not read the file
    said = [said for key, said in doubts(config, args.data) if key in changes]
    doubt = host_doubt(config.page.host) if "page.host" in changes else ""
    return [*said, doubt] if doubt else said


def _value(said: Mapping[str, Any], key: str) -> Any:
    section, _, name = key.partition(".")
    table = said.get(section, {})
    return table.get(name) if isinstance(table, dict) else None


def _channel_value(row: Mapping[str, Any], field: str) -> Any:
    """Return a channel's value; of its address only where it lies, since it is a secret."""
    return f"(in {row.get('url_file', '?')})" if field == "address" else row.get(field)


def _shown(value: Any) -> str:
    """Return a value as it is typed."""
    if isinstance(value, bool):
        return "true" if value else "false"
    return ", ".join(map(str, value)) if isinstance(value, list) else str(value)


COMMAND = Command("list, read and change settings by name", configure, run)
