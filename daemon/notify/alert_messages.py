"""Which channels get which message when the state of an alert changes. Pure: values in, values out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

from daemon.firing.durations import duration, time_left
from daemon.firing.events import AlertChanged, Rank
from daemon.firing.units import NO_SAFETY_DEVICE

LOCK_SCREEN_CHARS = 60
"""About what a phone shows of a title on its lock screen, in characters. [common practice]"""
TOLD_RANKS = (Rank.WAKE, Rank.LOOK)
"""Ranks that are sent; what is only noted stays in the database."""


@dataclass(frozen=True, slots=True)
class Channel:
    """One way to reach the owner, as ``[[channel]]`` of the configuration names it.

    Attributes
    ----------
    name
        The owner's name for it, unique; the only thing of it that is stored or logged.
    url_file
        Path of the file that holds its address, which may be a secret.
    ranks
        The ranks it is told of.
    """

    name: str
    url_file: Path
    ranks: tuple[Rank, ...] = TOLD_RANKS
    after_min: float = 0.0
    """It is told only of wakes that nobody answered for this long [min]: a second phone, another person."""


class Afterwards(NamedTuple):
    """How the firing stands when an alert is over."""

    sentence: str
    """The one sentence of Now."""
    nothing_to_do: bool


class OutboxRow(NamedTuple):
    """One message for one channel, stored in the same transaction as the transition it tells of."""

    channel: str
    title: str
    body: str


def rows_for(change: AlertChanged, firing_title: str, channels: Sequence[Channel],
             now: Afterwards | None = None) -> list[OutboxRow]:
    """Return the messages one change of an alert asks for, in the order of ``channels``.

    Parameters
    ----------
    change
        What happened to the alert.
    firing_title
        The firing's name, for the body.
    channels
        Every configured channel; those whose ranks leave this alert out get nothing.
    now
        How the firing stands, for an alert that is over; None where that is not known.

    Returns
    -------
    list of OutboxRow
        Empty when the change is not one that is told: acknowledged, quieted, noted, or a consequence
        of an alert that has been told already.
    """
    if not _is_told(change):
        return []
    return [OutboxRow(channel.name, _title(change, channel, now), _body(change, firing_title, channel, now))
            for channel in channels if change.alert.rank in channel.ranks and _reaches(change, channel)]


def _reaches(change: AlertChanged, channel: Channel) -> bool:
    """Return whether this channel is due: at once, or when nobody has acknowledged for long enough."""
    if not channel.after_min:
        return True
    alert = change.alert
    if alert.woke_s is None:
        return False
    due_s = alert.woke_s + channel.after_min * 60.0
    if change.change == "over":
        return change.t_s >= due_s and (alert.acknowledged_s is None or alert.acknowledged_s >= due_s)
    return change.t_s >= due_s and alert.acknowledged_s is None


def _is_told(change: AlertChanged) -> bool:
    """Return whether a step of an alert is worth a message."""
    alert = change.alert
    if change.silent or alert.rank not in TOLD_RANKS:
        return False
    if alert.under is not None and alert.rank is not Rank.WAKE:
        return False  # a consequence: its cause has been told
    if change.change == "sharpened":
        return change.before is not None and alert.rank.height > change.before.height  # a name alone is no news
    if change.change == "over":
        return alert.rank is Rank.WAKE
    return change.change in ("raised", "woke", "resounded")


def _title(change: AlertChanged, channel: Channel, now: Afterwards | None) -> str:
    """Return the line a lock screen shows."""
    if change.change == "over":
        if now is not None and not now.nothing_to_do:
            *_, do = now.sentence.split(". ")
            return shortened(f"Now: {_headline(do)}", LOCK_SCREEN_CHARS)
        word = "Over"
    elif change.alert.rank is Rank.LOOK:
        word = "When you're up"
    elif channel.after_min:
        word = "UNANSWERED"
    else:
        word = "WAKE again" if change.change == "resounded" else "WAKE"
    return shortened(f"{word}: {_headline(change.alert.text.what)}", LOCK_SCREEN_CHARS)


def _body(change: AlertChanged, firing_title: str, channel: Channel, now: Afterwards | None) -> str:
    """Return the message: what, what it means, what to do, how long there is, and where."""
    alert = change.alert
    where = firing_title + (f", step {alert.step}" if alert.step is not None else "") + "."
    lines = [alert.text.what]
    lasted = duration(change.t_s - alert.since_s)
    if change.change == "over":
        lines.append(f"This alert has ended; it lasted {lasted}.")
        lines += [] if now is None else [f"Now: {now.sentence}"]
        return "\n".join([*lines, where, NO_SAFETY_DEVICE])
    if change.change == "resounded":
        lines.append(f"It still stands, {lasted} after it began.")
    if channel.after_min and alert.woke_s is not None:
        since = duration(change.t_s - alert.woke_s)
        lines.append(f"Nobody has answered for {since}: look after the kiln, or wake somebody who can.")
    left = [] if alert.text.time_left_s is None else [time_left(alert.text.time_left_s)]
    lines += [alert.text.meaning, f"Do: {alert.text.do}", *left, where, NO_SAFETY_DEVICE]
    return "\n".join(lines)


def _headline(text: str) -> str:
    """Return the first sentence, for use after a colon; a point inside a figure does not end it."""
    sentence = text.strip().split(". ", 1)[0].split("\n", 1)[0].rstrip(". ").replace(": ", ", ", 1)
    return sentence[:1].lower() + sentence[1:] if sentence[1:2].islower() else sentence


def shortened(text: str, most: int) -> str:
    """Return ``text`` within ``most`` characters, cut after a clause where that keeps half, else a word."""
    if len(text) <= most:
        return text
    head = text[: most - 1]
    clause = max(head.rfind(", "), head.rfind("; "))
    return head[:clause if clause >= most // 2 else head.rfind(" ")].rstrip(" ,;:") + "…"
