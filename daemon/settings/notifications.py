"""How the owner is reached, as the settings say: channels, good news, quiet hours, signs of life, a sounder."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import time
from pathlib import Path
from types import MappingProxyType
from typing import Any

from daemon.fields import Fields
from daemon.firing.events import Rank
from daemon.notify.alert_messages import TOLD_RANKS, Channel
from daemon.notify.other_messages import LOUDNESS, MILESTONES, Loudness
from daemon.toml import shown
from hw.sounder import read_gpio_settings


@dataclass(frozen=True, slots=True)
class Alive:
    """Where a sign of life is sent, so that its absence is noticed elsewhere.

    Attributes
    ----------
    url_file, mqtt_file
        Files that hold an address to ask, and an MQTT broker with a topic; None is neither.
    every_s
        How often [s].
    """

    url_file: Path | None = None
    mqtt_file: Path | None = None
    every_s: float = 60.0


def milestones(tell: Fields) -> dict[str, Loudness]:
    """Return how loudly each milestone is told that the owner chose for."""
    chosen = [name for name in MILESTONES if name in tell.left]
    tell.known += [name for name in MILESTONES if name not in chosen]
    words = {name: tell.choice(name, MILESTONES[name][1], LOUDNESS) for name in chosen}
    return {name: next(word for word in LOUDNESS if word == said) for name, said in words.items()}


def clock_time(table: Fields, key: str) -> time | None:
    """Return a time of day; None where the key is left out."""
    value = table.text(key, "")
    if not value:
        return None
    try:
        return time.fromisoformat(value).replace(second=0, microsecond=0, tzinfo=None)
    except ValueError:
        table.problem(key, f"{shown(value)} is no time of day.", 'Write it as "22:30".')
        return None


def quiet_hours(owner: Fields) -> tuple[time, time] | None:
    """Return from when to when what can wait is kept back."""
    begin, end = clock_time(owner, "quiet_from"), clock_time(owner, "quiet_to")
    if begin is None and end is None:
        return None
    if begin is None or end is None or begin == end:
        since, until = begin or time(22), end if end != begin and end else time(7)
        owner.problem("quiet_from", "quiet hours need two different times.",
                      f"Give both at once: lehrling settings set owner.quiet_from {since:%H:%M} "
                      f"owner.quiet_to {until:%H:%M}. Or unset both.")
        return None
    return begin, end


def alive(table: Fields, folder: Path) -> Alive:
    """Return where a sign of life is sent."""
    every_s = table.whole("every_s", 60, 10, 3600, "60 is usual.")
    url, mqtt = table.text("url_file", ""), table.text("mqtt_file", "")
    return Alive(folder / url if url else None, folder / mqtt if mqtt else None, float(every_s))


def sounder(top: Fields) -> Mapping[str, Any] | None:
    """Return kind and settings of the sounder at the kiln; None where there is none, or an empty section."""
    if "sounder" not in top.left:
        top.known.append("sounder")
        return None
    table = top.table("sounder")
    if not table.left:
        return None
    kind = table.text("kind", "gpio")
    given = dict(table.left)
    if kind == "gpio":
        read_gpio_settings(table)
        table.refuse_the_rest()
    return MappingProxyType({**given, "kind": kind})


def channels(top: Fields, folder: Path) -> tuple[Channel, ...]:
    """Return every channel of the settings."""
    rows = top.take("channel", list, [], "a list of channels", "Write [[channel]] above each.")
    found: list[Channel] = []
    for number, row in enumerate(rows, start=1):
        where = f"[[channel]] {number} "
        if not isinstance(row, dict):
            top.problem(where.strip(), f"{shown(row)} is no channel.", "Write [[channel]] above its lines.")
            continue
        found += _channel(Fields(row, where, top.problems), folder, {channel.name for channel in found})
    return tuple(found)


def _channel(table: Fields, folder: Path, taken: set[str]) -> list[Channel]:
    """Return a channel, in a list; an empty one where it can't be used."""
    name, file = table.text("name", ""), table.text("url_file", "")
    words = table.texts("ranks", tuple(rank.value for rank in TOLD_RANKS))
    for word in words:
        if word not in {rank.value for rank in TOLD_RANKS}:
            table.problem("ranks", f"{shown(word)} is unknown.", 'Known: "wake", "look".')
    for key, value in (("name", name), ("url_file", file)):
        if not value:
            table.problem(key, "missing.", f'Write {key} = "…".')
    after_min = table.whole("after_min", 0, 0, 240, "10 is usual for a second phone.")
    if name in taken:
        table.problem("name", f"{shown(name)} is taken by another channel.", "Give each its own name.")
    table.refuse_the_rest()
    if not name or not file:
        return []
    ranks = tuple(rank for rank in TOLD_RANKS if rank.value in words)
    return [Channel(name, folder / file, ranks or (Rank.WAKE,), float(after_min))]
