"""A copy taken elsewhere: written, read back, compared, read through; only then are older ones dropped."""

from __future__ import annotations

import logging
import sqlite3
import tempfile
from collections.abc import Callable, Sequence
from hashlib import sha256
from pathlib import Path

from daemon.copies.folder import FolderPlace, stick
from daemon.copies.identity import mark_of
from daemon.copies.place import NotTaken, Place, capital
from daemon.copies.rclone import RclonePlace
from daemon.copies.restic import ENDING, ResticPlace
from daemon.errors import BadInput
from daemon.settings.elsewhere import Elsewhere
from daemon.store.database import open_database
from daemon.store.photographs import FOLDER as PICTURES
from daemon.store.photographs import is_shown
from daemon.store.safety import elsewhere
from daemon.store.safety.copies import Copy, by_name, check, copies_of, not_needed
from daemon.store.safety.elsewhere import Known
from daemon.store.stamps import stamp

LOG = logging.getLogger(__name__)
_BLOCK_BYTES = 1024 * 1024
"""Read in one go for a digest. [chosen: bounds the memory]"""


def open_place(place: Elsewhere, data: Path, now_s: Callable[[], float]) -> Place:
    """Return a place ready for use.

    Parameters
    ----------
    place
        As the settings name it.
    data
        The data folder, where the tools' own settings are.
    now_s
        A clock that nobody sets [s].

    Raises
    ------
    NotTaken
        Where a stick is not in, or not mounted.
    """
    if place.kind == "rclone":
        return RclonePlace(place.called, place.name, data)
    if place.kind == "restic":
        return ResticPlace(place.called, data / f"{place.name}{ENDING}")
    if place.kind == "usb":
        return FolderPlace(place.called, stick(place.name, place.called), now_s)
    folder = Path(place.name)
    if folder.is_dir() and on_one_disk(folder, data):
        raise NotTaken(f"{capital(place.called)} lies on the same disk as the record.",
                       "Mount there what the copies are to lie on, or name another folder.")
    return FolderPlace(place.called, folder, now_s)


def on_one_disk(one: Path, other: Path) -> bool:
    """Return whether two folders lie on the same file system."""
    return one.stat().st_dev == other.stat().st_dev


def take_everywhere(record: Path, places: Sequence[Elsewhere], now_s: Callable[[], float],
                    opener: Callable[[Elsewhere, Path, Callable[[], float]], Place] = open_place, *,
                    only_due: bool = False) -> dict[str, Known]:
    """Take the newest sound copy beside the record to each place; return what is known of each then.

    Parameters
    ----------
    record
        The database.
    places
        As the settings name them.
    now_s
        A clock that nobody sets [s].
    opener
        Opens a place.
    only_due
        Leave out the places that have the newest copy already.
    """
    copies, data = copies_of(record), record.parent
    known = elsewhere.known(data)
    due = [place for place in places if not only_due or _is_due(known.get(place.spelt), copies)]
    copy = _newest_in_order(copies) if due else None
    done: dict[str, Known] = {}
    if copy is None:
        return done
    for place in due:
        try:
            take(opener(place, data, now_s), copy.path, _pictures(data))
            now = Known(place.called, copy.path.name, stamp(copy.made_utc))
        except NotTaken as err:
            now = Known(place.called, trouble=err.said, remedy=err.do)
        except (OSError, sqlite3.Error, BadInput) as err:
            LOG.exception("The copy to %s failed.", place.called)
            now = Known(place.called, trouble=f"The copy to {place.called} failed: {err}.",
                        remedy="Look at this computer’s own disk: lehrling doctor")
        elsewhere.keep(data, place.spelt, now)
        done[place.spelt] = now
    return done


def _is_due(before: Known | None, copies: Sequence[Copy]) -> bool:
    """Return whether a place lacks the newest copy."""
    return before is None or bool(before.trouble) or (bool(copies) and before.copy != copies[-1].path.name)


def _newest_in_order(copies: Sequence[Copy]) -> Copy | None:
    """Return the newest copy that can still be read through: this computer's own disk may have damaged one since."""
    for copy in reversed(copies):
        try:
            check(copy.path)
        except (sqlite3.Error, UnicodeDecodeError) as err:
            LOG.error("The copy %s is damaged: %s.", copy.path.name, err)
            continue
        return copy
    return None


def take(place: Place, copy: Path, pictures: Sequence[Path]) -> None:
    """Take a copy and the photographs to a place, and drop the older copies there that are not needed.

    Raises
    ------
    NotTaken
        Where that fails, or something else was read back than was written: that is dropped again.
    OSError, sqlite3.Error
        Where the copy itself can't be read.
    """
    mark = mark_of(copy, place.marks())
    there = place.stored(mark)
    new = [picture for picture in pictures if there.pictures.get(picture.name) != picture.stat().st_size]
    place.put(mark, copy, pictures)
    with tempfile.TemporaryDirectory(dir=copy.parent) as scratch:
        for source in (*new, copy):
            _read_back(place, mark, source, Path(scratch))
    found = [by_name(Path(name)) for name in place.stored(mark).copies]
    drop = [one.path.name for one in not_needed(sorted(one for one in found if one is not None))]
    here = {picture.name for picture in pictures}
    drop += _removed(copy, [name for name in there.pictures if name not in here])
    place.drop(mark, [name for name in drop if name != copy.name])
    LOG.info("A copy was taken to %s and read back: %s.", place.called, copy.name)


def _read_back(place: Place, mark: str, source: Path, scratch: Path) -> None:
    """Read back what was written from ``source``: the same bytes, and a sound record where it is one."""
    back = place.read_back(mark, source.name, scratch)
    try:
        if digest(back) != digest(source):
            raise sqlite3.DatabaseError("other bytes came back than were written")
        if source.suffix == ".db":
            check(back)
    except (sqlite3.Error, OSError) as err:
        place.drop(mark, [source.name])
        raise NotTaken(f"{capital(place.called)} does not keep what is written: {source.name} was read back, and "
                       f"{err}.", "Use another one. Do not trust what is on it.") from None
    if back.parent == scratch:
        back.unlink()


def _removed(copy: Path, names: Sequence[str]) -> list[str]:
    """Return which photographs the record has no entry of any more: the owner removed them for good.

    One whose file is lost still has its entry, and stays.
    """
    if not names:
        return []
    db = open_database(copy, readonly=True)
    try:
        return [name for name in names if not is_shown(db, name.rpartition("-")[0])]
    finally:
        db.close()


def digest(path: Path) -> str:
    """Return the SHA-256 of a file."""
    found = sha256()
    with path.open("rb") as file:
        while block := file.read(_BLOCK_BYTES):
            found.update(block)
    return found.hexdigest()


def _pictures(data: Path) -> list[Path]:
    """Return the photographs beside the record."""
    folder = data / PICTURES
    return sorted(folder.glob("*.jpg")) if folder.is_dir() else []
