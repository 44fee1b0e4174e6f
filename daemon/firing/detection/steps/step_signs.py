"""What readings after a step down tell of its cause: air, an open lid, or a probe that measures something else."""

from __future__ import annotations

from daemon.firing.plan.schedule import ASSUMED_ROOM_C
from daemon.firing.situation.natural_fall import FASTEST_TIME_H, SLOWEST_TIME_H
from daemon.firing.situation.probe_doubt import OPEN_SHARE
from daemon.firing.trace.recent import Trail
from daemon.regression import Line

_STILL_FOR_S, _SETTLES_IN_S, _STILL_READINGS = 60.0, 30.0, 4
"""A reading stands still over so long [s], from so long after its step on, or a little later [s], told by so many
readings at least. [chosen: a bare wire has settled by then; shorter than WAKE_AFTER_S together]"""
STRAYS_K, STRAYS_SDS = 3.0, 3.0
"""A line leads nowhere whose readings are further from it, on average, than this [K] and so many standard deviations
of the noise together. [tuned: by trial on the bench, study not kept]
"""


def strays(line: Line, noise_k: float) -> bool:
    """Return whether readings with noise ``noise_k`` [K] stray so far from their line that it leads nowhere.

    Spikes, an open lid or a power cut lie in it: what it has for a slope is no rate.
    """
    return line.sse / (line.number - 2) > (STRAYS_K + STRAYS_SDS * noise_k) ** 2


def is_no_air(temp_c: float, kiln_c: float) -> bool:
    """Return whether no air in a kiln at ``kiln_c`` [°C] is as cold as ``temp_c``, even under an open lid.

    Wires that touch outside the kiln read so, and a probe that fell out. How fast the reading fell tells nothing: a
    bare wire follows the air under a vent within ten seconds, too.
    """
    return temp_c < ASSUMED_ROOM_C + OPEN_SHARE * (kiln_c - ASSUMED_ROOM_C)


def stands_still(t_s: float, since_s: float, trail: Trail) -> bool:
    """Return whether the readings have stood still right after a step down at ``since_s`` [s].

    Under a vent in a fall without power the air goes on falling for minutes, at least as fast as the slowest kiln. It
    may stand still later, when the vent is shut and the air comes back, but never at first. Where it does, the
    elements heat against an open lid, or the probe measures something else: its wires touch in the wall.
    """
    window_s = max(_STILL_FOR_S, 2 * _STILL_READINGS * trail.step_s)
    if not _SETTLES_IN_S <= t_s - window_s - since_s < 2 * _SETTLES_IN_S:
        return False
    halves = trail.line(t_s - window_s, t_s - window_s / 2), trail.line(t_s - window_s / 2)
    for line in halves:  # a turn has a slope of nothing over the whole
        if line is None or line.number < _STILL_READINGS or strays(line, trail.noise_k):
            return False
        above_k = max(0.0, line.mean_c - ASSUMED_ROOM_C) / 3600
        if not -above_k / SLOWEST_TIME_H < line.slope_c_per_s < above_k / FASTEST_TIME_H:
            return False
    return True
