"""The whole record held against its chains, one firing at a time, and what is found in sentences."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, tzinfo

import sqlite_utils

from daemon.store.chain import links
from daemon.store.chain.check import Fault, How, faults, kept
from daemon.store.chain.contents import (
    ADOPTED,
    ALERT,
    BLOCK_S,
    CLOCK,
    FIRING,
    GAP,
    JOINED,
    JUDGEMENT,
    METER,
    MILESTONES,
    NOTE,
    OUTCOME,
    PARTS,
    READINGS,
    SAID,
    SOURCE,
    TOLD,
)
from daemon.store.own_facts import setting
from daemon.store.safety import record_mark

FIRST_WITH_CHAIN = "first_firing_with_chain"
"""The setting that says from which number on each firing has had its chain all along; without it all have."""
_NAMES = {FIRING: "Title, times, plan or load", PARTS: "The table of its parts",
          ALERT: "Alert {}", TOLD: "Step {} of its alerts", SAID: "Answer {} of the maker", NOTE: "Note {}",
          JUDGEMENT: "Verdict {}", ADOPTED: "The beginning of its chain",
          JOINED: "The link from which on outcomes and gaps are chained", OUTCOME: "Outcome {}",
          GAP: "The gap at second {}", CLOCK: "What the clock said at second {}",
          MILESTONES: "The list of what it reached", METER: "What a meter showed",
          SOURCE: "The file of another logger"}
_HOW = {How.CHANGED: "was changed after it was kept", How.MISSING: "is missing",
        How.ADDED: "was added beside the chain",
        How.CHAIN: "has a link that was changed, moved or cut off from the one before"}


@dataclass(frozen=True, slots=True)
class Verified:
    """What was found of one firing.

    Attributes
    ----------
    started_utc
        When it began; None where that is not readable any more.
    links
        How many links its chain has; 0 where it has none.
    chained_utc
        When it was chained as a whole; None of one that had its chain from its first reading on.
    mark
        The record mark; empty without a chain.
    state
        ``whole``, ``changed``, ``unchained`` (of an older version, until the next night), ``emptied`` (deleted by the
        owner for good; only its number is kept) or ``missing``.
    faults
        What is not as it was kept.
    """

    firing_id: int
    title: str
    started_utc: datetime | None
    links: int
    chained_utc: datetime | None
    mark: str
    state: str
    faults: tuple[Fault, ...] = ()

    def sentences(self, zone: tzinfo | None) -> list[str]:
        """Return what is wrong, each in a sentence with its place; a long list of ten minutes is joined."""
        if self.state == "missing":
            return ["Nothing is left of it, not even its number. Lehrling itself never removes a number."]
        if self.state == "changed" and not self.links:
            return ["Its chain is gone."]
        said = [self._readings(how, blocks, zone) for how in How for blocks in _runs(self._blocks(how))]
        others = [fault for fault in self.faults if fault.kind != READINGS]
        return said + list(dict.fromkeys(
            f"{_NAMES.get(one.kind, f'Something unknown ({one.kind})').format(one.ref)} {_HOW[one.how]}."
            for one in _first_of_each(others)))

    def _blocks(self, how: How) -> list[int]:
        return sorted({fault.ref for fault in self.faults if fault.kind == READINGS and fault.how is how})

    def _readings(self, how: How, blocks: list[int], zone: tzinfo | None) -> str:
        from_s, to_s = blocks[0] * BLOCK_S, (blocks[-1] + 1) * BLOCK_S
        clock = ""
        if self.started_utc is not None and abs(to_s) < 1e9:
            began, ended = (f"{(self.started_utc + timedelta(seconds=at)).astimezone(zone):%H:%M}"
                            for at in (from_s, to_s))
            clock = f" ({began} to {ended})"
        verb = {How.CHANGED: "were changed", How.MISSING: "are missing", How.ADDED: "were added beside the chain",
                How.CHAIN: "have a link that was changed, moved or cut off from the one before"}[how]
        return f"The readings from {_hours(from_s)} to {_hours(to_s)}{clock} {verb}."


def verify(db: sqlite_utils.Database) -> Iterator[Verified]:
    """Yield what is found of each number of a firing, the first one first; reads one firing at a time.

    Text that is no UTF-8 any more is read as it is, so that it is found and not stumbled over.
    """
    first = setting(db, FIRST_WITH_CHAIN)
    numbers = [number for (number,) in db.execute(
        "SELECT firing_id FROM firing UNION SELECT firing_id FROM link UNION SELECT firing_id FROM reading"
        " ORDER BY firing_id")]
    due = int(first) if first is not None and first.isdecimal() else 1
    for number in range(1, numbers[-1] + 1) if len(numbers) and numbers[-1] < 10 * len(numbers) + 1000 else numbers:
        with links.text_as_it_is(db):
            found = _one(db, number, due)
        yield found


def _one(db: sqlite_utils.Database, firing_id: int, first_with_chain: int) -> Verified:
    """Return what is found of one number."""
    row = db.execute("SELECT title, started_utc, ended_s, emptied_utc FROM firing WHERE firing_id = ?",
                     [firing_id]).fetchone()
    chain = links.links(db, firing_id)
    if row is None and not chain:
        return Verified(firing_id, "", None, 0, None, "", "missing")
    title, started, ended_s, emptied = row or ("", "", 0, None)
    title, started_utc = title.encode(errors="replace").decode(), _moment(started)
    if emptied is not None and not chain:
        return Verified(firing_id, title, started_utc, 0, None, "", "emptied")
    if not chain:
        state = "unchained" if firing_id < first_with_chain else "changed"
        return Verified(firing_id, title, started_utc, 0, None, "", state)
    wrong = faults(chain, kept(db, firing_id), is_open=ended_s is None)
    adopted = datetime.fromtimestamp(chain[0].ref, UTC) if chain[0].kind == ADOPTED and not wrong else None
    mark = record_mark.short(chain[-1].head.hex().ljust(64, "0"))
    return Verified(firing_id, title, started_utc, len(chain), adopted, mark, "changed" if wrong else "whole",
                    tuple(wrong))


def _first_of_each(wrong: Iterable[Fault]) -> Iterator[Fault]:
    """Yield the first fault of each kind and way: one lost row shifts the numbers of all after it."""
    seen = set()
    for fault in wrong:
        if (fault.how, fault.kind) not in seen:
            seen.add((fault.how, fault.kind))
            yield fault


def _runs(blocks: list[int]) -> Iterator[list[int]]:
    """Yield neighbouring blocks together."""
    run: list[int] = []
    for block in blocks:
        if run and block != run[-1] + 1:
            yield run
            run = []
        run.append(block)
    if run:
        yield run


def _hours(t_s: int) -> str:
    """Return a time of the firing as hours and minutes: ``2:10``."""
    return f"{t_s // 3600}:{t_s % 3600 // 60:02d}"


def _moment(text: str) -> datetime | None:
    try:
        return datetime.fromisoformat(text).astimezone(UTC)
    except (ValueError, OverflowError):
        return None
