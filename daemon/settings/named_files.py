"""Files and folders that the settings name and that are not there, or can't do what they are named for.

Such a setting is kept, with a warning: whether one first writes the file or first names it is the owner's choice, and
a file is often written on another day than the setting. Only its own part waits for it; the kiln is watched all the
same.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

from daemon.settings.config import Config
from daemon.settings.elsewhere import RCLONE_FILE, RESTIC_ENDING, Elsewhere


def doubts(config: Config, data: Path) -> list[tuple[str, str]]:
    """Return the name of each setting whose file or folder can't serve now, with a sentence.

    One in a folder that this user may not look into counts as there.

    Parameters
    ----------
    config
        What the settings file says.
    data
        The data folder.
    """
    named = {"alive.url_file": config.alive.url_file, "alive.mqtt_file": config.alive.mqtt_file,
             "page.passcode_file": config.page.passcode_file}
    if config.mqtt is not None:
        named |= {"mqtt.ca_file": config.mqtt.ca_file, "mqtt.login_file": config.mqtt.login_file}
    if config.probe.kind == "max31856" and "bus" in config.probe.settings:
        named["probe.bus"] = Path(config.probe.settings["bus"])
    found = [(key, said) for key, file in named.items() if file is not None and (said := _of_file(key, file))]
    found += [("page.others", said) for folder in config.page.others if (said := _of_kiln(folder))]
    return found + [("copies.elsewhere", said) for place in config.copies for said in _of_place(place, data)]


_NO_SIGN = "Until it is there, no sign of life goes out by it."
_NOT_PUBLISHED = "Until it is there, nothing is published over MQTT."
_UNTIL = {
    "alive.url_file": _NO_SIGN, "alive.mqtt_file": _NO_SIGN,
    "mqtt.ca_file": _NOT_PUBLISHED, "mqtt.login_file": _NOT_PUBLISHED,
    "probe.bus": "Until it is there, the kiln is not watched. Those that are: ls /dev/spidev*",
    "page.passcode_file": "Until it is there, nothing can be changed on the page: lehrling web --set-passcode",
}
"""What does not work without the file, by setting."""
_NO_COPY = "Until then no copy goes there."


def _of_file(key: str, file: Path) -> str:
    """Return what is wrong with a file, as sentences; empty where nothing is."""
    if _is_missing(file):
        return f"There is no {file} yet. {_UNTIL[key]}"
    return f"{file} is a folder. Name a file." if file.is_dir() else ""


def _of_kiln(folder: Path) -> str:
    """Return what is wrong with the state folder of another kiln's daemon; empty where nothing is."""
    if _is_missing(folder):
        return f"There is no {folder} yet. Until it is there, that kiln is not shown."
    return "" if folder.is_dir() else f"{folder} is a file. Name the folder where the other daemon keeps its state."


def _of_place(place: Elsewhere, data: Path) -> Iterator[str]:
    """Yield what is wrong with a place for copies; a stick may be in the drawer, so nothing is said of one."""
    if place.kind == "folder":
        yield from _of_folder(Path(place.name), data)
    if place.kind in ("restic", "rclone"):
        file = data / (f"{place.name}{RESTIC_ENDING}" if place.kind == "restic" else RCLONE_FILE)
        if _is_missing(file):
            yield f"There is no {file} yet. Write it as docs/install.md, “A copy elsewhere”, says. {_NO_COPY}"
        if shutil.which(place.kind) is None:
            yield f"{place.kind} is not installed. Install it: sudo apt install {place.kind}. {_NO_COPY}"


def _of_folder(folder: Path, data: Path) -> Iterator[str]:
    """Yield what is wrong with a folder for copies."""
    if folder.resolve().is_relative_to(data.resolve()):
        yield f"{folder} lies inside the data folder, so it is no copy elsewhere. Name a folder on another disk."
    elif _is_missing(folder):
        yield f"There is no {folder} yet. {_NO_COPY}"
    elif not folder.is_dir():
        yield f"{folder} is a file. Name a folder."
    elif data.is_dir() and folder.stat().st_dev == data.stat().st_dev:
        yield (f"{folder} lies on the same disk as the record, so no copy goes there: a disk that fails takes both. "
               "Mount there what the copies are to lie on, or name another folder.")


def _is_missing(file: Path) -> bool:
    try:
        return not file.exists()
    except OSError:
        return False
