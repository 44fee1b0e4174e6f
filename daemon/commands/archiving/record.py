"""What the actions of ``lehrling archive`` share: the record, opened; what is printed."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from daemon.errors import BadInput

if TYPE_CHECKING:
    import sqlite_utils


@contextmanager
def open_record(args: argparse.Namespace, *, readonly: bool = True) -> Iterator[sqlite_utils.Database]:
    """Give the record, where it is of this version and can be read.

    Raises
    ------
    BadInput
        Where it is not.
    """
    import sqlite3

    from daemon.store.database import FILE_NAME, NoDatabase, is_current, open_database

    path = args.data / FILE_NAME
    try:
        db = open_database(path, readonly=readonly)
        try:
            if not is_current(db):
                raise NoDatabase(str(path), "is of an older version.",
                                 "Start lehrling daemon once; it brings it up to date.")
            yield db
        finally:
            db.close()
    except sqlite3.Error as err:
        raise BadInput(str(path), f"can't be read or written: {err}.", "Ask: lehrling doctor") from None


def bar(rows: Any) -> Any:
    """Show a bar on a terminal while ``rows`` are gone through; a pipe gets none."""
    from tqdm import tqdm

    return tqdm(rows, disable=None, unit="firing", leave=False)


def say(line: str) -> None:
    """Print a line."""
    sys.stdout.write(line + "\n")


def write_json(said: dict[str, Any]) -> None:
    """Print plain values as JSON."""
    sys.stdout.write(json.dumps(said, ensure_ascii=False, indent=2) + "\n")
