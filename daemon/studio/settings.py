"""``studio.toml``: which database the studio's server keeps, and from which boxes it collects."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

from daemon.errors import BadInput
from daemon.fields import Fields
from daemon.files import read_text
from daemon.toml import read_toml

FILE_NAME = "studio.toml"
_NAME = re.compile(r"[a-z0-9](?:[a-z0-9-]{0,38}[a-z0-9])?")
_ADDRESS = re.compile(r"https?://(?:[a-z0-9.-]+|\[[0-9a-f:.]+\])(?::\d{1,5})?", re.IGNORECASE)
_EVERY_S = (1, 3600)
"""Shortest and longest time between two rounds [s]. [chosen: a state stays a few seconds old; a slow line]"""


@dataclass(frozen=True, slots=True)
class Box:
    """One box to collect from.

    Attributes
    ----------
    name
        What it is called in addresses of the studio's page: small letters, digits, hyphens.
    address
        Of its page, such as ``http://kiln-1.local:8080``.
    token_file
        A file with its token.
    """

    name: str
    address: str
    token_file: Path


@dataclass(frozen=True, slots=True)
class Studio:
    """The settings of a studio's server.

    Attributes
    ----------
    file
        Where they stand.
    database
        How the database is reached, as libpq writes it: ``dbname=lehrling`` or an address.
    password_file
        A file with the password of the database; None where it asks for none.
    every_s
        Time between two rounds [s].
    host, port
        Where the studio's page listens.
    unit, time_zone
        As whoever looks reads; None is the computer's own zone.
    """

    file: Path
    database: str
    password_file: Path | None
    every_s: int
    host: str
    port: int
    unit: str
    time_zone: str | None
    allowed_hosts: tuple[str, ...]
    open_reading: bool
    boxes: tuple[Box, ...]


def read_studio(path: Path) -> Studio:
    """Return the settings of a file.

    Raises
    ------
    BadInput
        Naming the file, each key and what to write instead.
    """
    return parse_studio(read_text(str(path), what="studio.toml"), path)


def parse_studio(text: str, path: Path) -> Studio:
    """Return the settings written in ``text``, which stands in the file ``path``.

    Raises
    ------
    BadInput
        Naming the file, each key and what to write instead.
    """
    source = str(path)
    given = read_toml(text, source, "docs/studio.md shows such a file.")
    table = Fields(given)
    database = table.text("database", "")
    password = table.text("password_file", "")
    if not database.strip():
        table.problem("database", "is missing.", 'Write database = "dbname=lehrling".')
    if "password" in re.sub(r"passfile", "", database) or re.search(r"://[^/@]*:[^/@]*@", database):
        table.problem("database", "holds a password.", 'Put it into a file, and write password_file = "…".')
    rows = table.take("box", list, [], "a list of boxes", "Write [[box]] above the lines of each box.")
    boxes = tuple(_box(Fields(row if isinstance(row, dict) else {}, f"[[box]] {number}, ", table.problems),
                       path.parent) for number, row in enumerate(rows, start=1))
    names = [box.name for box in boxes]
    for name in sorted({name for name in names if name and names.count(name) > 1}):
        table.problem("box", f"two boxes are called {name}.", "Give each a name of its own.")
    found = Studio(
        path, database, path.parent / password if password else None, table.whole("every_s", 10, *_EVERY_S),
        table.text("host", "127.0.0.1"), table.whole("port", 8090, 1, 65535), table.choice("unit", "C", ("C", "F")),
        table.text("time_zone", "") or None, tuple(name.lower() for name in table.texts("allowed_hosts")),
        table.flag("open_reading", False), boxes)
    table.refuse_the_rest()
    table.tell(source)
    if not boxes:
        raise BadInput(source, "names no box.", "Write [[box]] with name, address and token_file for each.")
    return found


def _box(row: Fields, folder: Path) -> Box:
    name, address, token = row.text("name", ""), row.text("address", ""), row.text("token_file", "")
    if not _NAME.fullmatch(name):
        row.problem("name", f"{name!r} is no name of a box." if name else "is missing.",
                    "Use small letters, digits and hyphens, such as kiln-1.")
    if not _ADDRESS.fullmatch(address.rstrip("/")):
        row.problem("address", f"{address!r} is no address of a page." if address else "is missing.",
                    "Write the address of the box’s page, such as http://kiln-1.local:8080.")
    if not token:
        row.problem("token_file", "is missing.", "On the box, lehrling studio token prints the token.")
    row.refuse_the_rest()
    return Box(name, address.rstrip("/"), folder / token)
