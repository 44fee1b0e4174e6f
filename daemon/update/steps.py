"""The steps of an update: check, copy, keep the way back, install, wait until the watch watches, else go back.

The program's own files are exchanged meanwhile, so nothing is imported once that has begun.
"""

from __future__ import annotations

from collections.abc import Callable
from enum import Enum
from pathlib import Path
from typing import NamedTuple, Protocol

from daemon.errors import BadInput

WATCHES_S = 180.0
"""So long is waited for the new daemon to watch [s]. [chosen: several times what a small Pi needs to judge a long
firing again]"""
STEADY_S = 10.0
"""A daemon that still speaks so long after its start watches [s]. [chosen: two words of it]"""
EACH_S = 1.0
"""Time between two looks whether it watches [s]. [chosen: the daemon speaks every five]"""
HOT_C = 100.0
"""From here on a kiln is not left alone for an update [°C]. [from: daemon.service.kiln_alarm.HOT_C]"""


class Package(NamedTuple):
    """What a package file says of itself."""

    name: str
    version: str
    architecture: str


class Kiln(NamedTuple):
    """What the daemon says just now."""

    temp_c: float | None
    firing_is_open: bool
    written_s: float
    """When it was said, in seconds of wall time."""


class NotInstalled(Exception):
    """The package could not be installed; the text is the installer's."""


class Outcome(Enum):
    """How an update ended."""

    DONE = "done"
    SAME = "the same version"
    WENT_BACK = "went back"
    STUCK = "stuck"
    """Neither the new version nor the last one watches."""


class System(Protocol):
    """The computer that is updated; tests hand in their own."""

    def now_s(self) -> float:
        """Return wall time [s], the one that the state file is stamped with."""

    def wait(self, seconds: float) -> None:
        """Wait."""

    def package(self, file: Path) -> Package:
        """Return what a package file says of itself; BadInput where it is damaged or would not install."""

    def installed(self) -> Package:
        """Return the package that is installed; BadInput where there is none."""

    def kiln(self) -> Kiln | None:
        """Return what the daemon says, where it was said just now."""

    def further_kilns(self) -> list[Kiln]:
        """Return what the daemons of further kilns on this computer say, of those that are heard."""

    def daemon_falls(self) -> bool:
        """Return whether the daemon has fallen and been started again more often than a slow start explains."""

    def copy_record(self) -> Path | None:
        """Copy the record and check the copy; None where there is no record yet. BadInput where it fails."""

    def keep_installed(self) -> Path:
        """Make a package of what is installed, to go back to; BadInput where it fails."""

    def install(self, file: Path) -> None:
        """Install a package and start the services; NotInstalled where it fails."""

    def record_is_newer(self) -> bool:
        """Return whether the version that was installed first cannot read the record any more."""

    def put_back(self, copy: Path) -> Path:
        """Set the record aside and put a copy in its place, the services stopped; return what was set aside."""


def update(file: Path, system: System, say: Callable[[str], None], *, while_hot: bool = False) -> Outcome:
    """Update to a package file.

    Parameters
    ----------
    file
        The package.
    system
        The computer.
    say
        Is told each step, in a sentence.
    while_hot
        Whether to go on although the kiln is hot or a firing is open.

    Raises
    ------
    BadInput
        Before anything was changed: what stands against it, and the remedy.
    """
    new, old = system.package(file), system.installed()
    _refuse_wrong(file, new, old)
    if new.version == old.version:
        return Outcome.SAME
    kiln = system.kiln()
    if not while_hot:
        for one in (*([] if kiln is None else [kiln]), *system.further_kilns()):
            _refuse_hot(one)
    if kiln is None:
        say("The daemon does not watch just now, so nobody can tell whether the new version would.")
    copy = system.copy_record()
    say("There is no record yet." if copy is None else f"The record is copied, and the copy checked: {copy.name}.")
    way_back = system.keep_installed()
    say(f"Version {old.version} is kept, to go back to: {way_back}.")
    say(f"Version {new.version} is being installed. Nobody watches the kiln meanwhile.")
    try:
        system.install(file)
    except NotInstalled as err:
        say(f"It could not be installed: {err}")
        return _go_back(system, old, way_back, copy, say, watched=kiln is not None)
    if kiln is None:
        say("Nothing watched before, so it is not waited for. Ask: sudo -u lehrling lehrling doctor")
        return Outcome.DONE
    if _watches(system):
        say(f"Version {new.version} watches.")
        return Outcome.DONE
    say(f"Version {new.version} does not watch.")
    return _go_back(system, old, way_back, copy, say, watched=True)


def _refuse_wrong(file: Path, new: Package, old: Package) -> None:
    """Refuse what is no package of Lehrling for this computer."""
    if new.name != old.name:
        raise BadInput(str(file), f"this is the package {new.name!r}, not {old.name!r}.", "Name Lehrling's own.")
    if new.architecture not in (old.architecture, "all"):
        raise BadInput(str(file), f"this package is for {new.architecture}; this computer is {old.architecture}.",
                       f"Take the one whose name ends with _{old.architecture}.deb.")


def _refuse_hot(kiln: Kiln) -> None:
    """Refuse where the kiln would be left alone at a bad time."""
    hot = kiln.temp_c is not None and kiln.temp_c >= HOT_C
    if not hot and not kiln.firing_is_open:
        return
    what = f"the kiln is at {kiln.temp_c:.0f} °C" if hot else "a firing is open"
    raise BadInput("not now", f"{what}, and nobody watches during an update.",
                   "Wait until it is over and the kiln is cold. If it must be: stay at the kiln, go by its own "
                   "display, and add --while-hot.")


def _watches(system: System) -> bool:
    """Return whether a daemon speaks that was started just now, and goes on speaking."""
    since_s = system.now_s() + STEADY_S
    for _ in range(round(WATCHES_S / EACH_S)):
        kiln = system.kiln()
        if kiln is not None and kiln.written_s >= since_s:
            return True
        if system.daemon_falls():
            return False
        system.wait(EACH_S)
    return False


def _go_back(system: System, old: Package, way_back: Path, copy: Path | None, say: Callable[[str], None], *,
             watched: bool) -> Outcome:
    """Install the last package again, and put the copy back where the record was changed for the new version."""
    say(f"Going back to version {old.version}.")
    try:
        if copy is not None and system.record_is_newer():
            aside = system.put_back(copy)
            say(f"The new version had changed the record. It is set aside as {aside.name}, and the copy serves.")
        system.install(way_back)
    except (NotInstalled, BadInput) as err:
        say(f"That failed, too: {err}")
        return Outcome.STUCK
    if watched and not _watches(system):
        say(f"Version {old.version} does not watch either. Go by the kiln's own display.")
        return Outcome.STUCK
    say(f"Version {old.version} is back" + (" and watches." if watched else "."))
    return Outcome.WENT_BACK
