"""Settings that the page or a command asks the daemon to change: checked, kept, and used from a fresh start on."""

from __future__ import annotations

import logging
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from daemon.acquisition.open_probe import check_probe
from daemon.errors import BadInput
from daemon.settings.change import change
from daemon.settings.config import Config
from daemon.store import kilns
from daemon.store.write_queue import Op

LOG = logging.getLogger(__name__)
KIND = "settings"
"""The kind of such a request. It comes by the socket alone: an address in it is a secret, and is not stored."""


def check_settings(config: Config) -> None:
    """Raise BadInput where the daemon would not start with these settings: those of a probe that is no real one.

    Those of a real probe are checked wherever the file is read.
    """
    if config.probe.kind != "max31856":
        check_probe(config.probe.kind, config.probe.settings)


class SettingsDesk:
    """Changes the settings file when asked.

    Parameters
    ----------
    path
        The file.
    config
        The settings in use.
    """

    def __init__(self, path: Path, config: Config) -> None:
        self._path = path
        self._config = config
        self.changed = False
        """Whether the daemon has to start afresh, to work with what was kept."""

    def take(self, payload: Mapping[str, Any], *, firing_open: bool, has_probe: bool = True) -> list[Op]:
        """Keep what is asked and return what has to be stored besides.

        What names the kiln is not changed under an open firing, nor what reads it, unless nothing reads it now.

        Raises
        ------
        BadInput
            Saying what can't be used and the remedy; nothing is changed then.
        """
        asked = payload.get("changes")
        if not isinstance(asked, Mapping) or not asked or not all(
                isinstance(key, str) and (value is None or isinstance(value, str)) for key, value in asked.items()):
            raise BadInput("changes", "this is no table of settings.", "Name each with its value as text.")
        file = payload.get("file")
        if isinstance(file, str) and Path(file) != self._path.resolve():
            raise BadInput(file[:200], f"is not the file of the daemon that runs, {self._path}.",
                           "Name its folders with --data and --run.")
        held = [key for key in asked if key == "kiln.name" or (has_probe and key.startswith("probe."))]
        if firing_open and held:
            raise BadInput(", ".join(held), "can’t be changed while a firing is open.", "End the firing first.")
        new = change(self._path, asked, check_settings)
        self.changed = True
        LOG.info("Settings changed: %s. Starting afresh with them.", ", ".join(asked))
        before, now = self._config.kiln_name, new.kiln_name
        return [] if before == now else [lambda db: kilns.rename(db, before, now)]
