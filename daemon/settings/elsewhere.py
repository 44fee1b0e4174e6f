"""Where copies of the record are kept besides this computer's own disk, as the settings spell it."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal

from daemon.errors import BadInput
from daemon.fields import Fields
from daemon.toml import shown

Kind = Literal["usb", "folder", "restic", "rclone"]
WAYS = "usb:LABEL, /a/folder, restic:NAME or rclone:REMOTE:PATH"
"""How places are spelt."""
MOST = 8
"""Places at most. [chosen: each is written and read back in one night]"""
RESTIC_ENDING, RCLONE_FILE = ".restic", "rclone.conf"
"""In the data folder: the ending of a file with restic's variables, and the file with rclone's remotes."""
_LABEL = re.compile(r"[^/\s\\](?:[^/\\]{0,38}[^/\s\\])?")
_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]{0,39}")
_REMOTE = re.compile(r"[A-Za-z0-9_][A-Za-z0-9_. -]{0,39}:(?!.*\.\.)[^\n]*")
"""A remote that rclone's own settings name. One described on the spot (":sftp,ssh=…:") could start any program."""


@dataclass(frozen=True, slots=True)
class Elsewhere:
    """A place for copies.

    Attributes
    ----------
    kind
        A stick by the label of its file system, a folder, or the tool that keeps the copy.
    name
        The label, the folder, the name of the file with restic's variables, or rclone's remote with its path.
    """

    kind: Kind
    name: str

    @property
    def spelt(self) -> str:
        """Return it as the settings spell it."""
        return self.name if self.kind == "folder" else f"{self.kind}:{self.name}"

    @property
    def called(self) -> str:
        """Return what it is called in a sentence."""
        return {"usb": "the stick", "folder": "the folder", "restic": "restic’s", "rclone": "rclone’s"}[
            self.kind] + f" {self.name}"


def read_place(text: str) -> Elsewhere:
    """Return the place that a text spells.

    Raises
    ------
    BadInput
        Saying what is wrong with it and how places are spelt.
    """
    kind, colon, name = text.partition(":")
    if text.startswith("/"):
        if text.rstrip("/") == "" or ".." in text.split("/"):
            raise BadInput(shown(text), "is no folder for copies.", "Name one of its own, such as /mnt/nas/kiln.")
        return Elsewhere("folder", text.rstrip("/"))
    if not colon or kind not in ("usb", "restic", "rclone"):
        raise BadInput(shown(text), "is no place for copies.", f"Known: {WAYS}.")
    if kind == "usb":
        if not _LABEL.fullmatch(name):
            raise BadInput(shown(text), "names no label.", "Write usb: and the label of the stick, such as usb:KILN.")
        return Elsewhere("usb", name)
    if kind == "restic":
        if not _NAME.fullmatch(name):
            raise BadInput(shown(text), "names no file of restic’s.", "Write a word such as restic:offsite, and keep "
                           "restic’s variables in offsite.restic beside the settings.")
        return Elsewhere("restic", name)
    if not _REMOTE.fullmatch(name):
        raise BadInput(shown(text), "names no remote of rclone’s.", "Write its name in rclone.conf, a colon and a "
                       "path, such as rclone:nas:kiln.")
    return Elsewhere("rclone", name)


def elsewhere(table: Fields) -> tuple[Elsewhere, ...]:
    """Return the places of ``[copies]``; one that can't be used is noted and left out."""
    found: list[Elsewhere] = []
    for text in table.texts("elsewhere", ()):
        try:
            place = read_place(text)
        except BadInput as err:
            table.problem("elsewhere", f"{err.where} {err.problem}", err.remedy)
            continue
        if place not in found:
            found.append(place)
    if len(found) > MOST:
        table.problem("elsewhere", f"{len(found)} places are too many.", f"Keep at most {MOST}.")
    return tuple(found[:MOST])
