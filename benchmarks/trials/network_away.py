"""Six hours without a network, in simulated time: whether every wake arrives afterwards, in order, without a storm.

    python -m benchmarks.trials network-away [--short]

The delivery loop itself works on a record, by a clock that leaps, with a channel that takes nothing for six hours.
Every ten minutes a wake is raised, and between two of them each of the last three sounds again. Once an hour delivery
is "killed": it forgets all that is not in the record. Afterwards the channel takes messages, and once delivery is
killed between the taking and the mark.

Each wake must have arrived, first arrivals in order. What sounded again is told at most once for each alert. Only the
message of that last kill may have come twice. ``--short`` is an hour and a half.
"""

from __future__ import annotations

import logging
import random
import re
from datetime import UTC, datetime
from pathlib import Path
from time import sleep

from sqlite_utils import Database

from benchmarks.trials.leaping_clock import LeapingClock
from daemon.delivery.envelope import enveloped
from daemon.delivery.sender import Kind, Outcome
from daemon.delivery.stored_outbox import StoredBox, open_outbox
from daemon.delivery.when_to_send import JITTER, LONGEST_WAIT_S, Delivery
from daemon.firing.events import Alert, AlertChanged, Change, Rank, Text
from daemon.notify.alert_messages import Channel, rows_for
from daemon.notify.unstored import BoxAndMemory
from daemon.store import alerts, kilns, outbox
from daemon.store.database import FILE_NAME, NoDatabase, create_database
from daemon.store.firings import open_firing

AWAY_S, SHORT_S = 6 * 3600, 5400
WAKE_EVERY_S, AGAIN_EVERY_S, KILL_EVERY_S = 600, 300, 3600
STAND = 3
"""So many of the newest alerts sound again."""
ROUND_S = 1
CHANNEL = Channel("phone", Path("phone.url"))


class Studio:
    """A record with an open firing, a channel that can be taken away, and a delivery that can be killed."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.clock = folder, LeapingClock(datetime(2026, 3, 1, tzinfo=UTC))
        self._chance = random.Random(5)
        self.is_away, self.tries, self.wakes, self.again, self.kills = True, 0, 0, 0, 0
        self.taken: list[int] = []
        """Numbers of the messages in the order in which the channel took them."""
        self.daemons = create_database(folder / FILE_NAME)
        kiln = kilns.kiln_id(self.daemons, "bench")
        self._firing_id = open_firing(
            self.daemons, kiln_id=kiln, probe_id=kilns.probe_id(self.daemons, kiln, "bench", "K"), title="Invented",
            opened_by="maker", started_utc=self.clock.utc(), boot_id="bench", clock_s=0.0)
        self._its: Database | None = None
        self.kill()

    def kill(self) -> None:
        """End delivery as it is, and start another one on the record."""
        if self._its is not None:
            self._its.close()
            self.kills += 1
        self._is_fresh = True
        found = open_outbox(self.folder / FILE_NAME)
        if isinstance(found, NoDatabase):
            raise found
        self._its = found
        box = BoxAndMemory(StoredBox(found), self.folder, "none.sock", "none.json")
        self.delivery = Delivery(
            box, {CHANNEL.name: self._take}, self.clock, self._chance,
            lambda message: enveloped(message.body, message.outbox_id, message.created_utc, self.clock.utc()))

    def _take(self, _title: str, body: str, _kind: Kind) -> Outcome:
        """Be the channel."""
        self.tries += 1
        if self.is_away:
            return Outcome(False, "no connection")
        found = re.search(r"^Message (\d+);", body, re.MULTILINE)
        self.taken.append(int(found[1]) if found is not None else -1)
        return Outcome(True)

    def raise_alert(self) -> None:
        """Record the next wake."""
        self.wakes += 1
        self._record(self.wakes, "raised")

    def sound_again(self) -> None:
        """Record that the newest alerts sound again."""
        for no in range(max(1, self.wakes - STAND + 1), self.wakes + 1):
            self.again += 1
            self._record(no, "resounded")

    def _record(self, no: int, change: Change) -> None:
        t_s, self._is_fresh = self.clock.now_s(), True
        alert = Alert(no=no, kind="not-cooling", rank=Rank.WAKE, since_s=t_s, raised_s=t_s, woke_s=t_s,
                      text=Text(f"Not cooling, {no}.", "Nothing is meant.", "Nothing."))
        told = AlertChanged(t_s, change, alert)
        alerts.record(self.daemons, self._firing_id, told, self.clock.utc(), rows_for(told, "Invented", [CHANNEL]))

    def round(self, *, settle: bool = True) -> None:
        """Let delivery look and end what it has begun; without ``settle`` only until the channel took a message."""
        known = len(self.taken)
        self.delivery.round(look=self._is_fresh)
        self._is_fresh = False
        while self.delivery.busy and (settle or len(self.taken) == known):
            sleep(0.0005)
            if settle or self.is_away:
                self.delivery.round(look=False)
        self.clock.sleep_until(self.clock.now_s() + ROUND_S)


def _be_away(studio: Studio, away_s: int) -> None:
    """Let the network be away for so long."""
    for second in range(0, away_s, ROUND_S):
        if second % WAKE_EVERY_S == 0:
            studio.raise_alert()
        elif second % AGAIN_EVERY_S == 0:
            studio.sound_again()
        if second % KILL_EVERY_S == KILL_EVERY_S - ROUND_S:
            studio.kill()
        studio.round()


def _come_back(studio: Studio) -> float:
    """Let the network be back, and kill delivery after the first taking; return after how long all is there [s]."""
    studio.is_away, back_s = False, studio.clock.now_s()
    most_s = back_s + 2 * LONGEST_WAIT_S * (1 + JITTER)
    while not studio.taken and studio.clock.now_s() < most_s:
        studio.round(settle=False)
    studio.kill()
    while outbox.unsent(studio.daemons) and studio.clock.now_s() < most_s:
        studio.round()
    return studio.clock.now_s() - back_s


def run(scratch: Path, *, short: bool) -> dict[str, object]:
    """Run the trial in an empty folder; return its figures, with ``problems`` among them."""
    log = logging.getLogger("lehrling.deliver")
    level = log.level
    log.setLevel(logging.ERROR)  # a line for each try would hide the figures
    try:
        return _run(scratch, short=short)
    finally:
        log.setLevel(level)


def _run(scratch: Path, *, short: bool) -> dict[str, object]:
    """Run the trial, as ``run`` says."""
    studio, away_s = Studio(scratch), SHORT_S if short else AWAY_S
    _be_away(studio, away_s)
    tries, problems = studio.tries, ["a message arrived while the network was away"] if studio.taken else []
    took_s = _come_back(studio)
    first = list(dict.fromkeys(studio.taken))
    change = dict(studio.daemons.execute(
        "SELECT outbox_id, change FROM outbox JOIN transition USING (transition_id)").fetchall())
    wakes = [number for number, what in change.items() if what == "raised"]
    if left := len(outbox.unsent(studio.daemons)):
        problems.append(f"{left} messages wait still after {took_s:.0f} s")
    if [number for number in first if change.get(number) == "raised"] != sorted(wakes) or len(wakes) != studio.wakes:
        problems.append(f"wakes {sorted(wakes)} written, arrived: {first}")
    if first != sorted(first):
        problems.append(f"not in order: {first}")
    if (again := len(first) - len(wakes)) > studio.wakes:
        problems.append(f"{again} messages that an alert stands still, of {studio.wakes} alerts")
    if (twice := len(studio.taken) - len(first)) > 1:
        problems.append(f"{twice} messages arrived twice")
    studio.daemons.close()
    return {"away_s": away_s, "wakes": studio.wakes, "sounded_again": studio.again, "kills": studio.kills,
            "tries_meanwhile": tries, "arrived": len(first), "of_these_still_standing": again, "twice": twice,
            "all_there_after_s": round(took_s, 1), "problems": problems}
