"""What a watcher must say of a firing, reckoned from what truly happened and what follows from it for the glass.

A wake is asked for only where harm is plain and an act helps; where harm is doubtful a look is asked for, and a wake
is no fault.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable
from functools import cached_property
from typing import TYPE_CHECKING

from daemon.glass.materials import FAMILIES
from simulations.cases import Expected
from simulations.plant.mishaps import Happened
from simulations.second_plant.glass import reckon, relaxed
from simulations.truth import TruePart, Truth

if TYPE_CHECKING:
    from simulations.second_plant.cases import SecondCase

FALLS = ("firing-stopped", "sudden-drop", "cooling-too-fast", "hold-cut-short", "not-climbing", "hold-off-target")
"""Names that are near enough where the reading falls away for whatever cause."""
RELAXED, HALF_RELAXED = 6.0, 3.0
"""So many relaxation times are plenty, and too few are fewer than the second: a stress falls to 1/400, and to 1/20.
[derived: e⁻⁶ and e⁻³]"""
HARM_MPA, HARM_FACE_MPA = 1.0, 7.0
"""More residual tension than this is no longer well annealed; more passing tension at the face may crack [MPa].
[common practice: a studio's target, and about a tenth of the strength of new glass]"""
HARM_FACTOR = 1.5
"""Residual tension must also be this many times what the plan leaves. [chosen: else the plan is to blame]"""
EARLY_LEFT_S, EARLY_SHARE = 480.0, 0.6
"""A top cut is early where so much of its hold is left, by time [s] and by share.
[source: DESIGN, section 5: 3 of 10 min are a look, 9 are not; this lies between]"""
SERIOUS_CLIMB_C = 540.0
"""A climb that stops above this wakes [°C]. [source: DESIGN, section 5]"""
MISSED_K = 25.0
"""The anneal is missed once the glass is so far below it without its hold [K]. [derived: stress then relaxes some 30
times slower than at the hold]"""
SEEN_WITHIN_S = 1800.0
"""A kiln that lost its power must be told of within this [s]. [chosen: as the first bench asks]"""
STEP_PLAIN_K, STEP_DOUBTFUL_K = 30.0, 12.0
"""A fall of the reading that is plain, and one that may pass for a draught [K]. [chosen: above any noise drawn]"""
ROWS_APART_S = 30.0
"""The course is thinned to rows so far apart for reckoning [s]. [chosen: slow against any glass]"""


class Known:
    """A firing and its truth, with the questions that labels ask."""

    def __init__(self, case: SecondCase, truth: Truth) -> None:
        self.case, self.truth = case, truth

    @cached_property
    def rows(self) -> tuple[list[float], list[float]]:
        """Return times [s] and temperatures of the glass [°C], thinned."""
        times, temps, last_s = [], [], -1e9
        for t_s, temp_c in zip(self.truth.times_s, self.truth.glass_c, strict=True):
            if t_s >= last_s + ROWS_APART_S:
                times.append(t_s)
                temps.append(temp_c)
                last_s = t_s
        return times, temps

    def between(self, from_s: float, to_s: float) -> tuple[list[float], list[float]]:
        """Return the rows between two moments."""
        times, temps = self.rows
        a, b = bisect_left(times, from_s), bisect_left(times, to_s)
        return times[a:b], temps[a:b]

    def glass_c(self, t_s: float) -> float:
        """Return the temperature of the glass at ``t_s`` [°C]."""
        times, temps = self.rows
        return temps[min(len(temps) - 1, bisect_left(times, t_s))]

    def probe_c(self, t_s: float) -> float | None:
        """Return what the probe truly shows at the last reading by ``t_s`` [°C]; None outside the firing."""
        n = bisect_right(self.truth.times_s, t_s)
        return self.truth.probe_c[n - 1] if 0 < n < len(self.truth.probe_c) else None

    def happened(self, name: str) -> Happened | None:
        """Return the first thing of that name that came about."""
        return next((h for h in self.truth.faults if h.name == name), None)

    def part_at(self, t_s: float) -> TruePart | None:
        """Return the part the controller ran then."""
        running = [p for p in self.truth.parts if p.start_s <= t_s]
        return running[-1] if running else None

    def anneal_worth(self, until_s: float = 1e12) -> float:
        """Return how many relaxation times the glass spent in the anneal hold, until ``until_s`` at the latest."""
        worth = 0.0
        for part in self.truth.parts:
            if (part.step, part.part) == (self.case.anneal, "hold"):
                rows = self.between(part.start_s, min(until_s, part.end_s or until_s))
                worth += relaxed(self.case.glass, *rows)
        return worth

    def does_harm(self) -> bool:
        """Return whether the glass keeps, or passes through, plainly more stress than the plan asks."""
        case = self.case
        peak = max(range(len(self.rows[1])), key=lambda n: self.rows[1][n])
        left = reckon(case.glass, case.thickness_mm, self.rows[0][peak:], self.rows[1][peak:])
        meant = reckon(case.glass, case.thickness_mm, *case.meant_course())
        return (left.core_mpa > HARM_MPA and left.core_mpa > HARM_FACTOR * meant.core_mpa) or (
            left.face_mpa > HARM_FACE_MPA and left.face_mpa > HARM_FACTOR * meant.face_mpa)

    def anneal_missed_s(self, after_s: float, until_s: float) -> float | None:
        """Return when the glass fell past its anneal without a hold worth the name, between two moments."""
        anneal_c = self.case.plan.steps[self.case.anneal - 1].to_c
        if self.anneal_worth() > HALF_RELAXED and until_s > 1e11:
            return None
        times, temps = self.between(after_s, until_s)
        return next((t_s for t_s, c in zip(times, temps, strict=True) if c < anneal_c - MISSED_K), None)


def cut(known: Known) -> tuple[Expected, ...]:
    """Return what must be said of a power cut, by where it comes and what follows."""
    happened = known.happened("power-cut")
    part = None if happened is None else known.part_at(happened.at_s)
    if happened is None or part is None:
        return ()
    back_s = happened.until_s if happened.until_s is not None else 1e12
    found = [_cut(known, happened, part, back_s)]
    if happened.until_s is not None:
        before, after = known.probe_c(happened.at_s), known.probe_c(back_s)
        # A kiln that fell far, and climbs again: what it lost must be told, and what to key in.
        if before is not None and after is not None and before - after > 60.0:
            later = max((c for c in (known.probe_c(back_s + 60 * n) for n in range(1, 90)) if c is not None),
                        default=after)
            if later > after + STEP_PLAIN_K:
                found.append(Expected(("restarted",), "wake", "power-cut", onset="end", within_s=5400.0))
    return tuple(found)


def _cut(known: Known, happened: Happened, part: TruePart, back_s: float) -> Expected:
    """Return what must be said of the loss of power itself."""
    case, at_s = known.case, happened.at_s
    hot = max(known.between(-1e9, at_s + 60)[1], default=0.0)
    kinds = ("firing-stopped",)
    if hot < FAMILIES[case.glass].band_low_c - 20.0:
        return Expected(kinds, "log", "power-cut", FALLS, within_s=SEEN_WITHIN_S, is_wake_fine=False)
    is_climb = part.step < case.top or (part.step == case.top and part.part == "ramp")
    if is_climb:
        rank = "wake" if known.glass_c(at_s) >= SERIOUS_CLIMB_C else "look"
        return Expected(kinds, rank, "power-cut", FALLS, within_s=SEEN_WITHIN_S, is_wake_fine=True)
    if part.step == case.top:
        hold_s = case.plan.steps[case.top - 1].hold_s
        left_s = hold_s - (at_s - part.start_s)
        falls_free = case.plan.steps[case.top].rate_c_per_h is None
        if not falls_free or (left_s >= EARLY_LEFT_S and left_s >= EARLY_SHARE * hold_s):
            return Expected(kinds, "wake", "power-cut", FALLS, within_s=SEEN_WITHIN_S)
        missed_s = known.anneal_missed_s(at_s, back_s)
        if missed_s is None:
            return Expected(kinds, "look", "power-cut", FALLS, within_s=SEEN_WITHIN_S, is_wake_fine=True)
        due_s = missed_s - at_s
        return Expected((*kinds, "hold-cut-short"), "wake", "power-cut", FALLS, within_s=due_s + SEEN_WITHIN_S,
                        wake_after_s=due_s)
    is_harm = known.does_harm() or known.anneal_worth(at_s) < HALF_RELAXED
    return Expected(kinds, "wake" if is_harm else "look", "power-cut", FALLS, within_s=SEEN_WITHIN_S,
                    is_wake_fine=True)


def anneal(name: str, kind: str, onset: str, near: tuple[str, ...]) -> Callable[[Known], tuple[Expected, ...]]:
    """Return the label of an anneal hold that is not as written: a wake only where too little of it relaxed."""
    def label(known: Known) -> tuple[Expected, ...]:
        worth = known.anneal_worth()
        rank = "wake" if worth < HALF_RELAXED else "look"
        return (Expected((kind,), rank, name, near, onset, within_s=3600.0, is_wake_fine=worth < RELAXED),)
    return label


def ajar(known: Known) -> tuple[Expected, ...]:
    """Return what must be said of a lid ajar in the fall: by how fast the kiln then truly falls."""
    happened = known.happened("ajar")
    part = None if happened is None else known.part_at(happened.at_s)
    planned = known.case.plan.steps[part.step - 1].rate_c_per_h if part else None
    if happened is None or planned is None:
        return ()
    before, soon, later = (known.probe_c(happened.at_s + s) for s in (-10.0, 120.0, 900.0))
    if before is None or soon is None or later is None:
        return ()
    times = (before - later) / 910.0 * 3600.0 / planned
    step_k = before - soon
    if times > 1.4 and (known.does_harm() or times > 2.5):
        rank = "wake"
    elif times > 1.2 or step_k > STEP_PLAIN_K:
        rank = "look"
    else:
        return ()
    return (Expected(("sudden-drop", "cooling-too-fast"), rank, "ajar", FALLS, is_wake_fine=True),)


def lid_open(known: Known) -> tuple[Expected, ...]:
    """Return what must be said of a lid that stays open, by how far the reading stays down; a strong kiln holds."""
    happened = known.happened("ajar")
    if happened is None:
        return ()
    before, soon, later = (known.probe_c(happened.at_s + s) for s in (0.0, 120.0, 360.0))
    if before is None or soon is None or later is None or before - min(soon, later) < STEP_DOUBTFUL_K:
        return ()
    rank = "wake" if before - max(soon, later) > STEP_PLAIN_K else "look"
    return (Expected(("sudden-drop",), rank, "ajar", FALLS, wake_after_s=120.0, is_wake_fine=True),)


def fallen(known: Known) -> tuple[Expected, ...]:
    """Return what must be said of a probe that drops out, by how far its reading falls in ten minutes."""
    happened = known.happened("fallen")
    if happened is None:
        return ()
    before, after = known.probe_c(happened.at_s), known.probe_c(happened.at_s + 600.0)
    if before is None or after is None or before - after < STEP_DOUBTFUL_K:
        return ()
    rank = "wake" if before - after > STEP_PLAIN_K else "look"
    return (Expected(("sudden-drop",), rank, "fallen", (*FALLS, "sensor-fault"), wake_after_s=300.0,
                     is_wake_fine=True),)


def top_short(known: Known) -> tuple[Expected, ...]:
    """Return what must be said of a top that ends early: a look, for nothing can be done once it falls."""
    return (Expected(("hold-cut-short",), "look", "hold-short", ("firing-stopped", "hold-off-target"), "part-end"),)


def top_overrun(known: Known) -> tuple[Expected, ...]:
    """Return what must be said of a top that goes on."""
    hold_s = known.case.plan.steps[known.case.top - 1].hold_s
    return (Expected(("hold-overrun",), "wake", "hold-long", ("not-cooling",), "hold-over",
                     wake_after_s=max(900.0, hold_s / 2)),)


def said(*expected: Expected) -> Callable[[Known], tuple[Expected, ...]]:
    """Return the label that is always the same."""
    return lambda known: expected
