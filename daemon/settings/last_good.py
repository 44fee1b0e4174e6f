"""The settings that the services work with when the owner's file can't be used.

A typo in ``lehrling.toml`` must not leave a hot kiln unwatched. So the daemon keeps a copy of the last file that
could be used, and that serves until the file is mended. Where there is no copy yet, each line that can't be used is
left out, and its usual value serves. If it is one by which the probe is found or its type known, no probe is opened:
a guess at the thermocouple's type would make every temperature false. Either way the page says so.
"""

from __future__ import annotations

import logging
import os
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from daemon.errors import BadInput
from daemon.fields import Problem
from daemon.files import read_text
from daemon.settings.config import Config, Probe, parse_config, parse_what_can_be_used

COPY_NAME = "lehrling.toml.last-good"
"""The copy, in the data folder."""
LOG = logging.getLogger(__name__)
_NO_OTHER_PROBE = ("[probe] mains_hz", "[probe] averaging", "[probe] tolerance_class")
"""With the usual value in their place a temperature is at most noisier, or its stated accuracy another."""
_WHAT = "settings file"
_MEND = "Mend the file, then restart Lehrling."


def usable_settings(path: Path, data: Path) -> Config:
    """Return the settings of the file at ``path``; what serves instead says why in ``trouble``.

    Parameters
    ----------
    path
        The owner's file.
    data
        The data folder, where the copy is.

    Raises
    ------
    BadInput
        Where there is neither the file nor a copy of it.
    """
    try:
        return replace(parse_config(read_text(str(path), what=_WHAT), str(path), path.parent), file=path)
    except BadInput as err:
        copy = _copy(path, data)
        if copy is not None:
            return replace(copy, trouble=(f"The settings can't be used. {err.text} Lehrling works with those of "
                                          f"{_changed(data / COPY_NAME)}. {_MEND}",))
        if not os.path.exists(path):  # which also says no where it may not look
            raise
        return _without_what_is_wrong(path, err)


def keep_copy(path: Path, data: Path) -> None:
    """Keep a copy of a file that could be used, where the disk takes it; the same one is not written again."""
    copy = data / COPY_NAME
    part = copy.with_name(copy.name + ".part")
    try:
        given = path.read_bytes()
        if copy.exists() and copy.read_bytes() == given:
            return
        part.write_bytes(given)
        part.chmod(0o600)
        os.replace(part, copy)
    except OSError as err:
        LOG.error("No copy of %s can be kept now: %s.", path, err.strerror)


def _copy(path: Path, data: Path) -> Config | None:
    """Return the settings of the copy; None where there is none that can be used."""
    try:
        return parse_config(read_text(str(data / COPY_NAME), what=_WHAT), COPY_NAME, path.parent)
    except BadInput:
        return None


def _changed(copy: Path) -> str:
    """Return when the copy was written, for a sentence."""
    return f"{datetime.fromtimestamp(copy.stat().st_mtime).astimezone():%-d %B %Y, %H:%M}"


def _without_what_is_wrong(path: Path, err: BadInput) -> Config:
    """Return the settings without the lines that are wrong; without a probe where it could be a wrong one."""
    try:
        config, problems = parse_what_can_be_used(read_text(str(path), what=_WHAT), str(path), path.parent)
    except BadInput:
        return Config(probe=Probe(trouble=err.text), trouble=(f"{err.text} {_MEND}",))
    left_out = " ".join(f"Left out: {problem}" for problem in problems)
    of_probe = " ".join(str(problem) for problem in problems if _leaves_probe_unknown(problem))
    return replace(config, probe=replace(config.probe, trouble=of_probe), trouble=(f"{path}: {left_out} {_MEND}",))


def _leaves_probe_unknown(problem: Problem) -> bool:
    """Return whether the probe could be a wrong one without this line; an unknown key may be a mistyped one."""
    where = problem.where
    return where == "probe" or (where.startswith("[probe]") and where not in _NO_OTHER_PROBE)
