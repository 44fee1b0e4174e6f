"""What the page is told when it starts; nothing here changes while it runs."""

from __future__ import annotations

import socket
from dataclasses import dataclass, field
from datetime import tzinfo
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple, Protocol
from zoneinfo import ZoneInfo

from daemon.clock import Clock, SystemClock
from daemon.settings.config import Config

if TYPE_CHECKING:
    import sqlite_utils

    from daemon.service.state_reader import DaemonState

MAX_BODY_BYTES = 64 * 1024
"""Longest body of a request, photographs left aside [bytes]. [chosen: no form of the page is longer]"""


class Notice(NamedTuple):
    """What is to be known of the collecting, in sentences, and whether what is shown may be old."""

    text: str
    warns: bool


class Collected(Protocol):
    """A box's record and state as the studio's server has collected them; the page over it changes nothing."""

    @property
    def address(self) -> str:
        """Return the address of the box's own page."""

    def record(self) -> sqlite_utils.Database:
        """Return the record, opened for reading."""

    def state(self) -> DaemonState | None:
        """Return what the box's daemon last said."""

    def notice(self) -> Notice:
        """Return what is to be known of the collecting."""


@dataclass(frozen=True)
class Settings:
    """Where things are and who may see them.

    Attributes
    ----------
    data_dir
        The data folder, with the database and the passcode.
    run_dir
        Where the daemon keeps its state file.
    kiln
        The name of the kiln that Now is about.
    unit
        "C" or "F", as the owner reads.
    zone
        The owner's time zone.
    allowed_hosts
        Names this page may be called by, besides the machine's own and bare addresses of the home network.
    open_house
        Whether everything may be changed without a passcode; for a demonstration on this machine only.
    open_reading
        Whether the page may be read without a passcode.
    metrics
        Whether ``/metrics`` gives figures to a monitoring program, without a passcode.
    studio
        Whether the record is given to the studio's server, which must show the token.
    behind_tls
        Whether a proxy on this machine speaks https for the page, and everybody comes through it.
    passcode_file
        Where the passcode's hash stands; None is ``passcode`` in the data folder.
    rehearsal
        Whether this is a rehearsal, shown within the page of the real kiln.
    others
        Where other kilns' daemons keep their state files and sockets.
    collected
        What this page is of, where it is a page of the studio's server; None on a box.
    """

    data_dir: Path
    run_dir: Path
    kiln: str = "kiln"
    unit: str = "C"
    zone: tzinfo = field(default_factory=lambda: ZoneInfo("UTC"))
    allowed_hosts: tuple[str, ...] = ()
    open_house: bool = False
    open_reading: bool = False
    metrics: bool = False
    studio: bool = False
    behind_tls: bool = False
    passcode_file: Path | None = None
    rehearsal: bool = False
    others: tuple[Path, ...] = ()
    collected: Collected | None = None
    clock: Clock = field(default_factory=SystemClock)
    config: Config = field(default_factory=Config)
    """The owner's settings, for how he is reached; no address stands in them."""

    @property
    def passcode_path(self) -> Path:
        """Return where the passcode's hash stands."""
        return self.passcode_file or self.data_dir / "passcode"


def own_names() -> tuple[str, ...]:
    """Return the names this machine goes by at home, in lower case."""
    name = socket.gethostname().lower()
    return ("localhost", name, f"{name}.local")
