"""A trace thinned to what a drawing can show, so that no dip or spike is lost and no gap is bridged."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from statistics import median

from daemon.firing.events import Sample

Column = tuple[float, float | None, float | None, float | None]
"""One column of a drawing: second, lowest, last and highest temperature [°C]; None in a gap."""

GAP_FACTOR = 3.0
"""A gap is more than this many times the usual interval. [chosen: one reading missed is no gap]"""


def thin(samples: Sequence[Sample], count: int) -> tuple[Column, ...]:
    """Return at most about ``count`` columns of ``samples``, plus one empty column a gap.

    A reading without a temperature, and a hole in time of more than three usual intervals, leave an
    empty column: the pen is lifted there.
    """
    if not samples:
        return ()
    usual_s = median([b.t_s - a.t_s for a, b in pairwise(samples[:2000])] or [5.0])
    width_s = max(usual_s, (samples[-1].t_s - samples[0].t_s) / max(1, count))
    columns: list[Column] = []
    held: list[Sample] = []
    last_s = samples[0].t_s
    for sample in samples:
        lifted = sample.temp_c is None or sample.t_s - last_s > GAP_FACTOR * usual_s
        if lifted or (held and sample.t_s - held[0].t_s >= width_s):
            _close(columns, held)
        if lifted and columns and columns[-1][1] is not None:
            columns.append((last_s, None, None, None))
        if sample.temp_c is not None:
            held.append(sample)
        last_s = sample.t_s
    _close(columns, held)
    return tuple(columns)


def _close(columns: list[Column], held: list[Sample]) -> None:
    if not held:
        return
    temps = [s.temp_c for s in held if s.temp_c is not None]
    lows = [s.low_c if s.low_c is not None else s.temp_c for s in held]
    highs = [s.high_c if s.high_c is not None else s.temp_c for s in held]
    low_c, high_c = min(c for c in lows if c is not None), max(c for c in highs if c is not None)
    columns.append((held[-1].t_s, low_c, temps[-1], high_c))
    held.clear()
