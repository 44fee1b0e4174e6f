"""The computer under the box: its clock and what sets it, its disk and how worn that is, and the versions."""

from __future__ import annotations

import os
import platform
import shutil
import sqlite3
from dataclasses import dataclass
from datetime import datetime
from importlib.metadata import version
from pathlib import Path

from daemon.doctor.finding import Finding, good, mend, note
from daemon.firing.durations import duration

FIRST_YEAR = 2026
"""A clock before this year is wrong. [derived: no version of Lehrling is older]"""
LEAST_FREE_BYTES = 500_000_000
"""Less free room than this asks for an act. [chosen: some hundred firings of 20 h at 24 bytes a reading, with their
nightly copies]"""
WORN = 9
"""From this figure of an eMMC's own estimate on it is replaced: 80 to 90 % of its life is used. [from memory: JEDEC
JESD84-B51, DEVICE_LIFE_TIME_EST: 1 is up to 10 %, 10 is up to 100 %, 11 is beyond]"""
CHIP_OFF_S = 60.0
"""A clock chip that is wrong by more than this was not set, or stood still [s]. [chosen: cheap chips stray by a few
seconds a day, and the kernel sets them every 11 minutes while the network sets the time, from memory]"""
_DAY_S = 86_400.0
"""From here on only that it is wrong is told [s]. [chosen: the figure tells a maker nothing]"""
_CHIP = "sys/class/rtc/rtc0"
"""Where the kernel tells of a clock chip; ``since_epoch`` is its time in seconds of 1970 (from memory: rtc sysfs)."""
_SETTERS = (("run/systemd/timesync/synchronized", "systemd-timesyncd"), ("run/chrony/chronyd.pid", "chrony"),
            ("run/ntpd.pid", "ntpd"))
"""What each service that sets clocks leaves while it does so."""


@dataclass(frozen=True)
class Computer:
    """Where the kernel tells of itself; tests hand in a folder of their own."""

    root: Path = Path("/")

    def text(self, place: str) -> str | None:
        """Return what a file of the kernel says; None where there is none."""
        try:
            return (self.root / place).read_text(encoding="ascii", errors="replace").strip()
        except OSError:
            return None

    def processor_c(self) -> float | None:
        """Return the temperature of the processor [°C]; None where the kernel does not tell."""
        said = self.text("sys/class/thermal/thermal_zone0/temp")
        try:
            return None if said is None else int(said) / 1000  # the kernel gives thousandths
        except ValueError:
            return None


def clock(computer: Computer, utc: datetime, *, is_set: bool) -> list[Finding]:
    """Return how the clock stands, and whether it goes on without power."""
    has_battery = (computer.root / _CHIP).exists()
    battery = _clock_chip(computer, utc, is_set=is_set)
    if utc.year < FIRST_YEAR:
        return [mend("clock", f"The clock says {utc.year}.", "Connect the box to the network, or set the clock: "
                     "sudo timedatectl set-time '2026-11-29 21:30'. The watch goes on meanwhile."), battery]
    if is_set:
        setter = next((name for place, name in _SETTERS if (computer.root / place).exists()), None)
        by = setter or ("the clock that goes on without power" if has_battery else None)
        return [good("clock", f"It is set, by {by}." if by else "It is set. By what, is not known."), battery]
    said = "Nothing that this computer trusts has set the clock since it was switched on. Dates may be wrong."
    do = "Connect the box to the network. Durations and alerts are right all the same."
    return [note("clock", said, do) if has_battery else mend("clock", said, do), battery]


def _clock_chip(computer: Computer, utc: datetime, *, is_set: bool) -> Finding:
    """Return whether there is a clock that goes on without power, and whether it agrees with a set one."""
    part = "clock without power"
    if not (computer.root / _CHIP).exists():
        return note(part, "This computer has no clock of its own. After a power cut its time is wrong until the "
                    "network sets it. Firings are watched all the same.", "A real-time clock with a battery mends "
                    "that: docs/install.md, “A clock that goes on without power”.")
    said = "This computer has a clock that goes on without power"
    try:
        off_s = int(computer.text(f"{_CHIP}/since_epoch") or "") - utc.timestamp()
    except ValueError:
        return good(part, f"{said}.")
    if not is_set:
        return good(part, f"{said}. Nothing has set the time yet that it could be compared with.")
    if abs(off_s) <= CHIP_OFF_S:
        return good(part, f"{said}, and it agrees with the time that is set.")
    how = "by more than a day" if abs(off_s) >= _DAY_S else f"by {duration(abs(off_s))}"
    return mend(part, f"{said}, but it is wrong {how}. After a power cut the time would be wrong.",
                "Leave the box on the network for a quarter of an hour, then look again. If it is still wrong, its "
                "coin cell is empty or missing: follow the maker of the clock.")


def disk(computer: Computer, folder: Path) -> list[Finding]:
    """Return whether the disk under a folder can be written, has room, and how worn it is."""
    free = shutil.disk_usage(folder).free
    room = f"{free / 1e9:.1f} GB free."
    if os.statvfs(folder).f_flag & os.ST_RDONLY:
        found = mend("disk", "The disk takes no writing. A card does that when it fails.",
                     "Copy the folder elsewhere, and replace the card before the next firing.")
    elif free < LEAST_FREE_BYTES:
        found = mend("disk", f"Only {room}", "Make room: delete old downloads and logs. Never touch the folder "
                     f"{folder} itself.")
    else:
        found = good("disk", room)
    return [found, _wear(computer, folder)]


def _wear(computer: Computer, folder: Path) -> Finding:
    """Return how worn the disk says it is; only an eMMC tells the kernel."""
    unknown = note("wear of the disk", "Not known: this kind of disk does not tell. Cards wear out by being written.",
                   "Keep a copy elsewhere, and replace a card after some years.")
    device = os.stat(folder).st_dev
    place = computer.root / f"sys/dev/block/{os.major(device)}:{os.minor(device)}"
    try:
        real = place.resolve(strict=True)
    except OSError:
        return unknown
    for block in (real, real.parent):  # a partition lies in the folder of its disk
        said = computer.text(str((block / "device/life_time").relative_to(computer.root)))
        try:
            levels = [int(part, 16) for part in (said or "").split()]
        except ValueError:
            return unknown
        if not levels or max(levels) == 0:
            continue
        worst = max(levels)
        used = f"About {min(worst, 10) * 10} % of its life is used, by its own estimate."
        return good("wear of the disk", used) if worst < WORN else mend(
            "wear of the disk", used, "Copy the folder elsewhere and replace the disk soon.")
    return unknown


def versions() -> Finding:
    """Return what runs here."""
    return good("versions", f"Lehrling {version('lehrling')}, Python {platform.python_version()}, "
                f"SQLite {sqlite3.sqlite_version}, {platform.system()} {platform.release()} on {platform.machine()}.")
