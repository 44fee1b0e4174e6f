"""How far the publishing has come, in a small file of its own: a restart goes on from there.

A mark in the record was weighed: the daemon alone makes its tables, and a copy of the record that is put back would
bring back an old mark and publish old alerts again.
"""

from __future__ import annotations

import json
import logging
import os
import secrets
from dataclasses import asdict, dataclass, field, replace
from hashlib import sha256
from pathlib import Path
from typing import Any

LOG = logging.getLogger("lehrling.deliver")
FILE_NAME = "mqtt.mark.json"
"""In the data folder."""


@dataclass(frozen=True, slots=True)
class Mark:
    """What has been published.

    Attributes
    ----------
    house_id
        Eight hexadecimal digits by which broker and hub know this kiln again, whatever it is called.
    number, wall_utc
        The last alert step that the broker acknowledged, or that was there before the first start; number None
        before that is known.
    retained
        Topics under which the broker keeps something of ours until it is told to forget it.
    """

    house_id: str = field(default_factory=lambda: secrets.token_hex(4))
    number: int | None = None
    wall_utc: str = ""
    retained: tuple[str, ...] = ()
    computer: str = ""
    """Of which computer it is (``this_computer``); empty in a mark of an older version."""


def this_computer(root: Path = Path("/")) -> str:
    """Return what tells this computer from one whose card is a copy of its card: a digest of its own number.

    That is the number of a Pi, else the address of a network card, else the number of the installation, which a
    copied card has too. Empty where none of them can be read. [from memory: /proc/device-tree/serial-number on a Pi]
    """
    for place in ("proc/device-tree/serial-number", "sys/class/net/eth0/address", "sys/class/net/wlan0/address",
                  "etc/machine-id"):
        try:
            said = (root / place).read_bytes().strip(b"\x00 \n")
        except OSError:
            continue
        if said:
            return sha256(b"lehrling " + said).hexdigest()[:16]
    return ""


def of_this_computer(mark: Mark, computer: str) -> Mark:
    """Return the mark as this computer goes on with it.

    One that was brought here from another computer, in a copy that was put back or on a copied card, gets another
    ``house_id``: with one for both, the broker would cut off whichever of the two came first. Its number stays, for
    the record came with it.
    """
    if mark.computer and computer and mark.computer != computer:
        LOG.warning("mqtt: this record comes from another computer, so broker and hub know this one by a new number. "
                    "If both run, give one of them a topic of its own: lehrling settings set mqtt.topic TOPIC")
        return Mark(number=mark.number, wall_utc=mark.wall_utc, computer=computer)
    return replace(mark, computer=computer or mark.computer)


def read_mark(path: Path) -> Mark:
    """Return the mark of a file; a new one where there is none, or where it makes no sense."""
    try:
        said = json.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError:
        return Mark()
    except (OSError, ValueError) as err:
        LOG.warning("mqtt: %s can't be read (%s); alerts are published from now on.", path, type(err).__name__)
        return Mark()
    found = _mark_of(said)
    if found is None:
        LOG.warning("mqtt: %s makes no sense; alerts are published from now on.", path)
    return found or Mark()


def write_mark(path: Path, mark: Mark) -> bool:
    """Put the mark in place of the file in one move; False where it can't be written now.

    What is published then may come again after a restart, with the same number.
    """
    part = path.with_name(path.name + ".part")
    try:
        with part.open("w", encoding="utf-8") as file:
            json.dump(asdict(mark), file)
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
    except OSError:
        return False
    return True


def _mark_of(said: Any) -> Mark | None:
    """Return the mark that JSON holds; None where it holds none."""
    if not isinstance(said, dict):
        return None
    house_id, number = said.get("house_id"), said.get("number")
    wall_utc, retained = said.get("wall_utc"), said.get("retained")
    if (not isinstance(house_id, str) or not house_id.isalnum() or not isinstance(wall_utc, str)
            or not (number is None or (isinstance(number, int) and number >= 0))
            or not isinstance(retained, list) or not all(isinstance(topic, str) for topic in retained)):
        return None
    computer = said.get("computer", "")
    return Mark(house_id, number, wall_utc, tuple(retained), computer if isinstance(computer, str) else "")
