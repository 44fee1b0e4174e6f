"""What a plan would do to the glass of a load, if the kiln followed it exactly: figures first, then doubts."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import ceil

from daemon.firing.advice.anneal_text import OFF_K
from daemon.firing.durations import whole_minutes
from daemon.firing.plan.schedule import anneal_hold, planned_parts, temp_at
from daemon.firing.setup import Setup
from daemon.firing.units import Units
from daemon.firing.verdict.verdict_words import megapascals
from daemon.glass.advice import TARGET_MPA, TRANSIENT_MPA, Anneal, anneal, evening_min
from daemon.glass.common_practice import AS_GOOD_TIMES
from daemon.glass.load import Figures, Load
from daemon.glass.passage import longest_piece_s
from daemon.glass.relaxation import minutes_to_relax, slower_times

_STEP_S = 20.0
"""The plan is followed in steps of no more than this [s]; in a thick load its straight parts in steps as long as its
thinnest slab takes at once. [chosen: the slab is exact at any; holds need some]"""
_A_DAY_MIN = 1440.0
"""A relaxation that takes longer is not told in minutes [min]. [derived: 24 h of 60 min]"""
_SHORT_SHARE = 0.5
"""A hold shorter than this share of the advised one is doubtful [1]. [chosen: trade notes differ by as much]"""


def planned_figures(setup: Setup) -> Figures | None:
    """Return what the load would go through by its plan; free ramps as they are guessed. None without a plan."""
    if setup.plan is None:
        return None
    load = Load(setup.glass, setup.thicknesses_mm, setup.faces)
    t_s = 0.0
    straight_s = max(_STEP_S, longest_piece_s(setup.glass, min(setup.thicknesses_mm), 2))
    for part in planned_parts(setup.plan):
        number = max(1, ceil(part.duration_s / (_STEP_S if part.rate_c_per_h is None else straight_s)))
        if not t_s:
            load.go_to(0.0, part.from_c)
        for n in range(1, number + 1):
            gone_s = part.duration_s * n / number
            load.go_to(t_s + gone_s, temp_at(part, gone_s))
        t_s += part.duration_s
    return load.figures()


def figures_along(setup: Setup, curve: Sequence[tuple[float, float]]) -> Figures | None:
    """Return what the load would go through along a curve of (second, temperature [°C]), a point a minute."""
    load = Load(setup.glass, setup.thicknesses_mm, setup.faces)
    for t_s, temp_c in curve:
        load.go_to(t_s, temp_c)
    return load.figures()


def plan_glass_lines(setup: Setup, figures: Figures | None) -> Iterator[str]:
    """Yield what the plan asks of the glass and leaves in it, a line for the hold and one for each thickness."""
    if figures is None or setup.is_empty:
        return
    words = Units(setup.unit)
    hold = anneal_hold(planned_parts(setup.plan), setup.glass) if setup.plan else None
    if hold is not None:
        needs = minutes_to_relax(setup.glass, hold.to_c)
        evens = max(evening_min(setup.glass, mm, setup.faces) for mm in setup.thicknesses_mm)
        slower = ", ".join(f"{words.difference(k)} low {slower_times(setup.glass, hold.to_c, k):.1f} times"
                           for k in OFF_K)
        asked = "not within a day: it is too cool"
        if needs < _A_DAY_MIN:
            asked = f"in about {whole_minutes(needs * 60)}, and evens out in {whole_minutes(evens * 60)}"
        yield (f"Anneal hold, {whole_minutes(hold.duration_s)} at {words.temp(hold.to_c)}: the glass itself relaxes "
               f"to a twentieth {asked}. Off its target it takes longer: {slower}.")
    if figures.face_c >= setup.glass.band_low_c:
        return  # what stays in it depends on what comes after, which is a doubt
    for slab in figures.slabs:
        low, high = sorted(max(0.0, mpa) for mpa in slab.range_core_mpa)
        yield (f"{slab.thickness_mm:g} mm: {megapascals(low, high)} would stay in the core (estimate for flat, even "
               f"glass, from two cooled faces to one, within a fifth); {TARGET_MPA:g} MPa or less is well annealed.")


def glass_doubts(setup: Setup, figures: Figures | None) -> Iterator[str]:
    """Yield a sentence for each doubt that the slabs of the load raise, with what it would ask instead."""
    if figures is None or setup.plan is None:
        return
    words = Units(setup.unit)
    asks = anneal(setup.glass, setup.thickness_mm, setup.faces)
    parts = planned_parts(setup.plan)
    hold = anneal_hold(parts, setup.glass)
    if hold is not None and hold.duration_s / 60 < _SHORT_SHARE * asks.hold_min:
        yield (f"step {hold.step} holds {whole_minutes(hold.duration_s)}; for {setup.thickness_mm:g} mm about "
               f"{whole_minutes(asks.hold_min * 60)} are advised ({asks.hold_ruled_by}).")
    if figures.face_c >= setup.glass.band_low_c:
        yield (f"the plan ends above {words.temp(setup.glass.band_low_c)}, where stress still sets: what stays in "
               "the glass depends on how it cools after that.")
        return
    for slab in figures.slabs:
        if slab.expected_core_mpa > TARGET_MPA * AS_GOOD_TIMES:
            its = anneal(setup.glass, slab.thickness_mm, slab.faces)
            yield (f"about {slab.expected_core_mpa:.1f} MPa would stay in {slab.thickness_mm:g} mm, "
                   f"{_faces(slab.faces)}; {_asked(its, words)} leaves less than {TARGET_MPA:g} "
                   f"(ruled by {its.stages[0].ruled_by}).")
        if slab.peak_tension_below_band_mpa > TRANSIENT_MPA * AS_GOOD_TIMES:
            yield (f"below the annealing range about {slab.peak_tension_below_band_mpa:.0f} MPa of tension would "
                   f"stand in {slab.thickness_mm:g} mm, {_faces(slab.faces)}; about {TRANSIENT_MPA:g} is borne.")


def _asked(asks: Anneal, words: Units) -> str:
    """Return the first stage of the advice in words."""
    first = asks.stages[0]
    return f"{words.rate(first.rate_c_per_h)} from the hold to {words.temp(first.to_c)}"


def _faces(faces: int) -> str:
    """Return the count of cooled faces in words."""
    return "one cooled face" if faces == 1 else "two cooled faces"
