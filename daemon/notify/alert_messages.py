"""Which channels get which message when the state of an alert changes. Pure: values in, values out."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

from daemon.firing.alerts.registry import kind_title, may_go_on
from daemon.firing.durations import deadline, duration, time_left
from daemon.firing.events import Alert, AlertChanged, Rank, Text
from daemon.firing.units import NO_SAFETY_DEVICE, Units
from daemon.firing.verdict.glass_status import MOVING_C_PER_H

LOCK_SCREEN_CHARS = 60
"""About what a phone shows of a title on its lock screen, in characters. [common practice]"""
Clock = Callable[[float], str]
"""Returns the owner's time of day at a second of the firing [s]."""
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
    rate_c_per_h: float | None = None
    """What the kiln does [°C/h]; None where that can't be told."""

    @property
    def is_heated(self) -> bool:
        """Return whether the kiln is seen to climb or to hold: its power is on."""
        return self.rate_c_per_h is not None and self.rate_c_per_h > -MOVING_C_PER_H


class OutboxRow(NamedTuple):
    """One message for one channel, stored in the same transaction as the transition it tells of."""

    channel: str
    title: str
    body: str


def rows_for(change: AlertChanged, firing_title: str, channels: Sequence[Channel], now: Afterwards | None = None,
             clock: Clock | None = None) -> list[OutboxRow]:
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
    clock
        Returns the time of day at a second of the firing; None where it is not known.

    Returns
    -------
    list of OutboxRow
        Empty when the change is not one that is told: acknowledged, quieted, noted, or a consequence
        of an alert that has been told already.
    """
    if not _is_told(change):
        return []
    return [OutboxRow(channel.name, _title(change, channel, now), _body(change, firing_title, channel, now, clock))
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
    """Return the line a lock screen shows: rank, then the state of the kiln, then a figure or an act."""
    if change.change == "over":
        if now is not None and not now.nothing_to_do:
            *_, do = now.sentence.split(". ")
            return shortened(f"Now: {_headline(do)}", LOCK_SCREEN_CHARS)
        word = "No longer seen" if _going_on(change.alert, now) else "It is over"
        return shortened(f"{word}: {kind_title(change.alert.kind)}", LOCK_SCREEN_CHARS)
    if change.alert.rank is Rank.LOOK:
        word = "Look in the morning"
    else:
        word = "UNANSWERED" if channel.after_min else "GET UP"
    return shortened(f"{word}: {_headline(change.alert.text.what)}", LOCK_SCREEN_CHARS)


def _going_on(alert: Alert, now: Afterwards | None) -> str:
    """Return what may still be so where an alert is no longer seen; empty where the readings show that it is not."""
    return "" if now is not None and now.is_heated else may_go_on(alert.kind)


def _body(change: AlertChanged, firing_title: str, channel: Channel, now: Afterwards | None,
          clock: Clock | None) -> str:
    """Return the message: what, what it means, what to do until when, and where."""
    alert = change.alert
    where = firing_title + (f", step {alert.step}" if alert.step is not None else "") + "."
    lasted = duration(change.t_s - alert.since_s)
    since = f", since {clock(alert.since_s)}" if clock is not None else ""
    if change.change == "over":
        going_on = _going_on(alert, now)
        by_now = " The kiln falls no longer." if may_go_on(alert.kind) and not going_on else ""
        then = f", from {clock(alert.since_s)} to {clock(change.t_s)}" if clock is not None else ""
        said = [f"Lehrling no longer sees this: {lower(alert.text.head or alert.text.what)}",
                f"It was seen for {lasted}{then}. But {going_on}." if going_on else
                f"It lasted {lasted}{then}.{by_now}",
                "It may come back: look at the firing's page."]
        return "\n".join([*said, *([] if now is None else [f"Now: {now.sentence}"]), where, NO_SAFETY_DEVICE])
    lines = [alert.text.what]
    if change.change == "resounded":
        lines.append(f"It is still so{since}, {lasted} by now.")
    if channel.after_min and alert.woke_s is not None:
        lines.append(f"Nobody has answered for {duration(change.t_s - alert.woke_s)}: look after the kiln, or wake "
                     "somebody who can.")
    lines += [*_until(alert.text, change.t_s, clock), alert.text.meaning, *_acts(alert.text), where, NO_SAFETY_DEVICE]
    return "\n".join(line for line in lines if line)


def _until(text: Text, now_s: float, clock: Clock | None) -> list[str]:
    """Return until when to act, as a sentence with the time of day; none where that is not known."""
    if text.time_left_s is None:
        return []
    if clock is None or text.before_s is None:
        return [time_left(text.time_left_s)]
    return [deadline(clock(text.before_s), text.before_s - now_s)]


def _acts(text: Text) -> list[str]:
    """Return what to do, a numbered act a line, each line to key in on its own, the caution at the end."""
    if not text.acts:
        return [f"Do: {text.do}"]
    said: list[str] = []
    for number, act in enumerate(text.acts):
        said.append(f"{number + 1}. {act}" if len(text.acts) > 1 else act)
        if number == text.lines_after:
            said += [f"   {row}" for row in Units(text.key_unit or "C").listed(text.lines, text.keyed_from_c)]
    return [*said, text.caution]


def _headline(text: str) -> str:
    """Return the first sentence, for use after a colon; a point inside a figure does not end it."""
    return lower(text.strip().split(". ", 1)[0].split("\n", 1)[0].rstrip(". ").replace(": ", ", ", 1))


def lower(sentence: str) -> str:
    """Return ``sentence`` to stand behind a colon; a name or a figure at its front stays as it is."""
    return sentence[:1].lower() + sentence[1:] if sentence[1:2].islower() else sentence


def shortened(text: str, most: int) -> str:
    """Return ``text`` within ``most`` characters, cut after a clause where that keeps half, else a word."""
    if len(text) <= most:
        return text
    head = text[: most - 1]
    clause = max(head.rfind(", "), head.rfind("; "))
    return head[:clause if clause >= most // 2 else head.rfind(" ")].rstrip(" ,;:") + "…"
