"""The one place that asks the system for the time; everything else is handed a Clock or a number."""

from __future__ import annotations

import ctypes
import json
import os
import time
import uuid
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Protocol

_BOOT_ID = Path("/proc/sys/kernel/random/boot_id")
_TIME_ERROR = 5
"""What adjtimex(2) returns while the clock is not synchronised. [source: adjtimex(2), TIME_ERROR]"""
_TIMEX_BYTES = 512
"""More than struct timex has on any machine; all zero asks only for the state. [chosen: twice and more its 208
bytes on 64-bit Linux]"""
_CHIP = Path("/sys/class/rtc/rtc0/since_epoch")
"""The time of a clock chip that goes on without power [s since 1970, in UTC]. [source: Linux, sysfs-class-rtc]"""
_CHIP_FROM_S = datetime(2026, 1, 1, tzinfo=UTC).timestamp()
"""A chip that says less lost its time, as one without a battery does [s since 1970]. [derived: no version of Lehrling
is older]"""
_CHIP_AGREES_S = 60.0
"""A wall clock this near the chip's was set by it [s]. [chosen: two crystals drift apart some seconds a day; times
are shown to the minute]"""
_CHIP_LOOK_S = 60.0
"""The chip is asked so often at most [s]: it may hang on a slow bus. [chosen: soon against a firing]"""
_LONGEST_NAP_S = 1.0
"""Longest sleep at a time [s]: time.sleep counts CLOCK_MONOTONIC, which stands still while the machine sleeps.
[chosen: a tick]"""


class Clock(Protocol):
    """Firing seconds for durations, wall time for stamps, and how far to trust the wall time."""

    @property
    def speed(self) -> float:
        """Return firing seconds a wall second: 1.0, or more on the bench."""

    @property
    def boot_id(self) -> str:
        """Return an id of the present run of ``now_s``; it is another one when the clock has begun anew."""

    def now_s(self) -> float:
        """Return the firing clock [s]; never goes back, goes on over a restart of the process."""

    def utc(self) -> datetime:
        """Return the wall time, aware, in UTC; may be wrong or step."""

    def synchronised(self) -> bool:
        """Return whether the wall clock is known to be set."""

    def sleep_until(self, deadline_s: float) -> None:
        """Return once ``now_s`` has reached ``deadline_s`` of the firing clock."""


@dataclass(frozen=True)
class Sources:
    """What the clocks ask; tests hand in their own."""

    boottime_s: Callable[[], float]
    utc: Callable[[], datetime]
    sleep: Callable[[float], None]
    boot_id: Callable[[], str]
    adjtimex: Callable[[], int]
    chip_s: Callable[[], float | None]


def system_sources() -> Sources:
    """Return the machine's own clocks (Linux)."""
    return Sources(
        boottime_s=lambda: time.clock_gettime(time.CLOCK_BOOTTIME),
        utc=lambda: datetime.now(UTC),
        sleep=time.sleep,
        boot_id=lambda: _BOOT_ID.read_text(encoding="ascii").strip(),
        adjtimex=_adjtimex,
        chip_s=_chip_s,
    )


def _adjtimex() -> int:
    """Return the state of the kernel's clock; only asks, so it needs no privilege."""
    libc = ctypes.CDLL(None, use_errno=True)
    return int(libc.adjtimex(ctypes.create_string_buffer(_TIMEX_BYTES)))


def _chip_s() -> float | None:
    """Return the time of the clock chip [s since 1970]; None where there is none."""
    try:
        return float(_CHIP.read_text(encoding="ascii"))
    except (OSError, ValueError):
        return None


class _Setting:
    """Whether the wall clock is set: by the network, as the kernel says, or by a clock chip, which it leaves out."""

    def __init__(self, sources: Sources) -> None:
        self._sources = sources
        self._looked_s = -_CHIP_LOOK_S
        self._agrees = False

    def is_set(self) -> bool:
        """Return whether it is set by either."""
        if 0 <= self._sources.adjtimex() < _TIME_ERROR:
            return True
        now_s = self._sources.boottime_s()
        if now_s - self._looked_s >= _CHIP_LOOK_S:
            self._looked_s, chip_s = now_s, self._sources.chip_s()
            self._agrees = chip_s is not None and chip_s >= _CHIP_FROM_S and (
                abs(self._sources.utc().timestamp() - chip_s) <= _CHIP_AGREES_S)
        return self._agrees


class SystemClock:
    """The computer's own clock: CLOCK_BOOTTIME, which counts on through suspend and ignores steps of wall time."""

    def __init__(self, sources: Sources | None = None) -> None:
        self._sources = sources or system_sources()
        self._setting = _Setting(self._sources)
        self.speed = 1.0
        self.boot_id = self._sources.boot_id()

    def now_s(self) -> float:
        """Return seconds since the machine was booted."""
        return self._sources.boottime_s()

    def utc(self) -> datetime:
        """Return the wall time in UTC."""
        return self._sources.utc()

    def synchronised(self) -> bool:
        """Return whether the wall clock was set by the network or by a clock chip."""
        return self._setting.is_set()

    def sleep_until(self, deadline_s: float) -> None:
        """Sleep until ``deadline_s`` seconds after boot."""
        while (left_s := deadline_s - self._sources.boottime_s()) > 0:
            self._sources.sleep(min(left_s, _LONGEST_NAP_S))


class BenchClock:
    """A firing clock that runs ``speed`` times as fast as the wall and never skips a second.

    It stands at the last deadline slept for: a machine too slow for the speed falls behind the wall
    instead of losing readings. Between two runs of the process it goes on, so that the kiln on the
    bench burns on while nobody watches.

    Parameters
    ----------
    epoch_s
        CLOCK_BOOTTIME [s] at which ``now_s`` was 0.
    speed
        Firing seconds a wall second.
    boot_id
        What the bench calls its boot; it stays over a reboot of the machine, as the clock goes on.
    """

    def __init__(self, epoch_s: float, speed: float, boot_id: str = "bench",
                 sources: Sources | None = None) -> None:
        self._sources = sources or system_sources()
        self._setting = _Setting(self._sources)
        self._epoch_s = epoch_s
        self.speed = speed
        self.boot_id = boot_id
        self._now_s = max(0.0, (self._sources.boottime_s() - epoch_s) * speed)

    def now_s(self) -> float:
        """Return the bench's firing clock [s]."""
        return self._now_s

    def utc(self) -> datetime:
        """Return the wall time in UTC; it is not sped up."""
        return self._sources.utc()

    def synchronised(self) -> bool:
        """Return whether the wall clock was set by the network or by a clock chip."""
        return self._setting.is_set()

    def sleep_until(self, deadline_s: float) -> None:
        """Go to ``deadline_s`` of the firing clock, waiting only where the bench is ahead of the wall."""
        wall_s = self._epoch_s + deadline_s / self.speed
        while (left_s := wall_s - self._sources.boottime_s()) > 0:
            self._sources.sleep(min(left_s, _LONGEST_NAP_S))
        self._now_s = max(self._now_s, deadline_s)


def open_bench_clock(path: Path, speed: float, sources: Sources | None = None) -> BenchClock:
    """Return the bench clock kept in ``path`` (JSON), going on from where it stands, or a new one.

    After a reboot of the machine it goes on by wall time; after a change of ``speed`` from the second
    it had reached.
    """
    sources = sources or system_sources()
    kept = _kept_epoch(path)
    now_boottime_s, machine = sources.boottime_s(), sources.boot_id()
    utc_s = sources.utc().timestamp()
    reached_s, boot_id = 0.0, f"bench-{uuid.uuid4()}"
    if kept is not None and kept["machine"] == machine and kept["speed"] == speed:
        return BenchClock(kept["epoch_s"], speed, str(kept["boot_id"]), sources)
    if kept is not None:
        wall_s = (now_boottime_s - kept["epoch_s"] if kept["machine"] == machine
                  else utc_s - kept["epoch_utc_s"])
        reached_s, boot_id = max(0.0, wall_s) * kept["speed"], str(kept["boot_id"])
    past_s = reached_s / speed
    epoch_s = now_boottime_s - past_s
    record = {
        "boot_id": boot_id, "machine": machine, "speed": speed,
        "epoch_s": epoch_s, "epoch_utc_s": utc_s - past_s,
    }
    part = path.with_suffix(".part")
    part.write_text(json.dumps(record), encoding="ascii")
    os.replace(part, path)
    return BenchClock(epoch_s, speed, boot_id, sources)


def _kept_epoch(path: Path) -> dict[str, Any] | None:
    """Return the bench's kept epoch; None where there is none or it can't be read."""
    try:
        record = json.loads(path.read_text(encoding="ascii"))
        return {key: record[key] if key in {"boot_id", "machine"} else float(record[key])
                for key in ("boot_id", "machine", "speed", "epoch_s", "epoch_utc_s")}
    except (OSError, ValueError, KeyError, TypeError):
        return None
