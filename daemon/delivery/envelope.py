"""What is written around a stored message when it is sent: its number, its age, how things stand now."""

from __future__ import annotations

from datetime import datetime, tzinfo

from daemon.firing.durations import duration

LATE_S = 120.0
"""A message older than this says so [s]: what it tells may have changed. [chosen: some tries have failed by
then]"""
BELIEVABLE_S = 14 * 86_400.0
"""A greater age is a clock that was not set, not an age [s]. [chosen: two weeks, longer than any firing and its
cooling]"""


def as_printed(text: str) -> str:
    """Return ``text`` with the apostrophe of print, as the page has it."""
    return text.replace("'", "’")


def enveloped(
    body: str, number: int | None, created: datetime, now: datetime, zone: tzinfo | None = None, present: str = "",
) -> str:
    """Return ``body`` as it is sent.

    Parameters
    ----------
    body
        The stored message.
    number
        Its number in the outbox. A message may arrive twice after a crash; the number tells. None is a message
        that could not be kept yet.
    created, now
        When it was written and when it is sent, both aware.
    zone
        The owner's time zone; None is the computer's.
    present
        How the kiln stands now, in one sentence; empty where unknown. Only a late message tells it.
    """
    late_s = (now - created).total_seconds()
    lines = []
    if LATE_S < late_s < BELIEVABLE_S:
        at = f"{created.astimezone(zone):%H:%M}"
        lines.append(f"Late: written at {at}, {duration(late_s)} ago.")
        if present:
            lines.append(f"Now: {present}")
    known = "Sent from memory, since the record can't be written; it may come again." if number is None else \
        f"Message {number}; the same number again is the same message."
    lines += [body, known]
    return "\n".join(lines)
