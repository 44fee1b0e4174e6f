"""Writing to the database: entries are written at once, or wait in memory while the file can't be written."""

from __future__ import annotations

import logging
import sqlite3
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import islice
from typing import Protocol, runtime_checkable

import sqlite_utils

from daemon.errors import BadInput
from daemon.store.database import transaction
from daemon.store.safety.deleted import OpenFile, write_anew

LOG = logging.getLogger(__name__)
MOST_WAITING = 17_280
"""Readings that wait in memory at most: 24 hours of them. [derived: a reading every 5 s]"""
_AT_ONCE = 500
"""Batches written in one transaction when catching up. [chosen: bounds one transaction]"""

_FRESH_START_AFTER = 6
"""Failed tries after which a new connection is tried: one opened on a read-only disk stays so. [chosen: half a
minute at one try a reading]"""

DELETED = ("Storage: the file {} was deleted while Lehrling ran. It was written anew, and nothing is lost. Find out "
           "what deletes files in that folder.")
EXCHANGED = ("Storage: another file stands at {}. What is kept from now on is lost when Lehrling ends. Move that "
             "file away; the record is then written anew.")

Op = Callable[[sqlite_utils.Database], None]
"""Something to keep; runs inside a transaction, again from the start if that one failed."""


@runtime_checkable
class Confirmed(Protocol):
    """An op that wants to know when it is safely in the file."""

    def kept(self) -> None:
        """Take notice of it."""


@dataclass(frozen=True)
class Batch:
    """What is kept together or not at all; ``readings_only`` may be dropped when memory runs out."""

    ops: Sequence[Op]
    readings_only: bool


class Journal:
    """Keeps batches in order, through times in which the file can't be written.

    Parameters
    ----------
    opener
        Opens the file for writing; raises sqlite3.Error or OSError while that is not possible.
    reader
        Opens the file for reading where it can't be opened for writing; raises as ``opener`` does.
    most_waiting
        How many batches may wait; beyond it the oldest plain readings are dropped and counted.
    damage
        Sentences about a damaged record that was replaced.
    """

    def __init__(self, opener: Callable[[], sqlite_utils.Database],
                 reader: Callable[[], sqlite_utils.Database] | None = None,
                 most_waiting: int = MOST_WAITING, damage: Sequence[str] = ()) -> None:
        self._opener = opener
        self._reader = reader or opener
        self._most = most_waiting
        self._damage = list(damage)
        self._waiting: deque[Batch] = deque()
        self._db: sqlite_utils.Database | None = None
        self._file: OpenFile | None = None
        self._trouble = ""
        self._failed = 0
        self._is_read_only = False
        """Whether the open connection found the disk read-only."""
        self.opened = 0
        """How often the file was opened."""
        self.dropped = 0
        self.refused = 0

    @property
    def trouble(self) -> list[str]:
        """Return what is wrong with the record, in sentences for the maker; empty when all is well."""
        found = list(self._damage)
        if self._file is not None and self._file.is_exchanged:
            found.append(EXCHANGED.format(self._file.path))
        if self._trouble:
            found.append(f"Storage: the record can't be written ({self._trouble}). Watching goes on from"
                         f" memory; {len(self._waiting)} entries wait to be kept.")
        if self.dropped:
            found.append(f"Storage: {self.dropped} readings were lost, as memory ran out while they waited.")
        if self.refused:
            found.append(f"Storage: {self.refused} entries could not be kept; the log tells why.")
        return found

    @property
    def waiting(self) -> int:
        """Return how many batches wait."""
        return len(self._waiting)

    def database(self) -> sqlite_utils.Database | None:
        """Return the open file for reading in this thread; None while it can't be opened."""
        return self._db

    @contextmanager
    def readable(self) -> Iterator[sqlite_utils.Database | None]:
        """Give the file for reading only, in a block; None while even that is not possible."""
        if self._db is not None:
            yield self._db
            return
        try:
            db = self._reader()
        except (sqlite3.Error, OSError, BadInput):
            yield None
            return
        try:
            yield db
        finally:
            db.close()

    def open(self) -> None:
        """Open the file, or a new connection to it; an earlier one stays where that fails.

        One that found the disk read-only is closed first. The connections of one process share a file beside the
        database (https://sqlite.org/walformat.html, "The WAL-Index File"). While it is open, each new connection
        finds the disk read-only, too, and leaves a handle open. On a full disk that file could not be made again.
        """
        if self._is_read_only:
            self._let_go()
        try:
            fresh = self._opener()
        except (sqlite3.Error, OSError) as err:
            self._note(err)
            return
        self._let_go()
        self._db, self._file, self._is_read_only = fresh, OpenFile(fresh), False
        self.opened += 1

    def write(self, ops: Sequence[Op], *, readings_only: bool = False) -> bool:
        """Keep ``ops`` together, after all that waits; return whether everything is in the file now."""
        if ops:
            self._waiting.append(Batch(ops, readings_only))
            self._make_room()
        return self.flush()

    def flush(self) -> bool:
        """Write what waits, as far as it goes; return whether nothing waits any more."""
        if self._db is None or self._failed % _FRESH_START_AFTER == _FRESH_START_AFTER - 1:
            self.open()
        if self._file is not None and self._file.is_deleted and not self._write_anew():
            return False
        db = self._db
        if db is None:
            return False
        while self._waiting:
            most = 1 if self._failed else _AT_ONCE  # one is enough to see that it fails still
            batches = list(islice(self._waiting, most))
            try:
                with transaction(db):
                    for batch in batches:
                        self._keep(db, batch)
            except (sqlite3.Error, OSError) as err:
                self._failed += 1
                self._is_read_only = _says_read_only(err)
                self._note(err)
                return False
            self._failed = 0
            for batch in batches:
                self._waiting.popleft()
                for op in batch.ops:
                    if isinstance(op, Confirmed):
                        op.kept()
        self._failed = 0
        if self._trouble:
            LOG.info("The record can be written again; everything that waited is kept.")
            self._trouble = ""
        return True

    def close(self) -> None:
        """Write what can be written and close the file."""
        if not self.flush() and self._waiting:
            LOG.error("%d entries are lost: the record could not be written before the end.", len(self._waiting))
        self._let_go()

    def _write_anew(self) -> bool:
        """Write the deleted file anew from the open connection; return whether that went well."""
        if self._db is None or self._file is None:
            return False
        try:
            path = self._file.path
            write_anew(self._db, path)
        except (sqlite3.Error, OSError) as err:
            self._note(err)
            return False
        self._db = self._file = None
        self._damage = [DELETED.format(path)]
        LOG.error("%s", self._damage[0])
        self.open()
        return True

    def _keep(self, db: sqlite_utils.Database, batch: Batch) -> None:
        """Write one batch; one that the file will never take is dropped and counted, and the rest goes on."""
        try:
            with transaction(db):
                for op in batch.ops:
                    op(db)
        except (sqlite3.OperationalError, OSError):
            raise
        except sqlite3.DatabaseError as err:
            if type(err) is sqlite3.DatabaseError:  # damaged or no database: not this batch's fault
                raise
            self._refuse()
        except Exception:
            self._refuse()

    def _refuse(self) -> None:
        """Drop an entry that the file will never take."""
        self.refused += 1
        LOG.exception("An entry could not be kept and is dropped.")

    def _note(self, err: Exception) -> None:
        """Log trouble with the file where it is another than before."""
        text = str(err) or type(err).__name__
        if text != self._trouble:
            LOG.error("The record can't be written: %s. Watching goes on from memory.", text)
        self._trouble = text

    def _let_go(self) -> None:
        """Close the connection, to be opened anew."""
        if self._db is not None:
            try:
                self._db.close()
            except sqlite3.Error as err:
                LOG.error("The record could not be closed: %s.", err)
            self._db = None

    def _make_room(self) -> None:
        """Drop the oldest readings where too much waits in memory; alerts and requests are never dropped."""
        while len(self._waiting) > self._most:
            oldest = next((i for i, batch in enumerate(self._waiting) if batch.readings_only), None)
            if oldest is None:
                return
            del self._waiting[oldest]
            self.dropped += 1


def _says_read_only(err: Exception) -> bool:
    """Return whether SQLite refused to write because it found the disk read-only."""
    code = getattr(err, "sqlite_errorcode", None)  # its lowest byte says what, the rest why
    return code is not None and code & 0xFF == sqlite3.SQLITE_READONLY
