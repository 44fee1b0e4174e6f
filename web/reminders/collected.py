"""What there is to be reminded of, from the record and the state file."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta, tzinfo
from typing import NamedTuple

import sqlite_utils

from daemon.sensor.due import COMPARE_FIRINGS, a_year_after, comparison_due
from daemon.sensor.reference import Method
from daemon.service.state_reader import DaemonState
from daemon.store import firings, pieces
from daemon.store.wear import calibrations, part_changes
from web.now.opening_words import BEFORE_OPENING, opening_words, safely_by
from web.times import full_date

DRIED_FOR = timedelta(days=7)
"""A piece that dried longer ago than this is no reminder any more. [chosen: somebody looks back over a week]"""
_NO_DAY = datetime(1970, 1, 1, tzinfo=UTC)
_KILN_FIRST = "The kiln’s manual and the local code come first."


class Reminder(NamedTuple):
    """One reminder.

    Attributes
    ----------
    key
        What it is about; the same however often it moves.
    at
        The moment, aware; or a day of the owner's calendar.
    title, said
        One line, and what to do.
    changed_utc
        When it became what it is. It never goes back while the reminder moves, but for a removal that is undone.
    rings
        Whether a calendar may sound for it.
    """

    key: str
    at: datetime | date
    title: str
    said: str
    changed_utc: datetime
    rings: bool = False


def of_drying(db: sqlite_utils.Database, now_utc: datetime) -> Iterator[Reminder]:
    """Yield a reminder for each piece that dries, or dried within the last days."""
    for piece in pieces.drying_until(db, now_utc - DRIED_FOR):
        if piece.dry_by_utc is None or piece.drying_from_utc is None:
            continue
        # Said to be dry early it ends at that moment; so a drying that is over was changed at its end at the latest.
        changed = piece.drying_from_utc if now_utc < piece.dry_by_utc else piece.dry_by_utc
        yield Reminder(
            f"drying-{piece.piece_id}", piece.dry_by_utc, f"{piece.name}: drying done",
            "It has dried as long as you said. Feel whether it is dry before you fire it. Fired wet, colour lifts "
            "and glue spits.", changed, rings=True)


def of_cooling(kiln: str, said: DaemonState | None, zone: tzinfo, unit: str) -> Iterator[Reminder]:
    """Yield when the kiln will be cool enough to open, where a running firing has a forecast.

    There is none while the daemon is silent, and none of a simulated kiln whose time runs faster than a calendar's.
    """
    if said is None or said.stale or said.started_utc is None or said.number("speed") not in {None, 1.0}:
        return
    number, at_s, now_s = said.number("firing_id"), said.number("open_at_s"), said.number("t_s")
    if number is None or at_s is None or now_s is None:
        return
    starts, margin_s = said.started_utc.astimezone(zone), said.number("open_margin_s")
    by = safely_by(at_s, margin_s, starts)
    if by is None:
        return
    when, text = opening_words(at_s, margin_s, now_s, starts, unit)
    yield Reminder(
        f"opening-{number:.0f}", by, f"{kiln}: probably cool enough to open",
        f"{said.text('firing_title')}\nForecast of the running firing, which may still move: "
        f"{f'{when}, ' if when else ''}{text}.\n{BEFORE_OPENING} "
        f"{_KILN_FIRST}", said.written_utc, rings=True)


def of_thermocouple(db: sqlite_utils.Database, kiln_id: int, kiln: str, zone: tzinfo) -> Iterator[Reminder]:
    """Yield when the thermocouple is to be compared again, counted from the last time that its drift was excluded.

    That is a comparison in a hold, or a new thermocouple; for want of both it is the first firing of the record.
    """
    changes = [one.day for one in part_changes.changes(db, kiln_id) if one.part == "thermocouple"]
    holds = [one.day(zone).date() for one in calibrations.of_present(db, kiln_id, zone) if one.method == Method.HOLD]
    first_utc = firings.began(db, kiln_id, _NO_DAY, 1)
    if first_utc is None:
        return
    known = [(day, f"It was compared in a hold on {full_date(day)}.") for day in holds[-1:]]
    known += [(day, f"It was put in on {full_date(day)}.") for day in changes[-1:]]
    first = first_utc.astimezone(zone).date()
    since, why = max(known, default=(first, f"No comparison in a hold is kept since {full_date(first)}."))
    fired_utc = firings.began(db, kiln_id, _start_of(since, zone), COMPARE_FIRINGS)
    yield Reminder(
        f"compare-thermocouple-{kiln_id}",
        comparison_due(since, None if fired_utc is None else fired_utc.astimezone(zone).date()),
        f"{kiln}: compare the thermocouple (suggestion)",
        f"{why} Thermocouples drift when they are hot. To compare one in a hold once a year or every "
        f"{COMPARE_FIRINGS} firings is common practice. How: docs/commands.md, “The thermocouple, compared”.\n"
        f"A new one is put in with the kiln cold and isolated. {_KILN_FIRST}",
        max(found for found in (first_utc, fired_utc, part_changes.last_entry_utc(db, kiln_id, "thermocouple"),
                                calibrations.last_entry_utc(db, kiln_id)) if found is not None))


def of_elements(db: sqlite_utils.Database, kiln_id: int, kiln: str) -> Iterator[Reminder]:
    """Yield a look at the elements a year after they were last changed; nothing where no change is noted."""
    days = [one.day for one in part_changes.changes(db, kiln_id) if one.part == "elements"]
    entered_utc = part_changes.last_entry_utc(db, kiln_id, "elements")
    if not days or entered_utc is None:
        return
    yield Reminder(
        f"look-at-elements-{kiln_id}", a_year_after(days[-1]), f"{kiln}: look at the elements (suggestion)",
        f"They were put in on {full_date(days[-1])}. Nothing says that they are worn; to look at them once a year is "
        "common practice.\nOnly with the kiln cold and isolated. A licensed person changes elements. "
        f"{_KILN_FIRST}", entered_utc)


def _start_of(day: date, zone: tzinfo) -> datetime:
    return datetime(day.year, day.month, day.day, tzinfo=zone)
