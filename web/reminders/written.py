"""Reminders written as iCalendar, by RFC 5545, with NAME and REFRESH-INTERVAL of RFC 7986."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

from web.reminders.collected import Reminder

if TYPE_CHECKING:
    from icalendar import Event, Timezone

CONTENT_TYPE = "text/calendar; charset=utf-8"
_EVERY = timedelta(hours=1)
"""How often a calendar is asked to look again. [chosen: the forecast of an opening moves by less]"""
_LONG = timedelta(minutes=15)
"""How long a reminder is drawn. [chosen: it is seen in the view of a day]"""
_COUNTED_FROM = datetime(2020, 1, 1, tzinfo=UTC)
"""SEQUENCE counts the seconds from here, so that it fits 32 bits (RFC 5545, 3.3.8) until 2088."""
_CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f]")
"""What may stand in no text of a calendar (RFC 5545, 3.3.11); the line feed, which is escaped, left aside."""


def calendar(name: str, house: str, reminders: Iterable[Reminder]) -> bytes:
    """Return reminders as an iCalendar object: UTC, lines folded and ended by CRLF, nothing that could be run.

    Parameters
    ----------
    name
        What the calendar is called where it is subscribed to.
    house
        A mark of this house, which makes the ids its own.
    reminders
        What stands in it. The same ones give the same bytes, whenever they are asked for.
    """
    from icalendar import Calendar, vText  # by the first request for reminders, and no other

    made = Calendar()
    made.add("prodid", "-//Lehrling//Reminders//EN")
    made.add("version", "2.0")
    for key in ("name", "x-wr-calname"):  # RFC 7986, and what calendars read that are older
        made.add(key, vText(_text(name)))
    made.add("refresh-interval", _EVERY, parameters={"VALUE": "DURATION"})
    for reminder in reminders:
        made.add_component(_event(reminder, house))
    if not made.subcomponents:
        made.add_component(_utc())
    text: bytes = made.to_ical()
    return text


def _event(reminder: Reminder, house: str) -> Event:
    from icalendar import Alarm
    from icalendar import Event as NewEvent

    event, changed_utc = NewEvent(), reminder.changed_utc.astimezone(UTC).replace(microsecond=0)
    event.add("uid", f"{reminder.key}-{house}@lehrling")
    event.add("dtstamp", changed_utc)
    event.add("last-modified", changed_utc)
    event.add("sequence", max(0, int((changed_utc - _COUNTED_FROM).total_seconds())))
    if isinstance(reminder.at, datetime):
        event.add("dtstart", reminder.at.astimezone(UTC).replace(microsecond=0))
        event.add("duration", _LONG)
    else:
        event.add("dtstart", reminder.at)
    event.add("summary", _text(reminder.title).replace("\n", " "))
    event.add("description", _text(reminder.said))
    event.add("transp", "TRANSPARENT")
    if reminder.rings:
        alarm = Alarm()
        alarm.add("action", "DISPLAY")
        alarm.add("trigger", timedelta(0))
        alarm.add("description", _text(reminder.title).replace("\n", " "))
        event.add_component(alarm)
    return event


def _utc() -> Timezone:
    """Return the zone UTC, which stands where nothing else does: an object without a component is none (3.6)."""
    from icalendar import Timezone as NewTimezone
    from icalendar import TimezoneStandard

    zone, standard = NewTimezone(), TimezoneStandard()
    zone.add("tzid", "UTC")
    standard.add("dtstart", datetime(1970, 1, 1))  # noqa: DTZ001  local by definition (3.6.5)
    standard.add("tzoffsetfrom", timedelta(0))
    standard.add("tzoffsetto", timedelta(0))
    zone.add_component(standard)
    return zone


def _text(said: str) -> str:
    """Return a text without control characters and halves of characters."""
    return _CONTROL.sub(" ", said).encode(errors="replace").decode()
