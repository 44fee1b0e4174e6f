"""The doctor's own look at the probe, only while no daemon holds the data folder, and let go of within seconds."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from daemon.acquisition.open_probe import opener
from daemon.clock import Clock
from daemon.doctor.finding import Finding, mend, note
from daemon.doctor.probe import Look
from daemon.errors import BadInput
from daemon.fields import Fields
from daemon.service.only_one import only_one
from daemon.settings.config import Config
from hw.thermocouple import ProbeError, Reading, Thermocouple

READINGS = 12
"""So many readings are taken. [chosen: ten second differences for the scatter]"""
LONGEST_S = 2.5
"""After this no other reading is begun [s]. [chosen: the daemon's start waits a little longer than that]"""
FAULTS = 2
"""So many faults end the look. [chosen: a chip that had lost its settings is set up anew by the first]"""


@contextmanager
def held_probe(data: Path, config: Config, clock: Clock) -> Iterator[Thermocouple]:
    """Open the probe, which no daemon may have, and let go of it again.

    Raises
    ------
    BadInput
        Where a daemon has it, or a setting of it is wrong.
    ProbeError
        Where it can't be opened.
    """
    if config.probe.trouble:
        raise BadInput("[probe]", config.probe.trouble, "Mend this line of the settings.")
    # A simulated kiln begins when it is looked at.
    begun_s = 0.0 if config.probe.kind == "max31856" else clock.now_s()
    with only_one(data, wait_s=0.0):
        probe = opener(config.probe.kind)(Fields(config.probe.settings, "[probe] "), lambda: clock.now_s() - begun_s)
        try:
            yield probe
        finally:
            probe.close()


def own_look(data: Path, config: Config, clock: Clock) -> Look | Finding:
    """Return some readings of the probe as one look, or a finding that says why there are none.

    Parameters
    ----------
    data
        The data folder, whose lock is held meanwhile.
    config
        The settings.
    clock
        Bounds the look.
    """
    try:
        with held_probe(data, config, clock) as probe:
            return _look(probe, clock)
    except ProbeError as err:
        return mend("probe", err.problem, err.remedy)
    except BadInput as err:
        if err.where == str(data):
            return note("probe", "The daemon is being started and has the probe. Ask again in a minute.")
        return mend("probe", f"{err.where}: {err.problem}", err.remedy)


def _look(probe: Thermocouple, clock: Clock) -> Look:
    """Return some readings of the probe as one look."""
    until_s = clock.now_s() + LONGEST_S
    good: list[float] = []
    faults = 0
    last: Reading | None = None
    while last is None or (len(good) < READINGS and faults < FAULTS and clock.now_s() < until_s):
        last = probe.read()
        if last.temp_c is None:
            faults += 1
        else:
            good.append(last.temp_c)
    return Look(last.temp_c, last.cold_junction_c, last.fault.value if last.fault else None, good)
