"""Where the doctor looks: the data folder, the run folder, the settings file, and what serves of it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from daemon.doctor.finding import Finding, good, mend, note
from daemon.errors import BadInput
from daemon.settings.config import Config, read_config
from daemon.settings.last_good import usable_settings
from daemon.store.database import FILE_NAME as DATABASE_NAME


@dataclass(frozen=True)
class Places:
    """Where things are: the data folder, the run folder, the settings file."""

    data: Path
    run: Path
    settings: Path

    @property
    def record(self) -> Path:
        """Return where the record is, or would be."""
        return self.data / DATABASE_NAME


def settings_in_use(places: Places) -> tuple[Config, Finding]:
    """Return the settings that serve, and whether they are the owner's."""
    file = places.settings
    if not file.exists():
        return Config(), note("settings", f"There is no {file.name} yet; the usual values serve.",
                              "Set up kiln and thermocouple on the page.")
    try:
        return read_config(file), good("settings", f"{file.name} can be used.")
    except BadInput as err:
        found = mend("settings", err.text, "Mend the line, or take it out; the last good settings serve meanwhile.")
    try:
        return usable_settings(file, places.data), found
    except BadInput:
        return Config(), found
