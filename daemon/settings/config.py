"""The owner's settings, ``lehrling.toml``: read whole, checked whole, frozen."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import time
from pathlib import Path
from types import MappingProxyType
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from daemon.errors import BadInput
from daemon.fields import Fields, Problem
from daemon.files import read_text
from daemon.firing.setup import Reads
from daemon.notify.alert_messages import Channel
from daemon.notify.other_messages import Loudness, Post
from daemon.settings.elsewhere import Elsewhere, elsewhere
from daemon.settings.mqtt import Mqtt, mqtt
from daemon.settings.notifications import Alive, alive, channels, clock_time, milestones, quiet_hours, sounder
from daemon.settings.page_address import address_problem
from daemon.toml import read_toml, shown
from hw.max31856_settings import RANGES_C, read_settings

FILE_NAME = "lehrling.toml"
PROBE_KINDS = ("max31856", "bench", "recorded")
THERMOCOUPLE_TYPES = tuple(RANGES_C)
TOLERANCE_CLASSES = (1, 2)
"""Tolerance classes of the wire. [source: IEC 60584-1]"""


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
        Everything else of ``[probe]``, with ``thermocouple_type``, as its opener takes it.
    trouble
        Why the owner's settings of it can't be used, so that none is opened; empty where they can.
    tolerance_class
        Class of its wire (IEC 60584-1), 1 or 2; None where the owner did not say. It changes no reading.
    """

    kind: str = "max31856"
    thermocouple_type: str = "K"
    settings: Mapping[str, Any] = field(default_factory=lambda: MappingProxyType({"thermocouple_type": "K"}))
    trouble: str = ""
    tolerance_class: int | None = None


MOST_KW, MOST_PRICE = 200.0, 100_000.0
"""No kiln of a studio has more power [kW], and no kilowatt hour costs more in any currency.
[chosen: beyond any, so that a slip is caught]"""
MOST_TO_CALL = 80
"""Characters of a name and a number to call at most. [chosen: two lines on a phone]"""
MOST_CURRENCY = 8
"""Characters of a currency at most. [chosen: it stands behind a figure]"""


@dataclass(frozen=True, slots=True)
class Energy:
    """What the owner says of the kiln's power and of what energy costs; None where they said nothing.

    Attributes
    ----------
    power_kw
        Rated power, all elements on [kW].
    price_per_kwh
        In the owner's currency.
    currency
        Its sign or name; empty where none was given.
    """

    power_kw: float | None = None
    price_per_kwh: float | None = None
    currency: str = ""


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
    metrics: bool = False
    """Whether the page gives its figures to a monitoring program at ``/metrics``, to everybody who asks."""
    studio: bool = False
    """Whether the page gives the record to the studio's server, which must show the token."""
    others: tuple[Path, ...] = ()
    """Where the watches of other kilns in this studio keep their state, to be shown beside this one."""


@dataclass(frozen=True, slots=True)
class Config:
    """All settings; each has a value, so that no file is needed."""

    kiln_name: str = "Kiln"
    probe: Probe = field(default_factory=Probe)
    unit: str = "C"
    """The unit the owner reads, ``C`` or ``F``."""
    controller_unit: str = ""
    """The unit of the kiln's controller, in which lines to key in stand; the owner's where empty."""
    thickness_unit: str = "mm"
    """How thicknesses are written and read: ``mm`` or ``inch``."""
    time_zone: str | None = None
    """IANA name; None is the computer's own."""
    whom_to_call: str = ""
    """A name and a number, for who is woken and does not know what to do; empty where none was given."""
    page: Page = field(default_factory=Page)
    energy: Energy = field(default_factory=Energy)
    channels: tuple[Channel, ...] = ()
    milestones: Mapping[str, Loudness] = field(default_factory=dict)
    """How loudly good news is told, where the owner chose."""
    quiet_hours: tuple[time, time] | None = None
    """From when to when what can wait is kept back; wakes never are."""
    awake_at: time | None = None
    """When the daily word goes out that the watch is awake."""
    alive: Alive = field(default_factory=Alive)
    sounder: Mapping[str, Any] | None = None
    """The sounder and lamp at the kiln: its kind and settings; None where there is none."""
    mqtt: Mqtt | None = None
    """Where the kiln's state is published for other programs; None where nothing is."""
    copies: tuple[Elsewhere, ...] = ()
    """Where copies of the record are kept besides this computer's own disk."""
    file: Path | None = None
    """The file they were read from whole; None for defaults, and for what serves in its place."""
    trouble: tuple[str, ...] = ()
    """Sentences about what of the owner's file could not be used (see daemon.settings.last_good)."""

    @property
    def post(self) -> Post:
        """Return whom to tell what, and by whose clock."""
        return Post(self.channels, self.milestones, self.zone)

    @property
    def zone(self) -> ZoneInfo | None:
        """Return the owner's time zone; None is the computer's own."""
        return ZoneInfo(self.time_zone) if self.time_zone else None

    @property
    def reads(self) -> Reads:
        """Return the units the owner reads."""
        return Reads(self.unit, self.controller_unit)


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
    config, problems = parse_what_can_be_used(text, source, folder)
    if problems:
        told = "\n  ".join(str(problem) for problem in problems)
        raise BadInput(source, f"these settings can't be used:\n  {told}")
    return config


def parse_what_can_be_used(text: str, source: str, folder: Path) -> tuple[Config, list[Problem]]:
    """Return the settings written in ``text``, with defaults for what can't be used, and what that was.

    Raises
    ------
    BadInput
        Where ``text`` is no TOML.
    """
    top = Fields(read_toml(text, source, "See the example in docs/settings.md."), "")
    kiln, probe = top.table("kiln"), top.table("probe")
    owner, page = top.table("owner"), top.table("page")
    tell, life = top.table("tell"), top.table("alive")
    published, kept = top.table("mqtt"), top.table("copies")
    kiln_name = kiln.text("name", "Kiln")
    config = Config(
        kiln_name=kiln_name,
        probe=_probe(probe),
        unit=owner.choice("unit", "C", ("C", "F")), controller_unit=kiln.choice("controller_unit", "", ("C", "F")),
        thickness_unit=owner.choice("thickness_unit", "mm", ("mm", "inch")),
        time_zone=_time_zone(owner), whom_to_call=_whom_to_call(owner),
        page=_page(page, folder), energy=_energy(kiln),
        channels=channels(top, folder),
        milestones=milestones(tell),
        quiet_hours=quiet_hours(owner), awake_at=clock_time(owner, "awake_at"),
        alive=alive(life, folder), sounder=sounder(top),
        mqtt=mqtt(published, kiln_name, folder), copies=elsewhere(kept),
    )
    for section in (top, kiln, owner, page, tell, life, kept):
        section.refuse_the_rest()
    return config, top.problems


def _energy(kiln: Fields) -> Energy:
    """Return power and price; what is nought counts as not given."""
    power_kw = kiln.number("power_kw", None, 0.0, MOST_KW, "kW")
    price = kiln.number("price_per_kwh", None, 0.0, MOST_PRICE)
    currency = kiln.text("currency", "")
    if len(currency) > MOST_CURRENCY:
        kiln.problem("currency", f"{shown(currency)} is longer than {MOST_CURRENCY} characters.", "Write its sign.")
        currency = ""
    return Energy(power_kw or None, price or None, currency)


def _probe(table: Fields) -> Probe:
    """Return the probe's kind, type and settings; what the bench and a trace are told, their openers check."""
    kind = table.choice("kind", "max31856", PROBE_KINDS)
    wire: int | None = table.choice("tolerance_class", None, TOLERANCE_CLASSES)
    if kind == "max31856":
        given = [key for key in ("bus", "mains_hz", "averaging") if key in table.left]
        found = read_settings(table)
        table.refuse_the_rest()
        letter = found.thermocouple_type
        usable: dict[str, Any] = {key: getattr(found, key) for key in given}
        return Probe(kind, letter, MappingProxyType({**usable, "thermocouple_type": letter}), tolerance_class=wire)
    letter = table.choice("thermocouple_type", "K", THERMOCOUPLE_TYPES)
    return Probe(kind, letter, MappingProxyType({**table.left, "thermocouple_type": letter}), tolerance_class=wire)


def _time_zone(owner: Fields) -> str | None:
    name = owner.text("time_zone", "")
    if not name:
        return None
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        owner.problem("time_zone", f"{shown(name)} is no time zone.", 'Write its name, as "Europe/Vienna".')
        return None
    return name


def _whom_to_call(owner: Fields) -> str:
    """Return the name and number; empty where none was given."""
    said = owner.text("whom_to_call", "")
    if len(said) > MOST_TO_CALL:
        owner.problem("whom_to_call", f"{shown(said)} is longer than {MOST_TO_CALL} characters.",
                      "Write a name and a number.")
        return ""
    return said


def _page(table: Fields, folder: Path) -> Page:
    port = table.whole("port", 8080, 1, 65535, "8080 is usual.")
    passcode = table.text("passcode_file", "")
    host, behind_tls = table.text("host", "127.0.0.1"), table.flag("behind_tls", False)
    if wrong := address_problem(host, behind_tls=behind_tls):
        table.problem("host", *wrong)
    return Page(host=host, port=port,
                allowed_hosts=tuple(host.lower() for host in table.texts("allowed_hosts", ())),
                passcode_file=folder / passcode if passcode else None,
                open_reading=table.flag("open_reading", False), metrics=table.flag("metrics", False),
                studio=table.flag("studio", False),
                others=tuple(folder / other for other in table.texts("others", ())),
                behind_tls=behind_tls)
