"""From the probe's readings, one a second, to the stored one of every five seconds."""

from __future__ import annotations

from collections import Counter
from statistics import median

from daemon.firing.events import Sample
from daemon.store.readings import quantise
from hw.thermocouple import Fault, Reading

SLOT_S = 5
"""Length of a slot, and so the time between two stored readings [s]. [chosen: the median of five keeps single
outliers out, and a kiln hardly moves in it]"""
GAP_S = 3 * SLOT_S
"""More than this between two stored readings is a gap [s]. [chosen: one slot missed is no gap]"""
_TELLING = (Fault.SHORT, Fault.OPEN, Fault.RANGE, Fault.SILENT)
"""What is said of a blind slot where two faults were seen equally often: the more definite one."""


class Slot:
    """The readings of the running five seconds.

    A slot ends at a whole multiple of five seconds and holds what was read after the one before it. One
    in which nothing was read leaves no sample: what was not read is a gap and no fault.
    """

    def __init__(self) -> None:
        self._end_s = 0
        self._readings: list[Reading] = []

    def overdue(self, t_s: int) -> list[Sample]:
        """Return the sample of a slot that ended before second ``t_s`` while nothing was read, if any."""
        return self.close() if t_s > self._end_s else []

    def add(self, t_s: int, reading: Reading) -> list[Sample]:
        """Take a reading at a whole second and return the samples that are complete by it, mostly none."""
        done = self.overdue(t_s)
        if not self._readings:
            self._end_s = -(-t_s // SLOT_S) * SLOT_S
        self._readings.append(reading)
        return done + self.close() if t_s == self._end_s else done

    def close(self) -> list[Sample]:
        """End the running slot and return its sample, if it has a reading."""
        if not self._readings:
            return []
        sample = summary(self._end_s, self._readings)
        self._readings = []
        return [sample]


def summary(t_s: int, readings: list[Reading]) -> Sample:
    """Return the sample of some readings: median, lowest and highest good one, or the fault most seen.

    Parameters
    ----------
    t_s
        Second of the firing at the slot's end [s].
    readings
        At least one.
    """
    good = [reading.temp_c for reading in readings if reading.temp_c is not None]
    if good:
        return Sample(float(t_s), quantise(median(good)), None, quantise(min(good)), quantise(max(good)))
    seen = Counter(reading.fault for reading in readings if reading.fault is not None)
    fault = max(_TELLING, key=lambda fault: (seen[fault], -_TELLING.index(fault)))
    return Sample(float(t_s), None, fault.value)
