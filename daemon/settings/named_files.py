"""Files that the settings name and that are not there.

Such a setting is kept, with a warning: whether one first writes the file or first names it is the owner's choice, and
a file is often written on another day than the setting. Only its own part waits for it; the kiln is watched all the
same.
"""

from __future__ import annotations

from pathlib import Path

from daemon.settings.config import Config


def missing(config: Config) -> dict[str, str]:
    """Return a sentence for each file that is not there, by the setting that names it.

    One in a folder that this user may not look into counts as there.
    """
    named = {"alive.url_file": config.alive.url_file, "alive.mqtt_file": config.alive.mqtt_file,
             "page.passcode_file": config.page.passcode_file}
    if config.probe.kind == "max31856" and "bus" in config.probe.settings:
        named["probe.bus"] = Path(config.probe.settings["bus"])
    return {key: f"There is no {file} yet. {_UNTIL[key]}"
            for key, file in named.items() if file is not None and _is_missing(file)}


_NO_SIGN = "Until it is there, no sign of life goes out by it."
_UNTIL = {
    "alive.url_file": _NO_SIGN, "alive.mqtt_file": _NO_SIGN,
    "probe.bus": "Until it is there, the kiln is not watched. Those that are: ls /dev/spidev*",
    "page.passcode_file": "Until it is there, nothing can be changed on the page: lehrling web --set-passcode",
}
"""What does not work without the file, by setting."""


def _is_missing(file: Path) -> bool:
    try:
        return not file.exists()
    except OSError:
        return False
