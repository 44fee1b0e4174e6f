"""Which rank a serious alert must reach, from what truly follows for the glass if nobody gets up.

An anneal hold that is too cold or too short, yet relaxes this thickness all the same, is for the morning; one that
does not is worth getting up for. It is reckoned on the true temperature of the glass, through its thickness.
"""

from __future__ import annotations

from dataclasses import replace

from daemon.glass.materials import FAMILIES
from simulations.cases import Expected
from simulations.plant.slab import through
from simulations.studies.onsets import Course

_TAU_AT_ANNEAL_S = 66.9
"""Maxwell's time at the annealing point [s].
[derived: 6 (1 - 0.22) 10^12 Pa s / 70 GPa, the viscosity there by ASTM C336, moduli from memory]"""
_DECADES = 1.5
"""Viscosity grows by so many powers of ten from annealing to strain point.
[from memory: ASTM C336 defines them at 10^12 and 10^13.5 Pa s]"""
_TWENTIETH = 3.0
"""After so many of Maxwell's times a twentieth of a stress is left. [derived: exp(-3) is 0.05]"""
_STEP_S = 30.0
"""The glass is looked at this often [s]. [chosen: a slab of 6 mm evens out in about that]"""


_DOUBTED_TIMES = 3.0
"""A hold that gives less than so many times what is enough may be woken for: one probe doesn't know the glass's
temperature to 10 K. [derived: stress relaxes three times slower 10 K lower]"""
_EVEN_K = 2.0
"""Surface and core are even when they differ by no more [K]: what relaxes before is frozen in again as they even out.
[chosen: about what a fall at the usual rates keeps up through 6 to 12 mm]"""


def relaxation_times(course: Course, step: int) -> float:
    """Return how many of Maxwell's times the glass truly spent, even through its thickness, in the holds of ``step``.

    It takes its heat through one face; the worse of surface and core counts.
    """
    case, truth = course.case, course.truth
    holds = [p for p in truth.parts if (p.step, p.part) == (step, "hold")]
    if not holds:
        return 0.0
    from_s, to_s = min(p.start_s for p in truth.parts if p.step == step), holds[-1].end_s or truth.times_s[-1]
    times: list[float] = []
    glass_c: list[float] = []
    for t_s, temp_c in zip(truth.times_s, truth.glass_c, strict=True):
        if from_s <= t_s <= to_s and (not times or t_s >= times[-1] + _STEP_S):
            times.append(t_s)
            glass_c.append(temp_c)
    if not times:
        return 0.0
    glass = FAMILIES[case.glass]
    per_k = _DECADES / (glass.annealing_point_c - glass.strain_point_c)
    surface_c, core_c = through(times, glass_c, case.thickness_mm)
    spent = 0.0
    for n in range(1, len(times)):
        is_held = any(p.start_s <= times[n] <= (p.end_s or to_s) for p in holds)
        if is_held and abs(surface_c[n] - core_c[n]) <= _EVEN_K:
            colder_c = min(surface_c[n], core_c[n])
            decades = per_k * (glass.annealing_point_c - colder_c)
            spent += (times[n] - times[n - 1]) / _TAU_AT_ANNEAL_S / 10**decades
    return spent


def as_due(expected: Expected, course: Course) -> Expected:
    """Return what is expected at the rank that is due: its own, or, where it hangs on a hold, what the glass says."""
    if expected.follows_step is None:
        return expected
    spent = relaxation_times(course, expected.follows_step)
    return replace(expected, rank="look" if spent >= _TWENTIETH else "wake",
                   is_wake_fine=_TWENTIETH <= spent < _TWENTIETH * _DOUBTED_TIMES)
