"""The studio's PostgreSQL database: reached, brought to today's tables, and what went wrong in a sentence."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from daemon.delivery.sender import secret
from daemon.errors import BadInput
from daemon.studio.settings import Studio
from daemon.studio.tables import CHUNK_FIRINGS, HYPERTABLE, STEPS
from daemon.studio.views import STATEMENTS

if TYPE_CHECKING:
    import psycopg

CONNECT_S = 10
"""How long the database may take to answer [s]. [chosen: one in the house answers in milliseconds]"""
_LOCK = 0x4C65_6872
"""Which advisory lock a program holds that changes tables or collects. [chosen: the letters Lehr]"""
_NOT_THERE = "Is it running, and is its name right in studio.toml? docs/studio.md says how to set it up."


class Unreachable(BadInput):
    """The database does not answer, or refuses."""


def connect(studio: Studio, *, options: str = "", autocommit: bool = False) -> psycopg.Connection[Any]:
    """Return a connection.

    Parameters
    ----------
    studio
        The settings.
    options
        What the session is set to, as libpq's ``options``.

    Raises
    ------
    Unreachable
        In a sentence that names no password.
    BadInput
        Where psycopg is not installed, or the setting can't be used.
    """
    try:
        import psycopg
    except ImportError:
        raise BadInput("studio", "one more part is needed, psycopg.", "pip install 'lehrling[studio]'") from None
    more: dict[str, Any] = {}
    if studio.password_file is not None:
        more["password"] = secret(studio.password_file, "the password of the database")
    where = f"{studio.file}, database"
    try:
        return psycopg.connect(studio.database, connect_timeout=CONNECT_S, options=f"-c timezone=UTC {options}",
                               application_name="lehrling", autocommit=autocommit, **more)
    except psycopg.OperationalError as err:
        raise Unreachable(where, *_refusal(str(err))) from None
    except (psycopg.Error, ValueError) as err:
        raise BadInput(where, f"can't be used: {_first_line(str(err))}.",
                       'Write it as libpq does: database = "dbname=lehrling".') from None


def migrate(db: psycopg.Connection[Any], where: str) -> None:
    """Bring the database to the tables and views of this version, in one transaction.

    Raises
    ------
    BadInput
        Where a newer version made them, or this user may not.
    """
    import psycopg

    try:
        with db.transaction():
            db.execute("SELECT pg_advisory_xact_lock(%s)", [_LOCK])
            db.execute("CREATE SCHEMA IF NOT EXISTS lehrling")
            db.execute("CREATE TABLE IF NOT EXISTS lehrling.step (no integer PRIMARY KEY)")
            done = steps_done(db)
            if done > len(STEPS):
                raise BadInput(where, f"was made by a newer Lehrling (step {done}; {len(STEPS)} is known here).",
                               "Update the program of this server.")
            for number, step in enumerate(STEPS[done:], start=done + 1):
                db.execute(step.encode())
                db.execute("INSERT INTO lehrling.step VALUES (%s)", [number])
            if not done and has_timescale(db):
                db.execute(HYPERTABLE.format(chunk=CHUNK_FIRINGS).encode())
            for statement in STATEMENTS:
                db.execute(statement.encode())
    except psycopg.errors.InsufficientPrivilege as err:
        raise BadInput(where, f"its tables can't be made: {_first_line(str(err))}.",
                       "Make the database with this user as its owner: createdb --owner USER lehrling") from None


def steps_done(db: psycopg.Connection[Any]) -> int:
    """Return how many steps were applied; 0 where the tables were never made."""
    row = db.execute("SELECT to_regclass('lehrling.step')").fetchone()
    if row is None or row[0] is None:
        return 0
    row = db.execute("SELECT coalesce(max(no), 0) FROM lehrling.step").fetchone()
    return 0 if row is None else int(row[0])


def refuse_other_steps(db: psycopg.Connection[Any], where: str) -> None:
    """Refuse a database whose tables are not those of this version.

    Raises
    ------
    BadInput
        Saying which program to start or to update.
    """
    done = steps_done(db)
    if done < len(STEPS):
        raise BadInput(where, f"has older tables than this version (step {done} of {len(STEPS)})." if done else
                       "has no tables yet.", "Start lehrling studio collect; it makes them.")
    if done > len(STEPS):
        raise BadInput(where, f"was made by a newer Lehrling (step {done}; {len(STEPS)} is known here).",
                       "Update the program of this server.")


def has_timescale(db: psycopg.Connection[Any]) -> bool:
    """Return whether the owner made the extension TimescaleDB in this database."""
    return db.execute("SELECT 1 FROM pg_extension WHERE extname = 'timescaledb'").fetchone() is not None


def be_alone(db: psycopg.Connection[Any], where: str) -> None:
    """Take the lock of the one program that collects; the connection holds it until it ends.

    Raises
    ------
    BadInput
        Where another one does.
    """
    row = db.execute("SELECT pg_try_advisory_lock(%s)", [_LOCK + 1]).fetchone()
    if row is None or not row[0]:
        raise BadInput(where, "another program collects into this database already.", "One is enough. End the other.")


def _refusal(said: str) -> tuple[str, str]:
    """Return what is wrong and what to do, out of what libpq says."""
    if "password" in said or "authentication failed" in said:
        return ("the database refuses the user or the password.",
                "Check user in studio.toml and the password in password_file.")
    if "does not exist" in said:
        return f"{_first_line(said)}.", "Make it: createdb lehrling"
    return f"the database does not answer ({_first_line(said)}).", _NOT_THERE


def _first_line(said: str) -> str:
    """Return the last part of libpq's first line, without its own beginnings."""
    lines = said.strip().splitlines()
    return lines[0].rpartition("FATAL: ")[2].strip().rstrip(".") if lines else "no reason given"
