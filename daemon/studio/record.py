"""A box's record as the page reads it, out of the studio's database: the same questions in SQL, and no writing.

``PostgresRecord`` has the two methods of ``sqlite_utils.Database`` that the readers of ``daemon/store`` use. The
tables that they name are views (``daemon/studio/views.py``).
"""

from __future__ import annotations

import json
import re
import sqlite3
from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from typing import TYPE_CHECKING, Any, NamedTuple, cast

import sqlite_utils

from daemon.errors import BadInput
from daemon.service.state_reader import DaemonState
from daemon.store.database import NoDatabase
from daemon.store.stamps import moment
from daemon.studio.database import connect, refuse_other_steps
from daemon.studio.settings import Box, Studio

if TYPE_CHECKING:
    import psycopg

_MARK = re.compile(r"'(?:[^']|'')*'|\?|(?<!:):([a-z_]\w*)", re.ASCII)
"""A text in quotes, which stays as it is; or where a value goes, in SQLite's two ways."""
_OPTIONS = ("-c search_path=lehrling_page,pg_catalog -c default_transaction_read_only=on -c statement_timeout=30s"
            " -c jit=off")
"""To compile the list of firings took PostgreSQL 15 four seconds; to answer it 30 ms."""


_ROUNDS, _SLOW_S = 2, 10.0
"""A state that came within so many rounds, and so much more [s], is the present one. [chosen: one lost answer]"""


class Seen(NamedTuple):
    """What is known of a box without its record.

    Attributes
    ----------
    box
        Its number in the database; None before anything was collected.
    kiln
        As the box calls its kiln; the box's name before that is known.
    heard_utc
        When it last answered; None where it never has.
    trouble
        What is wrong with the collecting; empty where nothing is.
    """

    name: str
    address: str
    box: int | None
    kiln: str
    heard_utc: datetime | None
    trouble: str
    state: DaemonState | None


class PostgresRecord:
    """One box's record in the studio's database, for one request."""

    def __init__(self, db: psycopg.Connection[Any]) -> None:
        from psycopg import ClientCursor
        from psycopg.types.numeric import FloatLoader

        db.cursor_factory = ClientCursor  # values stand in the text, and PostgreSQL finds their types there
        db.adapters.register_loader("numeric", FloatLoader)
        self._db = db

    def execute(self, query: str, values: Sequence[Any] | Mapping[str, Any] | None = None) -> psycopg.Cursor[Any]:
        """Ask, and return the cursor.

        Raises
        ------
        sqlite3.OperationalError
            Where it can't be answered, as a reader of ``daemon/store`` expects it.
        """
        import psycopg

        text, given = _as_postgres(query, values)
        try:
            return self._db.execute(text.encode(), given)
        except psycopg.Error as err:
            raise sqlite3.OperationalError(str(err).strip().splitlines()[0]) from err

    def query(self, query: str, values: Sequence[Any] | Mapping[str, Any] | None = None) -> Iterator[dict[str, Any]]:
        """Yield the rows as dictionaries by column."""
        found = self.execute(query, values)
        names = [column.name for column in found.description or ()]
        for row in found:
            yield dict(zip(names, row, strict=True))

    def close(self) -> None:
        """End the connection."""
        self._db.close()


def open_record(studio: Studio, name: str) -> sqlite_utils.Database:
    """Return the record of a box, for reading only.

    Raises
    ------
    NoDatabase
        Where nothing of it was collected yet, or the database does not answer.
    """
    try:
        db = connect(studio, options=_OPTIONS, autocommit=True)
    except BadInput as err:
        raise NoDatabase(err.where, err.problem, err.remedy) from None
    try:
        refuse_other_steps(db, f"{studio.file}, database")
        row = db.execute("SELECT box FROM lehrling.box WHERE name = %s AND closed_utc IS NULL", [name]).fetchone()
        if row is None:
            raise NoDatabase(name, "nothing was collected from this box yet.", "Start lehrling studio collect.")
        db.execute("SELECT set_config('lehrling.box', %s, false)", [str(row[0])])
    except BadInput as err:
        db.close()
        raise NoDatabase(err.where, err.problem, err.remedy) from None
    except BaseException:
        db.close()
        raise
    return cast(sqlite_utils.Database, PostgresRecord(db))


def seen(studio: Studio, now_utc: datetime) -> list[Seen]:
    """Return what is known of each box of the settings, in their order.

    Raises
    ------
    BadInput
        Where the database does not answer, or its tables are of another version.
    """
    with connect(studio, options=_OPTIONS, autocommit=True) as db:
        refuse_other_steps(db, f"{studio.file}, database")
        rows = {row[0]: row[1:] for row in db.execute(
            "SELECT name, box, kiln, heard_utc, trouble, state, state_age_s FROM lehrling.box"
            " WHERE closed_utc IS NULL")}
    return [_seen(box, rows.get(box.name, (None, "", None, "", None, None)), now_utc, studio.every_s)
            for box in studio.boxes]


def _seen(box: Box, row: tuple[Any, ...], now_utc: datetime, every_s: float) -> Seen:
    number, kiln, heard, trouble, state, age_s = row
    heard_utc = None if heard is None else moment(heard)
    said = None
    if state is not None and heard_utc is not None and age_s is not None:
        since_s = (now_utc - heard_utc).total_seconds()
        found = json.loads(state)
        try:
            # Its age when the box gave it, by the box's own clock; the time between two rounds is not counted.
            said = DaemonState(found, moment(found["written_utc"]),
                               age_s + (0.0 if 0 <= since_s <= _ROUNDS * every_s + _SLOW_S else since_s))
        except (KeyError, TypeError, ValueError, AttributeError):
            said = None
    return Seen(box.name, box.address, number, kiln or box.name, heard_utc, trouble, said)


def _as_postgres(query: str, values: Sequence[Any] | Mapping[str, Any] | None) -> tuple[str, Any]:
    """Return a question of SQLite and its values as psycopg takes them."""
    if not values:
        return query, None

    def mark(found: re.Match[str]) -> str:
        if found[1]:
            return f"%({found[1]})s"
        return "%s" if found[0] == "?" else found[0]

    return _MARK.sub(mark, query.replace("%", "%%")), values
