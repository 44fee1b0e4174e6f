"""The collecting itself: round after round, each box is asked what it has after the mark, and that is kept.

Nothing is ever sent to a box but questions. Where a box or the database is away, a later round goes on.
"""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from daemon.clock import Clock
from daemon.errors import BadInput
from daemon.studio import checking, line, taking
from daemon.studio.checking import BEGINNING, Mark, OtherRecord, Unlike
from daemon.studio.database import be_alone, connect, migrate
from daemon.studio.given import MOST_ASKED
from daemon.studio.line import Refused, Silent
from daemon.studio.settings import Box, Studio

if TYPE_CHECKING:
    import psycopg

    Connection = psycopg.Connection[Any]

LOG = logging.getLogger("lehrling.studio")
AT_ONCE = 8
"""Boxes that are asked at the same time. [chosen: most of the time is spent waiting for them]"""
MOST_ANSWERS = 60
"""Answers with links that are taken from a box in one round, so that one with ten years to give keeps no other
waiting. [chosen: some 10,000 links]"""
STUDIO_EVERY = 6
"""Plans and pieces are asked for in one of so many rounds. [chosen: once a minute]"""
OTHER_RECORD = ("{} This address has another record now: was the box set up anew, exchanged, or put back from an "
                "older copy? What was collected stays as it is, and nothing more is taken. To begin anew beside it: "
                "lehrling studio renew {}")


@dataclass
class _Asked:
    """What is remembered of a box between two rounds; all of it can be lost."""

    rounds: int = 0
    said: str = ""
    """The trouble that was logged last."""
    turn: int = 0
    """Which firing is looked at again next."""
    waits: set[int] = field(default_factory=set)
    """Firings about whose rest nothing was asked since they changed."""
    db: Connection | None = None
    """A connection for this box, kept from round to round."""

    def let_go(self) -> None:
        """Close the connection; the next round makes a new one."""
        if self.db is not None:
            self.db.close()
            self.db = None


class Collector:
    """Collects from all boxes of a studio.

    Parameters
    ----------
    studio
        The settings.
    clock
        For stamps, and the time between two rounds.
    """

    def __init__(self, studio: Studio, clock: Clock) -> None:
        self._studio, self._clock = studio, clock
        self._asked = {box.name: _Asked() for box in studio.boxes}
        self._lock_holder: Connection | None = None
        self._said = ""

    def run(self, stopped: threading.Event) -> None:
        """Collect until told to stop.

        Raises
        ------
        BadInput
            Where the settings or the tables can't be used; a database that is away is waited for.
        """
        with ThreadPoolExecutor(AT_ONCE, thread_name_prefix="box") as pool:
            while not stopped.is_set():
                self.round(pool.map)
                stopped.wait(self._studio.every_s)

    def round(self, each: Callable[..., Any] = map) -> None:
        """Ask every box once."""
        from psycopg import OperationalError

        try:
            self._hold_lock()
        except (BadInput, OperationalError) as err:
            if isinstance(err, BadInput) and not _may_pass(err):
                raise
            self._say(err.text if isinstance(err, BadInput) else "the database went away.")
            self._lock_holder = None
            return
        if self._said:
            LOG.info("the database answers again; nothing is lost, since each box keeps its record")
        self._said = ""
        list(each(self._one, self._studio.boxes))

    def close(self) -> None:
        """Let go of the database."""
        for asked in self._asked.values():
            asked.let_go()
        if self._lock_holder is not None:
            self._lock_holder.close()

    def _hold_lock(self) -> None:
        """Hold the lock of the one that collects, in a connection that is asked each round whether it lives."""
        if self._lock_holder is not None:
            self._lock_holder.execute("SELECT 1")
            return
        fresh = connect(self._studio, autocommit=True)
        try:
            migrate(fresh, f"{self._studio.file}, database")
            be_alone(fresh, f"{self._studio.file}, database")
        except BaseException:
            fresh.close()
            raise
        self._lock_holder = fresh

    def _say(self, trouble: str) -> None:
        if trouble != self._said:
            LOG.error("%s It is tried again every %d s.", trouble, self._studio.every_s)
        self._said = trouble

    def _one(self, box: Box) -> None:
        """Ask one box; whatever goes wrong is told, and the next round tries again."""
        import psycopg

        asked = self._asked[box.name]
        trouble = ""
        try:
            asked.db = asked.db or connect(self._studio, autocommit=True)
            trouble = self._one_by(asked.db, box, asked)
        except (psycopg.Error, BadInput) as err:
            trouble = f"What it gave could not be kept: {str(err).strip().splitlines()[0]}"
            asked.let_go()
        except Exception:
            LOG.exception("%s: a slip of this program; the next round tries again", box.name)
            asked.let_go()
        if trouble != asked.said:
            LOG.log(logging.WARNING if trouble else logging.INFO, "%s: %s", box.name, trouble or "collected again")
        asked.said = trouble

    def _one_by(self, db: Connection, box: Box, asked: _Asked) -> str:
        """Ask one box and keep what it gives; return what is wrong with it, in a sentence, empty where nothing is."""
        number = taking.box_of(db, box.name, self._clock.utc())
        trouble, mark = "", None
        try:
            mark = self._take(db, number, box, asked)
        except Silent as err:
            trouble = f"The box does not answer ({err})."
        except OtherRecord as err:
            trouble = OTHER_RECORD.format(err, box.name)
        except (Refused, Unlike) as err:
            trouble = str(err)[:1].upper() + str(err)[1:]
        taking.note(db, number, trouble, None if trouble else mark)
        return trouble

    def _take(self, db: Connection, number: int, box: Box, asked: _Asked) -> str | None:
        """Take what a box has; return the mark of its overview once all of it was taken."""
        row = db.execute("SELECT firings_mark, studio_mark FROM lehrling.box WHERE box = %s", [number]).fetchone()
        firings_mark, studio_mark = row or ("", "")
        found = line.overview(box, firings_mark)
        listed, complete = found.get("firings"), True
        if isinstance(listed, list):
            firings = _listed(listed)
            have = taking.marks(db, number)
            _same_record(have, firings)
            if asked.rounds == 0 or firings.keys() - have.keys():
                studio_mark = _take_studio(db, number, box, studio_mark)
            complete = self._take_firings(db, number, box, asked, have, firings)
        open_now = taking.numbers(db, number, "open")
        if not isinstance(listed, list):
            for firing_id in open_now:  # its chain has not moved; readings have come
                self._take_chain(db, number, box, firing_id, taking.marks(db, number)[firing_id], "open", 1)
        self._take_rest(db, number, box, asked, open_now)
        taking.heard(db, number, found, self._clock.utc())
        if asked.rounds % STUDIO_EVERY == STUDIO_EVERY - 1:
            _take_studio(db, number, box, studio_mark)
        asked.rounds += 1
        return str(found.get("mark")) if complete and isinstance(listed, list) else None

    def _take_firings(self, db: Connection, number: int, box: Box, asked: _Asked, have: dict[int, Mark],
                      firings: dict[int, tuple[Mark | None, str]]) -> bool:
        """Take what is new of all firings, the first one first; return whether that was all."""
        left = MOST_ANSWERS
        for firing_id, (there, state) in firings.items():
            here = have.get(firing_id, BEGINNING)
            if state == "emptied":
                if firing_id in have:
                    asked.waits.add(firing_id)
                    taking.empty(db, number, firing_id)
                continue
            if there is None or (there == here and state != "open"):
                continue
            if left <= 0:
                return False
            left = self._take_chain(db, number, box, firing_id, here, state, left)
            asked.waits.add(firing_id)
        return left > 0

    def _take_chain(self, db: Connection, number: int, box: Box, firing_id: int, here: Mark, state: str,
                    left: int) -> int:
        """Take what is new of one firing; return how many answers are left to this box in this round."""
        more = True
        while more and left > 0:
            answer = line.ask(box, f"chain/{firing_id}", after=here.no)
            left -= 1
            links, fresh = checking.checked(firing_id, answer, here), checking.fresh(answer)
            more = bool(answer.get("more")) and bool(links)
            if links or (fresh and here != BEGINNING):
                here = taking.take_links(db, number, firing_id, here, state, links, fresh)
        return left

    def _take_rest(self, db: Connection, number: int, box: Box, asked: _Asked, open_now: list[int]) -> None:
        """Ask for what is beside the chain: of firings that changed or run, of the last one, of others in turn."""
        every = taking.numbers(db, number)
        wanted = [*sorted(asked.waits), *open_now, *every[-1:]]
        turn = [every[(asked.turn + at) % len(every)] for at in range(min(MOST_ASKED // 2, len(every)))]
        asked.turn = (asked.turn + len(turn)) % len(every) if every else 0
        wanted = list(dict.fromkeys([*wanted[:max(MOST_ASKED, len(asked.waits))], *turn]))
        for at in range(0, len(wanted), MOST_ASKED):
            some = wanted[at:at + MOST_ASKED]
            known = taking.known_marks(db, number, some)
            answer = line.ask(box, "beside", of=",".join(f"{one}-{known.get(one, '')}" for one in some))
            rows = answer.get("beside")
            with suppress(KeyError, TypeError):
                taking.take_beside(db, number, [(row["firing"], row["mark"], row["content"]) for row in rows or []])
            asked.waits -= set(some)


def _take_studio(db: Connection, number: int, box: Box, known: str) -> str:
    """Ask for kilns, plans and pieces; return their mark."""
    answer = line.ask(box, "studio", known=known)
    if isinstance(answer.get("content"), dict):
        taking.take_studio(db, number, str(answer.get("mark")), answer["content"])
    return str(answer.get("mark"))


def _listed(rows: list[Any]) -> dict[int, tuple[Mark | None, str]]:
    """Return mark and state of each firing of an overview, by its number."""
    try:
        return {int(number): (None if no is None else Mark(int(no), str(head)), str(state))
                for number, no, head, state in rows if state in ("open", "ended", "emptied")}
    except (TypeError, ValueError):
        raise Unlike("The list of its firings can't be read.") from None


def _same_record(have: dict[int, Mark], firings: dict[int, tuple[Mark | None, str]]) -> None:
    """Refuse a record that is not the one that was collected: a firing missing, cut short, or another one.

    Raises
    ------
    OtherRecord
        Naming the firing.
    """
    for number, here in have.items():
        there, state = firings.get(number, (None, "missing"))
        if state == "emptied":
            continue
        if there is None:
            what = f"Firing {number}, which was collected, is not there any more."
        elif there.no < here.no:
            what = f"Firing {number} has {there.no + 1} entries; {here.no + 1} were collected."
        elif there.no == here.no and there.head != here.head:
            what = f"Firing {number} is another one than was collected."
        else:
            continue
        raise OtherRecord(what)


def _may_pass(err: BadInput) -> bool:
    """Return whether waiting may help: the database is away or starts."""
    from daemon.studio.database import Unreachable

    return isinstance(err, Unreachable) and "refuses" not in err.problem and "createdb" not in err.remedy
