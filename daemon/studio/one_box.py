"""One box collected from: what it has after the mark is asked for, checked and kept.

Nothing is ever sent to a box but questions.
"""

from __future__ import annotations

import logging
from contextlib import suppress
from typing import TYPE_CHECKING, Any

from daemon.clock import Clock
from daemon.errors import BadInput
from daemon.studio import checking, line, taking
from daemon.studio.checking import BEGINNING, Mark, OtherRecord, Unlike
from daemon.studio.database import connect
from daemon.studio.given import MOST_ASKED
from daemon.studio.line import Refused, Silent
from daemon.studio.settings import Box, Studio

if TYPE_CHECKING:
    import psycopg

    Connection = psycopg.Connection[Any]

LOG = logging.getLogger("lehrling.studio")
MOST_ANSWERS = 60
"""Answers with links that are taken from a box in one round, so that one with ten years to give keeps no other
waiting. [chosen: some 10,000 links]"""
THINGS_EVERY = 6
"""Plans and pieces are asked for in one of so many rounds. [chosen: once a minute]"""
OTHER_RECORD = ("{} This address has another record now: was the box set up anew, exchanged, or put back from an "
                "older copy? What was collected stays as it is, and nothing more is taken. To begin anew beside it: "
                "lehrling studio renew {}")
Listed = dict[int, tuple[Mark | None, str]]
"""Mark and state of each firing of an overview, by its number."""


class OneBox:
    """Asks one box, round after round. What it remembers in between can be lost: the mark is in the database.

    Parameters
    ----------
    box, studio
        The settings.
    clock
        For stamps.
    """

    def __init__(self, box: Box, studio: Studio, clock: Clock) -> None:
        self._box, self._studio, self._clock = box, studio, clock
        self._db: Connection | None = None
        self._rounds = 0
        self._said = ""
        self._turn = 0
        """Which firing is looked at again next."""
        self._waits: set[int] = set()
        """Firings about whose rest nothing was asked since they changed."""

    def ask(self) -> None:
        """Ask and keep once; whatever goes wrong is told, and the next round tries again."""
        import psycopg

        trouble = ""
        try:
            self._db = self._db or connect(self._studio, autocommit=True)
            trouble = self._asked(self._db)
        except (psycopg.Error, BadInput) as err:
            trouble = f"What it gave could not be kept: {str(err).strip().splitlines()[0]}"
            self.let_go()
        except Exception:
            LOG.exception("%s: a slip of this program", self._box.name)
            trouble = "This program made a mistake; the next round tries again."
            self.let_go()
        if trouble != self._said:
            LOG.log(logging.WARNING if trouble else logging.INFO, "%s: %s", self._box.name,
                    trouble or "collected again")
        self._said = trouble

    def let_go(self) -> None:
        """Close the connection to the database; the next round makes a new one."""
        if self._db is not None:
            self._db.close()
            self._db = None

    def _asked(self, db: Connection) -> str:
        """Ask and keep; return what is wrong with the box, in a sentence, empty where nothing is."""
        number = taking.box_of(db, self._box.name, self._clock.utc())
        trouble, mark = "", None
        try:
            mark = self._take(db, number)
        except Silent as err:
            trouble = f"The box does not answer ({err})."
        except OtherRecord as err:
            trouble = OTHER_RECORD.format(err, self._box.name)
        except (Refused, Unlike) as err:
            trouble = str(err)[:1].upper() + str(err)[1:]
        taking.note(db, number, trouble, None if trouble else mark)
        return trouble

    def _take(self, db: Connection, number: int) -> str | None:
        """Take what the box has; return the mark of its overview once all of it was taken."""
        firings_mark, studio_mark = taking.known(db, number)
        found = line.overview(self._box, firings_mark)
        rows, complete = found.get("firings"), False
        open_here = taking.numbers(db, number, "open")
        have = taking.marks(db, number)
        if isinstance(rows, list):
            firings = _listed(rows)
            _same_record(have, firings)
            if self._rounds == 0 or firings.keys() - have.keys():
                studio_mark = self._take_things(db, number, studio_mark)
            complete = self._take_firings(db, number, have, firings, open_here)
        else:
            for firing_id in open_here:  # its chain has not moved; readings have come
                self._take_chain(db, number, firing_id, have[firing_id], "open", 1)
        self._take_rest(db, number, open_here)
        taking.heard(db, number, found, self._clock.utc())
        if self._rounds % THINGS_EVERY == THINGS_EVERY - 1:
            self._take_things(db, number, studio_mark)
        self._rounds += 1
        return str(found.get("mark")) if complete else None

    def _take_firings(self, db: Connection, number: int, have: dict[int, Mark], firings: Listed,
                      open_here: list[int]) -> bool:
        """Take what is new of all firings, the first one first; return whether that was all."""
        left = MOST_ANSWERS
        for firing_id, (there, state) in firings.items():
            here = have.get(firing_id, BEGINNING)
            if state == "emptied":
                if firing_id in have:
                    taking.empty(db, number, firing_id)
                continue
            if there is None or (there == here and state != "open" and firing_id not in open_here):
                continue
            if left <= 0:
                return False
            left = self._take_chain(db, number, firing_id, here, state, left)
            self._waits.add(firing_id)
        return left > 0

    def _take_chain(self, db: Connection, number: int, firing_id: int, here: Mark, state: str, left: int) -> int:
        """Take what is new of one firing; return how many answers are left to this box in this round."""
        more = True
        while more and left > 0:
            answer = line.ask(self._box, f"chain/{firing_id}", after=here.no)
            left -= 1
            links, fresh = checking.checked(firing_id, answer, here), checking.fresh(answer)
            more = bool(answer.get("more")) and bool(links)
            if links or here != BEGINNING:
                here = taking.take_links(db, number, firing_id, here, state, links, fresh)
        return left

    def _take_rest(self, db: Connection, number: int, open_here: list[int]) -> None:
        """Ask for what is beside the chain: of firings that changed or run, of the last one, of others in turn."""
        every = taking.numbers(db, number)
        turn = [every[(self._turn + at) % len(every)] for at in range(min(MOST_ASKED // 2, len(every)))]
        self._turn = (self._turn + len(turn)) % len(every) if every else 0
        wanted = list(dict.fromkeys([*taking.without_rest(db, number), *sorted(self._waits), *open_here, *every[-1:],
                                     *turn]))
        for at in range(0, len(wanted), MOST_ASKED):
            some = wanted[at:at + MOST_ASKED]
            known = taking.known_marks(db, number, some)
            answer = line.ask(self._box, "beside", of=",".join(f"{one}-{known.get(one, '')}" for one in some))
            rows = answer.get("beside")
            with suppress(KeyError, TypeError):
                taking.take_beside(db, number, [(row["firing"], row["mark"], row["content"]) for row in rows or []])
            self._waits -= set(some)

    def _take_things(self, db: Connection, number: int, known: str) -> str:
        """Ask for kilns, probes, plans and pieces; return their mark."""
        answer = line.ask(self._box, "studio", known=known)
        if isinstance(answer.get("content"), dict):
            taking.take_studio(db, number, str(answer.get("mark")), answer["content"])
        return str(answer.get("mark"))


def _listed(rows: list[Any]) -> Listed:
    """Return mark and state of each firing of an overview, by its number."""
    try:
        return {int(number): (None if no is None else Mark(int(no), str(head)), str(state))
                for number, no, head, state in rows if state in ("open", "ended", "emptied")}
    except (TypeError, ValueError):
        raise Unlike("The list of its firings can't be read.") from None


def _same_record(have: dict[int, Mark], firings: Listed) -> None:
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
