"""The record put back: a copy is fetched and checked while the watch goes on, then exchanged for the record.

Everything that touches the record is done by a child that has become the folder's owner.
"""

from __future__ import annotations

import json
import os
import subprocess
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import IO, Any, NamedTuple

from daemon.clock import SystemClock
from daemon.copies import restore as copies
from daemon.copies.alone import alone
from daemon.copies.place import NotTaken, Place
from daemon.copies.restore import Fetched
from daemon.errors import BadInput
from daemon.service.kiln_alarm import HOT_C
from daemon.service.only_one import only_one
from daemon.service.state_reader import read_daemon_state
from daemon.store.database import FILE_NAME
from daemon.update.debian import as_owner

SERVICES = ("lehrling-deliver", "lehrling-web", "lehrling-daemon")
"""In the order in which they are stopped; started again the other way round."""
_LONGEST_S = 120.0
"""A call of systemctl takes no longer [s]. [chosen: the daemon's own bound for a start]"""


class Asked(NamedTuple):
    """What is to be put back.

    Attributes
    ----------
    source
        A place as it is spelt, a folder or a file; None for a copy beside the record.
    name
        Which copy; empty for the newest.
    mark
        Which record, where a place holds several; empty for the own one, or the only one.
    while_hot
        Whether to do it although the kiln is hot or a firing is open.
    without_photographs
        Whether to do it although photographs are missing from it.
    """

    source: str | None
    name: str = ""
    mark: str = ""
    while_hot: bool = False
    without_photographs: bool = False


def put_back(asked: Asked, data: Path, run_dir: Path, place: Callable[[str], Place], say: Callable[[str], None], *,
             has_services: bool) -> None:
    """Put the record back from a copy.

    Parameters
    ----------
    asked
        What is to be put back.
    data, run_dir
        The data folder and the run folder.
    place
        Returns a place by how it is spelt.
    say
        Is told each step, in a sentence.
    has_services
        Whether the services of this computer work in the data folder, and may be stopped and started.

    Raises
    ------
    BadInput
        Saying why it was not done; the record is as it was then.
    """
    record = data / FILE_NAME
    if os.geteuid() not in (0, data.stat().st_uid):
        raise BadInput("lehrling copies restore", "the data folder belongs to another user.",
                       "Type: sudo lehrling copies restore …")
    if not asked.while_hot:
        _refuse_hot(run_dir)
    with ExitStack() as open_things:
        # Opened now: the owner of the data folder may not look into a person's own folder.
        file = None
        if asked.source is not None and _is_file(asked.source):
            file = open_things.enter_context(_open(Path(asked.source)))
        _refuse_unused(asked, is_file=file is not None)
        open_things.enter_context(alone(data, "lehrling copies restore"))
        _fetch_and_exchange(asked, record, file, place, say, has_services=has_services)


def _fetch_and_exchange(asked: Asked, record: Path, file: IO[bytes] | None, place: Callable[[str], Place],
                        say: Callable[[str], None], *, has_services: bool) -> None:
    """Do the two steps, each in a child, and say what came of them."""
    data = record.parent
    said = as_owner(data, lambda: _as_text(lambda: _fetch(asked, record, file, place)))
    fetched = Fetched(**_heard(said))
    say(f"{fetched.name} was read through and is in order.")
    if fetched.lost:
        say(f"Photographs that are missing, and are left out: {fetched.lost}.")
    with _services_stopped(may=has_services):
        said = as_owner(data, lambda: _as_text(lambda: _exchange(fetched, record)))
    aside = _heard(said)["aside"]
    say("It is the record now." + (f" The one before is set aside as {aside}." if aside else ""))
    if fetched.pictures:
        say(f"Photographs that were missing here and came with it: {fetched.pictures}.")


def _is_file(source: str) -> bool:
    """Return whether FROM names a file; a place begins with a kind, or is a folder."""
    return not source.startswith(("usb:", "restic:", "rclone:")) and not Path(source).is_dir()


def _open(path: Path) -> IO[bytes]:
    """Open a file to read; a pipe is not waited for."""
    if path.exists() and not path.is_file():
        raise BadInput(str(path), "is no file.", "Name a copy, a zip from the page, or a place such as usb:KILN.")
    try:
        return path.open("rb")
    except OSError as err:
        raise BadInput(str(path), f"can't be read: {err.strerror}.", "Name a copy, a zip from the page, or a place "
                       "such as usb:KILN.") from None


def _fetch(asked: Asked, record: Path, file: IO[bytes] | None, place: Callable[[str], Place]) -> dict[str, object]:
    """Fetch and check the copy that is asked for; where it is refused, nothing of it stays."""
    try:
        if asked.source is None:
            found = copies.from_here(record, asked.name)
        elif file is not None:
            found = copies.from_file(file, Path(asked.source).name, record)
        else:
            spelt = str(Path(asked.source).resolve()) if Path(asked.source).is_dir() else asked.source
            found = copies.from_place(place(spelt), record, mark=asked.mark, name=asked.name)
        if found.lost and not asked.without_photographs:
            raise BadInput(found.name, f"its record is in order, but {_photographs(found.lost)} missing from it, or "
                           "can’t be read.", "Is there a copy with all of them? If not, take it all the same: add "
                           "--without-photographs.")
    except BaseException:
        copies.clear(record)
        raise
    return found._asdict()


def _photographs(count: int) -> str:
    return "1 photograph is" if count == 1 else f"{count} photographs are"


def _refuse_unused(asked: Asked, *, is_file: bool) -> None:
    """Refuse an option that would be passed over."""
    if is_file and (asked.name or asked.mark):
        raise BadInput("--copy" if asked.name else "--of", f"{asked.source} is one file; there is nothing to choose.",
                       "Leave it out, or name the place instead of the file.")
    if asked.source is None and asked.mark:
        raise BadInput("--of", "the copies beside the record are all of this record.",
                       "Leave it out, or name a place.")


def _exchange(fetched: Fetched, record: Path) -> dict[str, object]:
    """Exchange the record, where nobody works with it; where somebody does, nothing of the copy stays."""
    with ExitStack() as held:
        try:
            held.enter_context(only_one(record.parent))
        except BadInput:
            copies.clear(record)
            raise
        return {"aside": copies.exchange(fetched, record, SystemClock().utc())}


def _as_text(work: Callable[[], dict[str, object]]) -> str:
    """Return what some work returns, or why it failed, as a line for the parent."""
    try:
        return json.dumps(work())
    except BadInput as err:
        return json.dumps({"wrong": [err.where, err.problem, err.remedy]})
    except NotTaken as err:
        return json.dumps({"wrong": ["not restored", err.said, err.do]})
    except OSError as err:
        return json.dumps({"wrong": ["not restored", f"{err}.", "Look at the disk: is there room?"]})


def _heard(said: str) -> dict[str, Any]:
    """Return what the child said; raise what went wrong there."""
    heard: dict[str, Any] = json.loads(said)
    if "wrong" in heard:
        where, problem, remedy = heard["wrong"]
        raise BadInput(where, problem, remedy)
    return heard


def _refuse_hot(run_dir: Path) -> None:
    """Refuse where the kiln would be left alone at a bad time."""
    state = read_daemon_state(run_dir, SystemClock().utc())
    if state is None or state.stale:
        return
    temp_c = state.number("temp_c")
    hot = temp_c is not None and temp_c >= HOT_C
    if hot or state.number("t_s") is not None:
        what = f"the kiln is at {temp_c:.0f} °C" if hot else "a firing is open"
        raise BadInput("not now", f"{what}, and nobody watches while the record is exchanged.",
                       "Wait until it is over and the kiln is cold. If it must be: stay at the kiln, go by its own "
                       "display, and add --while-hot.")


@contextmanager
def _services_stopped(*, may: bool) -> Iterator[None]:
    """Stop the services that run, where that may be done, and start them again afterwards."""
    running = [name for name in SERVICES if may and _systemctl("is-active", "--quiet", name)]
    for name in running:
        _systemctl("stop", name)
    try:
        yield
    finally:
        for name in reversed(running):
            _systemctl("start", name)


def _systemctl(*words: str) -> bool:
    """Call systemctl; return whether it said yes."""
    try:
        return subprocess.run(["systemctl", *words], stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL,
                              timeout=_LONGEST_S, check=False).returncode == 0
    except (OSError, subprocess.TimeoutExpired):
        return False
