"""The channels, and the messages that no alert asks for. Pure: values in, values out."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import time, tzinfo
from typing import Literal

from daemon.firing.durations import duration
from daemon.firing.events import Milestone, Rank
from daemon.firing.units import NO_SAFETY_DEVICE
from daemon.notify.alert_messages import LOCK_SCREEN_CHARS, Channel, shortened
from daemon.store.outbox import Letter

Loudness = Literal["no", "quiet", "ring"]
LOUDNESS: tuple[Loudness, ...] = ("no", "quiet", "ring")
MILESTONES: dict[str, tuple[str, Loudness]] = {
    "squeeze-begun": ("the squeeze has begun", "no"),
    "top-reached": ("the top is reached", "no"),
    "anneal-begun": ("the anneal hold has begun", "no"),
    "anneal-done": ("the anneal hold is over", "no"),
    "may-be-opened": ("40 °C at the probe", "no"),
    "step": ("what a step of the plan says", "quiet"),
    "call": ("a call at a temperature", "ring"),
    "dry": ("a piece has dried as long as it was to", "quiet"),
}
"""Every choice of milestones: what it tells, and how loudly where the owner chose nothing."""


@dataclass(frozen=True)
class Post:
    """The channels, and how loudly each piece of good news is sent.

    Attributes
    ----------
    channels
        In the order of the settings.
    milestones
        How loudly each is told, by the names of MILESTONES; what is missing is told as usual.
    zone
        The time zone of the times of day in messages; None is the computer's.
    """

    channels: tuple[Channel, ...] = ()
    milestones: Mapping[str, Loudness] = field(default_factory=dict)
    zone: tzinfo | None = None

    def loudness(self, milestone: str) -> Loudness:
        """Return how loudly a milestone is told; ``step-3`` and its like are chosen together."""
        name = re.sub(r"-[\d-]+$", "", milestone)
        if name not in MILESTONES and name.split("-")[0] in MILESTONES:
            name = name.split("-")[0]
        usual: Loudness = MILESTONES[name][1] if name in MILESTONES else "no"
        return self.milestones.get(name, usual)


def is_hushed(hours: tuple[time, time] | None, now: time) -> bool:
    """Return whether ``now`` lies in the owner's quiet hours, which may go over midnight."""
    if hours is None:
        return False
    begin, end = hours
    return begin <= now < end if begin < end else now >= begin or now < end


def of_milestone(milestone: Milestone, about: str, post: Post) -> list[Letter]:
    """Return the messages that tell a milestone ``about`` a firing or piece: none, quiet ones, or ringing ones."""
    loudness = post.loudness(milestone.name)
    if loudness == "no":
        return []
    rings = loudness == "ring"
    title = shortened(("CALL: " if rings else "") + milestone.text.rstrip("."), LOCK_SCREEN_CHARS)
    body = "\n".join([milestone.text, about + ".", NO_SAFETY_DEVICE])
    rank = Rank.WAKE if rings else Rank.LOOK
    return [Letter(channel.name, title, body, "milestone", "wake" if rings else "look")
            for channel in _first(post.channels) if rank in channel.ranks]


def of_return(firing_title: str, away_s: float, reason: str, post: Post) -> list[Letter]:
    """Return the message that says that the watch is back, with the gap; what it finds is told by itself."""
    title = shortened(f"Lehrling is back after {duration(away_s)} without a reading", LOCK_SCREEN_CHARS)
    body = "\n".join([
        f"No reading for {duration(away_s)}: {reason}. The firing is watched again from now on.",
        "If the kiln lost heat meanwhile, a message says what to key in.", firing_title + ".", NO_SAFETY_DEVICE])
    return [Letter(channel.name, title, body, "back") for channel in _first(post.channels)]


def of_missing_probe(why: Sequence[str], post: Post) -> list[Letter]:
    """Return the message that the kiln is not watched since there is no probe."""
    title = shortened("Lehrling does not watch the kiln: no probe", LOCK_SCREEN_CHARS)
    body = "\n".join([*why, "Until it is mended, go by the kiln's own display. A message says when the kiln is "
                      "watched again.", NO_SAFETY_DEVICE])
    return [Letter(channel.name, title, body, "awake") for channel in _first(post.channels)]


def of_probe_found(post: Post) -> list[Letter]:
    """Return the message that there is a probe again."""
    body = "\n".join(["The probe is there, and the kiln is watched from now on.", NO_SAFETY_DEVICE])
    return [Letter(channel.name, shortened("Lehrling watches the kiln again", LOCK_SCREEN_CHARS), body, "back")
            for channel in _first(post.channels)]


def of_missing_sounder(why: Sequence[str], post: Post) -> list[Letter]:
    """Return the message that the sounder at the kiln does not work."""
    body = "\n".join([*why, "The kiln is watched, and messages come all the same.", NO_SAFETY_DEVICE])
    return [Letter(channel.name, shortened("The sounder at the kiln does not work", LOCK_SCREEN_CHARS), body, "awake")
            for channel in _first(post.channels)]


def of_sounder_back(post: Post) -> list[Letter]:
    """Return the message that the sounder works again."""
    body = "\n".join(["It can be switched. Whether it is heard, only you can tell: lehrling alerts test sounder",
                      NO_SAFETY_DEVICE])
    return [Letter(channel.name, shortened("The sounder at the kiln works again", LOCK_SCREEN_CHARS), body, "back")
            for channel in _first(post.channels)]


def of_waking(present: str, trouble: Sequence[str], post: Post) -> list[Letter]:
    """Return the daily word that the watch is awake; where it does not come, something is wrong."""
    title = shortened("Lehrling is awake" + (", with trouble" if trouble else ""), LOCK_SCREEN_CHARS)
    body = "\n".join([present, *trouble, "This comes every day at this time. A day without it: look after Lehrling.",
                      NO_SAFETY_DEVICE])
    return [Letter(channel.name, title, body, "awake") for channel in post.channels]


def of_old_copy(said: str, post: Post) -> list[Letter]:
    """Return the message that no copy elsewhere was taken for long; it can wait for the morning."""
    title = shortened(said.split(". ")[0].rstrip("."), LOCK_SCREEN_CHARS)
    body = "\n".join([said, "If this computer’s card fails, the record is lost. On the kiln’s page, “Check the box” "
                      "says what to do.", NO_SAFETY_DEVICE])
    return [Letter(channel.name, title, body, "awake") for channel in _first(post.channels)
            if Rank.LOOK in channel.ranks]


def of_wear(headline: str, lines: Sequence[str], post: Post) -> list[Letter]:
    """Return the message that the kiln has changed; it can wait for the morning."""
    title = shortened(headline, LOCK_SCREEN_CHARS)
    body = "\n".join([*lines, "The kiln’s page shows this too. Note a new part there, and the count starts afresh.",
                      NO_SAFETY_DEVICE])
    return [Letter(channel.name, title, body, "awake") for channel in _first(post.channels)
            if Rank.LOOK in channel.ranks]


def of_test(channels: Sequence[Channel]) -> list[Letter]:
    """Return a test message for each of ``channels``; it goes the way a wake goes."""
    body = ("This is a test. When you must get up, a message comes like this. Does it ring beside your bed, with the "
            "phone locked and silenced as at night?\n" + NO_SAFETY_DEVICE)
    return [Letter(channel.name, "TEST: Lehrling reaches you here", body, "test", "wake") for channel in channels]


def _first(channels: Sequence[Channel]) -> list[Channel]:
    """Return the channels that are not only for what nobody answers."""
    return [channel for channel in channels if not channel.after_min]
