"""A probe that plays a trace file, for tests and for looking at an old firing as if it ran now."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Sequence
from itertools import pairwise
from statistics import median

from daemon.files import read_text
from daemon.firing.events import Sample
from daemon.firing.trace.csv_trace import read_trace
from hw.settings import Settings
from hw.thermocouple import Fault, Reading, Thermocouple

_INTERVAL_S = 5.0
"""Taken for the way between two rows where a trace has only one [s]. [from: daemon.acquisition.sampling.SLOT_S]"""


class RecordedProbe:
    """Plays samples by the firing clock; silent before the first, in gaps and after the end.

    A row is believed until the next one, but in a gap (more than three times the median interval) and
    after the last row no longer than one interval.

    Parameters
    ----------
    samples
        The trace in time order; at least one.
    now_s
        The firing clock [s].
    epoch_s
        Second of the firing clock at which the trace's second 0 is played.
    loop
        Whether it begins again after its end.
    """

    def __init__(self, samples: Sequence[Sample], now_s: Callable[[], float], epoch_s: float,
                 loop: bool = False) -> None:
        self._samples = samples
        self._times = [sample.t_s for sample in samples]
        steps = [b - a for a, b in pairwise(self._times)]
        self._interval_s = median(steps) if steps else _INTERVAL_S
        self._now_s = now_s
        self._epoch_s = epoch_s
        self._loop = loop

    @property
    def name(self) -> str:
        """Return ``recorded``."""
        return "recorded"

    def read(self) -> Reading:
        """Return the row of the trace that stands now."""
        t_s = self._now_s() - self._epoch_s
        if self._loop and t_s > self._times[-1]:
            t_s %= self._times[-1] + max(self._interval_s, 1.0)
        at = bisect_right(self._times, t_s) - 1
        if at < 0 or not self._times[at] <= t_s < self._believed_until_s(at):
            return Reading(None, fault=Fault.SILENT, detail=f"the trace has nothing at second {t_s:.0f}")
        sample = self._samples[at]
        if sample.temp_c is None:
            fault = Fault(sample.fault) if sample.fault else Fault.SILENT
            return Reading(None, fault=fault, detail=f"the trace says {fault.value} at second {sample.t_s:.0f}")
        return Reading(sample.temp_c)

    def _believed_until_s(self, at: int) -> float:
        """Return until when a row is taken for the present [s of the trace]."""
        step_s = self._times[at + 1] - self._times[at] if at + 1 < len(self._times) else float("inf")
        return self._times[at] + (step_s if step_s <= 3 * self._interval_s else max(self._interval_s, 1.0))

    def close(self) -> None:
        """Nothing is held open."""


def open_probe(asked: Settings, now_s: Callable[[], float]) -> Thermocouple:
    """Open a recorded probe.

    Parameters
    ----------
    asked
        ``trace``, the file's path; ``loop`` to begin again after its end; ``epoch_s``, the second of the
        firing clock for the trace's second 0 [s], now where left out.
    now_s
        The firing clock.

    Raises
    ------
    BadInput
        Where a setting or the trace can't be used.
    """
    source, loop = asked.text("trace", ""), asked.flag("loop", False)
    epoch_s = asked.number("epoch_s", now_s(), -1e12, 1e12, "s")
    asked.text("thermocouple_type", "K")  # is every probe's; a trace has temperatures already
    if not source:
        asked.problem("trace", "missing.", 'Write trace = "FILE.csv".')
    asked.finish()
    samples = read_trace(read_text(source, what="trace").splitlines(keepends=True), source).samples
    return RecordedProbe(samples, now_s, epoch_s, loop)
