"""The owner's settings, ``lehrling.toml``: read whole, checked whole, frozen."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from types import MappingProxyType
from typing import Any, TypeVar
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from daemon.errors import BadInput
from daemon.files import read_text
from daemon.firing.events import Rank
from daemon.notify.outbox import TOLD_RANKS, Channel
from daemon.toml import named, not_a_line, read_toml, shown

FILE_NAME = "lehrling.toml"
PROBE_KINDS = ("max31856", "bench", "recorded")
THERMOCOUPLE_TYPES = ("B", "E", "J", "K", "N", "R", "S", "T")
T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Probe:
    """Which probe, and what its opener is told.

    Attributes
    ----------
    kind
        The name of its opener.
    thermocouple_type
        Letter of its type (IEC 60584-1).
    settings
        Everything else of ``[probe]``, with ``thermocouple_type``; the opener checks it.
    """

    kind: str = "max31856"
    thermocouple_type: str = "K"
    settings: Mapping[str, Any] = field(default_factory=lambda: MappingProxyType({"thermocouple_type": "K"}))


@dataclass(frozen=True, slots=True)
class Page:
    """How the page is served; ``passcode_file`` is None where the page only shows."""

    host: str = "127.0.0.1"
    port: int = 8080
    allowed_hosts: tuple[str, ...] = ()
    passcode_file: Path | None = None
    open_reading: bool = False
    """Whether the page may be read without the passcode."""
    behind_tls: bool = False
    """Whether a proxy on this machine speaks https for the page."""


@dataclass(frozen=True, slots=True)
class Config:
    """All settings; each has a value, so that no file is needed."""

    kiln_name: str = "Kiln"
    probe: Probe = field(default_factory=Probe)
    unit: str = "C"
    """The unit the owner reads, ``C`` or ``F``."""
    time_zone: str | None = None
    """IANA name; None is the computer's own."""
    page: Page = field(default_factory=Page)
    channels: tuple[Channel, ...] = ()


def read_config(path: Path) -> Config:
    """Return the settings in a TOML file.

    Raises
    ------
    BadInput
        Naming the file, and every key that is wrong with its value and the remedy.
    """
    return parse_config(read_text(str(path), what="settings file"), str(path), path.parent)


def parse_config(text: str, source: str, folder: Path) -> Config:
    """Return the settings written in ``text``; names of files in it are taken from ``folder``.

    Raises
    ------
    BadInput
        As read_config does, with ``source`` for the file.
    """
    problems: list[str] = []
    top = _Table(read_toml(text, source, "See the README's example."), "", problems)
    kiln, probe = top.table("kiln"), top.table("probe")
    owner, page = top.table("owner"), top.table("page")
    config = Config(
        kiln_name=kiln.text("name", "Kiln"),
        probe=_probe(probe),
        unit=owner.choice("unit", "C", ("C", "F")),
        time_zone=_time_zone(owner),
        page=_page(page, folder),
        channels=_channels(top, folder),
    )
    for section in (top, kiln, owner, page):
        section.refuse_the_rest()
    if problems:
        raise BadInput(source, "\n  ".join(["these settings can't be used:", *problems]))
    return config


class _Table:
    """One table of the file, whose keys are taken one by one; every problem is noted."""

    def __init__(self, table: dict[str, Any], where: str, problems: list[str]) -> None:
        self.left = dict(table)
        self.where = where
        self.known: list[str] = []
        self.problems = problems

    def problem(self, key: str, what: str, remedy: str) -> None:
        self.problems.append(f"{self.where}{named(key)}: {what} {remedy}".rstrip())

    def take(self, key: str, kind: type[T], default: T, called: str, remedy: str) -> T:
        self.known.append(key)
        value = self.left.pop(key, default)
        if not isinstance(value, kind) or (isinstance(value, bool) and kind is not bool):
            self.problem(key, f"{shown(value)} is not {called}.", remedy)
            return default
        return value

    def text(self, key: str, default: str) -> str:
        self.known.append(key)
        value = self.left.pop(key, default)
        fault = not_a_line(value)
        if fault is not None:
            self.problem(key, fault, "")
            return default
        if default and not value.strip():
            self.problem(key, "is empty.", "Write something, or leave the line out.")
            return default
        return str(value)

    def choice(self, key: str, default: str, known: tuple[str, ...]) -> str:
        value = self.text(key, default)
        if value not in known:
            self.problem(key, f"{shown(value)} is unknown.", f"Known: {', '.join(known)}.")
            return default
        return value

    def texts(self, key: str, default: tuple[str, ...]) -> tuple[str, ...]:
        values = self.take(key, list, list(default), "a list", 'Write ["…", "…"].')
        if not all(not_a_line(value) is None and value.strip() for value in values):
            self.problem(key, f"{shown(values)} holds something that is not text.", 'Write ["…", "…"].')
            return default
        return tuple(values)

    def table(self, key: str) -> _Table:
        return _Table(self.take(key, dict, {}, "a table", f"Write [{key}] and its lines below."),
                      f"[{key}] ", self.problems)

    def refuse_the_rest(self) -> None:
        for key in self.left:
            self.problem(key, "unknown key.", f"Known here: {', '.join(self.known)}.")


def _probe(table: _Table) -> Probe:
    kind = table.choice("kind", "max31856", PROBE_KINDS)
    letter = table.choice("thermocouple_type", "K", THERMOCOUPLE_TYPES)
    return Probe(kind, letter, MappingProxyType({**table.left, "thermocouple_type": letter}))


def _time_zone(owner: _Table) -> str | None:
    name = owner.text("time_zone", "")
    if not name:
        return None
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        owner.problem("time_zone", f"{shown(name)} is no time zone.", 'Write its name, as "Europe/Vienna".')
        return None
    return name


def _page(table: _Table, folder: Path) -> Page:
    port = table.take("port", int, 8080, "a whole number", "Write port = 8080.")
    if not 1 <= port <= 65535:
        table.problem("port", f"{shown(port)} is outside 1 to 65535.", "8080 is usual.")
    passcode = table.text("passcode_file", "")
    return Page(host=table.text("host", "127.0.0.1"), port=port,
                allowed_hosts=tuple(host.lower() for host in table.texts("allowed_hosts", ())),
                passcode_file=folder / passcode if passcode else None,
                open_reading=table.take("open_reading", bool, False, "true or false", "Write open_reading = true."),
                behind_tls=table.take("behind_tls", bool, False, "true or false", "Write behind_tls = true."))


def _channels(top: _Table, folder: Path) -> tuple[Channel, ...]:
    rows = top.take("channel", list, [], "a list of channels", "Write [[channel]] above each.")
    found: list[Channel] = []
    for number, row in enumerate(rows, start=1):
        where = f"[[channel]] {number} "
        if not isinstance(row, dict):
            top.problems.append(f"{where.strip()}: {shown(row)} is no channel. Write [[channel]] above its lines.")
            continue
        found += _channel(_Table(row, where, top.problems), folder, {channel.name for channel in found})
    return tuple(found)


def _channel(table: _Table, folder: Path, taken: set[str]) -> list[Channel]:
    name, file = table.text("name", ""), table.text("url_file", "")
    words = table.texts("ranks", tuple(rank.value for rank in TOLD_RANKS))
    for word in words:
        if word not in {rank.value for rank in TOLD_RANKS}:
            table.problem("ranks", f"{shown(word)} is unknown.", 'Known: "wake", "look".')
    for key, value in (("name", name), ("url_file", file)):
        if not value:
            table.problem(key, "missing.", f'Write {key} = "…".')
    if name in taken:
        table.problem("name", f"{shown(name)} is taken by another channel.", "Give each its own name.")
    table.refuse_the_rest()
    if not name or not file:
        return []
    ranks = tuple(rank for rank in TOLD_RANKS if rank.value in words)
    return [Channel(name, folder / file, ranks or (Rank.WAKE,))]
