"""The daemon's loop: read, take requests, judge, keep, write the state file; once a second of the firing clock."""

from __future__ import annotations

import logging
import sqlite3
from collections.abc import Callable, Sequence
from math import floor
from pathlib import Path

from sqlite_utils import Database

from daemon.clock import Clock
from daemon.errors import BadInput
from daemon.lifecycle.requests import read_request
from daemon.lifecycle.session import Watch
from daemon.notify.missing_part import MissingPart
from daemon.notify.trouble import Ailing, Trouble
from daemon.service import state_file
from daemon.service.inbox import DONE, EXPIRED, Asked, Inbox
from daemon.service.kiln_alarm import HOT_C, KilnAlarm, call
from daemon.service.settings_desk import KIND as SETTINGS
from daemon.service.settings_desk import SettingsDesk
from daemon.service.try_sounder import KIND as SOUNDER_TRIAL
from daemon.store import outbox
from daemon.store.write_queue import Journal, Op
from hw.thermocouple import Fault, Reading, Thermocouple

LOG = logging.getLogger(__name__)
_WRITES_A_WALL_SECOND = 2.0
"""How often the state file is written at most, where the firing clock is sped up. [chosen: the page asks every few
seconds]"""


class Service:
    """Runs one watch on one probe.

    Parameters
    ----------
    clock, probe, watch, journal, inbox
        What it works with.
    kiln_name
        For the present.
    run_dir
        Where the state file goes.
    alive
        Called after every five-second reading that was judged and kept, or waits to be.
    beat
        Called at the end of every tick.
    trouble
        Gives sentences about backups and the check of the database.
    post_trouble
        Gives sentences about messages that do not get through.
    old_copy
        Gives a sentence while the newest copy elsewhere is too old, else nothing.
    no_probe, no_sounder
        Say that there is no probe to read, and that the sounder does not work.
    bell
        The sounder and lamp at the kiln.
    settings_trouble
        Sentences about the owner's settings.
    desk
        What changes them when asked; None where they can't be changed.
    """

    def __init__(self, clock: Clock, probe: Thermocouple, watch: Watch, journal: Journal, inbox: Inbox,
                 kiln_name: str, run_dir: Path, alive: Callable[[], None] = lambda: None,
                 beat: Callable[[], None] = lambda: None,
                 trouble: Callable[[], list[str]] = list, post_trouble: Callable[[], list[str]] = list,
                 old_copy: Callable[[], str] = str, no_probe: MissingPart | None = None,
                 no_sounder: MissingPart | None = None, bell: KilnAlarm | None = None,
                 settings_trouble: Sequence[str] = (),
                 desk: SettingsDesk | None = None) -> None:
        self._clock = clock
        self._probe = probe
        self._watch = watch
        self._journal = journal
        self._inbox = inbox
        self._kiln_name = kiln_name
        self._run_dir = run_dir
        self._alive = alive
        self._beat = beat
        self._trouble = trouble
        self._post_trouble = post_trouble
        self._old_copy = old_copy
        self._no_probe = no_probe or MissingPart()
        self._no_sounder = no_sounder or MissingPart()
        self._bell = bell or KilnAlarm(None)
        self._settings_trouble = settings_trouble
        self._desk = desk
        self._fault: Fault | None = None
        self._failure = ""
        self._written_s = -1.0
        """Second of the firing clock at which the state file was written; below 0 for not yet."""
        self._run_dir_trouble = ""
        self.present_text = "{}"
        """The present as one line of JSON, for the socket."""

    def run(self, stop: Callable[[], bool]) -> None:
        """Work until ``stop`` says so, then write what waits."""
        self._watch.adopt()
        tick_s = self._watch.next_tick_s(self._clock.now_s())
        while not stop():
            self._clock.sleep_until(tick_s)
            if stop():
                break
            self.tick(tick_s)
            self._beat()
            # A tick that came late is not made up for: its reading would carry a wrong second.
            late_s = max(0.0, self._clock.now_s() - tick_s)
            tick_s = self._watch.next_tick_s(tick_s + floor(late_s))
        self._tell_of_stop()
        self._journal.close()
        self._probe.close()
        self._bell.close()

    def tick(self, clock_s: float) -> None:
        """Do all that is due at ``clock_s`` of the firing clock [s]."""
        reading = self._read()
        self._watch.adopt()
        self._watch.overdue(clock_s)
        asked = self._inbox.fresh(self._clock.utc())
        for ask in asked:
            self._take(ask, clock_s)
        complete = self._watch.read(clock_s, reading)
        if complete:
            self._tell_of_parts(clock_s)
        if complete and self._watch.live is None:
            self._journal.flush()  # nothing was written in this tick that could have shown trouble
        if asked or self._written_s < 0 or (complete and self._is_due(clock_s)):
            self._tell(reading, clock_s)
        self._ring(clock_s)
        if complete:
            self._alive()

    def _tell_of_parts(self, clock_s: float) -> None:
        """Send word of a part that is missing or back; of the probe a firing's own alerts tell while one is open."""
        letters, utc = self._no_sounder.letters(clock_s), self._clock.utc()
        if self._watch.live is None:
            letters += self._no_probe.letters(clock_s)

        def post(db: Database) -> None:
            outbox.post(db, letters, utc)

        if letters:
            self._journal.write([post])

    def _ring(self, clock_s: float) -> None:
        """Switch sounder and lamp by the active alerts; a bench that is sped up stays silent."""
        live, last = self._watch.live, self._watch.last
        alerts = live.judge.alerts if live is not None and self._clock.speed == 1.0 else ()
        self._bell.ring(call(
            round(clock_s), alerts, live.second(clock_s) if live is not None else 0.0,
            troubled=bool(self._journal.trouble or self._post_trouble()), tried=self._bell.is_tried(clock_s),
            hot=live is not None and last is not None and (last.temp_c or 0.0) >= HOT_C))

    def _read(self) -> Reading:
        """Return a reading whatever the probe does; a change between fault and none is logged."""
        try:
            reading = self._probe.read()
        except Exception as err:
            if repr(err) != self._failure:
                LOG.exception("The probe could not be read.")
            self._failure = repr(err)
            reading = Reading(None, fault=Fault.SILENT, detail="the program that reads it failed")
        else:
            self._failure = ""
        if reading.fault is not self._fault:
            if reading.fault is None:
                LOG.info("The probe reads again: %.1f °C.", reading.temp_c)
            else:
                LOG.warning("The probe gives no temperature (%s): %s.", reading.fault.value, reading.detail)
            self._fault = reading.fault
        return reading

    def _take(self, asked: Asked, clock_s: float) -> None:
        """Do what is asked, or refuse it, and give the outcome."""
        utc = self._clock.utc()
        try:
            ops = [] if asked.expired else self._done(asked, clock_s)
            outcome = EXPIRED if asked.expired else DONE
        except BadInput as err:
            ops, outcome = [], f"refused: {err.text}"
        except Exception as err:
            # A request is no reason to leave the kiln alone.
            if not isinstance(err, sqlite3.Error):
                LOG.exception("Request %s failed.", asked.kind)
            ops, outcome = [], f"refused: it could not be done ({err}). Try again when that is mended."
        LOG.info("Request %s: %s", asked.kind, outcome)
        self._journal.write([*ops, *asked.settle(outcome, utc)])

    def _done(self, asked: Asked, clock_s: float) -> list[Op]:
        """Do what is asked and return what has to be kept of it; BadInput where it can't be done."""
        if asked.kind == SETTINGS and self._desk is not None:
            return self._desk.take(asked.payload, firing_open=self._watch.live is not None,
                                   has_probe=not self._no_probe.trouble)
        if asked.kind == SOUNDER_TRIAL:
            if self._clock.speed != 1.0:
                raise BadInput("sounder", "a simulated kiln that runs faster than a real one keeps silent.")
            self._bell.try_out(clock_s)
            return []
        return self._watch.ask(read_request(asked.kind, asked.payload), clock_s)

    def _is_due(self, clock_s: float) -> bool:
        return (clock_s - self._written_s) * _WRITES_A_WALL_SECOND >= self._clock.speed

    def _tell(self, reading: Reading, clock_s: float) -> None:
        """Write the state file, with everything that is wrong."""
        live = self._watch.live
        sentences = (
            (Ailing.PROBE, self._no_probe.trouble), (Ailing.RECORD, self._journal.trouble),
            (Ailing.JUDGING, live.judge.trouble if live else []),
            (Ailing.DELIVERY, self._post_trouble()), (Ailing.UPKEEP, self._trouble()),
            (Ailing.COPIES, [said] if (said := self._old_copy()) else []),
            (Ailing.SOUNDER, self._bell.trouble), (Ailing.SETTINGS, self._settings_trouble))
        troubles = [Trouble(ailing, text) for ailing, texts in sentences for text in texts]
        state = state_file.present(
            self._clock, self._kiln_name, reading, self._watch.last, live, troubles)
        self.present_text = state_file.as_text(state)
        self._written_s = clock_s
        self._write()

    def _tell_of_stop(self) -> None:
        """Say in the state file that the watch stops, so that nobody reads its last words as the present."""
        self.present_text = state_file.as_stopped(self.present_text)
        if self._written_s >= 0:
            self._write()

    def _write(self) -> None:
        """Write the state file; where that fails, log it once."""
        try:
            state_file.write(self._run_dir, self.present_text)
            self._run_dir_trouble = ""
        except OSError as err:
            if str(err) != self._run_dir_trouble:
                LOG.error("The state file can't be written: %s.", err)
            self._run_dir_trouble = str(err)
