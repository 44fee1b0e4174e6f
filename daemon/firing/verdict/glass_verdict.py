"""What the glass went through, as plain values and as answers to what a maker asks, with their uncertainty."""

from __future__ import annotations

from collections.abc import Iterator
from math import isfinite
from typing import Any

from daemon.firing.units import Units
from daemon.firing.verdict.plan_verdict import Answer
from daemon.glass.advice import TARGET_MPA, TRANSIENT_MPA, evening_min, heating_limit
from daemon.glass.exposure import BURN_OFF_C, HAZE_C, SQUEEZE_C
from daemon.glass.load import Figures, Suffered
from daemon.glass.materials import Glass
from daemon.glass.relaxation import SHARE, minutes_to_relax, slower_times

SURE = 0.2
"""Share by which a stress may be off.

Diffusivity, expansion and stiffness ± 15 % together at best, volume relaxation ± 12 %; added as squares.
"""
_DOUBTFUL_TIMES = 3.0
"""Up to this many times the target a stress is doubtful, beyond it too much; common practice."""
_CLIMB_TOLERANCE = 1.15
CLIMB_QUESTION = "Did it climb gently enough while brittle?"


def glass_json(glass: Glass, figures: Figures | None) -> dict[str, Any] | None:
    """Return what the glass went through as plain values; stresses in MPa, tension positive.

    The figures of the thickest slab stand alone; those of all stand under ``slabs`` where there are several.
    """
    if figures is None:
        return None
    exposure, climb = figures.exposure, figures.climb
    told = {
        "annealing_point_c": rounded(glass.annealing_point_c, 3),
        "strain_point_c": rounded(glass.strain_point_c, 3),
        "softening_point_c": rounded(glass.softening_point_c, 3),
        "strain_point_sheet_c": rounded(glass.strain_point_sheet_c, 3),
        **_slab_json(figures.slabs[0]),
        "haze_range_s": {"rising": rounded(exposure.rising_s(HAZE_C), 1),
                         "falling": rounded(exposure.falling_s(HAZE_C), 1)},
        "time_above_s": {f"{limit_c:g}": rounded(s, 1) for limit_c, s in exposure.above_s.items()},
        "squeeze_s": rounded(exposure.rising_s(SQUEEZE_C), 1),
        "burn_off_s": rounded(exposure.rising_s(BURN_OFF_C), 1),
        "climb_c_per_h": {"below_300_c": rounded(climb.cold_c_per_h, 1),
                          "below_540_c": rounded(climb.brittle_c_per_h, 1)},
        "hold": {"worth_min": rounded(figures.relaxed.worth_min, 1),
                 "needed_min": rounded(minutes_to_relax(glass, glass.annealing_point_c), 1),
                 "share": SHARE, "share_left": rounded(figures.relaxed.share_left, 6)},
        "noise_k": rounded(figures.noise_k, 3),
    }
    if len(figures.slabs) > 1:
        told["slabs"] = [{"thickness_mm": slab.thickness_mm, "faces": slab.faces, **_slab_json(slab)}
                         for slab in figures.slabs]
    return told


def _slab_json(slab: Suffered) -> dict[str, Any]:
    return {
        "difference_last_passage_k": rounded(slab.difference_last_passage_k, 4),
        "simple_core_mpa": rounded(slab.simple_core_mpa, 4),
        "maxwell_core_mpa": rounded(slab.maxwell_core_mpa, 4),
        "maxwell_surface_mpa": rounded(slab.maxwell_surface_mpa, 4),
        "peak_tension_below_band_mpa": rounded(slab.peak_tension_below_band_mpa, 4),
        "expected_core_mpa": rounded(slab.expected_core_mpa, 4),
        "range_core_mpa": [rounded(mpa, 4) for mpa in slab.range_core_mpa],
    }


def rounded(value: float | None, digits: int) -> float | None:
    """Return a figure for JSON; None for what is unknown or not finite."""
    if value is None or not isfinite(value):
        return None
    return round(value, digits)


def glass_answers(glass: Glass, figures: Figures | None, wording: Units, *, loose: bool) -> tuple[Answer, ...]:
    """Return the answers about the glass, each with what was measured and what is asked.

    Nothing is said of an anneal before the glass has been in its range from above and has left it below.

    Parameters
    ----------
    glass, figures
        The glass, and what it went through.
    wording
        Puts figures into the owner's unit.
    loose
        Whether the plan squeezes, so that the layers went in loose.
    """
    if figures is None:
        return ()
    answers = list(_climb(glass, figures, wording, loose))
    if figures.relaxed.times > 0.0:
        answers.append(_hold(glass, figures, wording))
        if figures.face_c < glass.band_low_c:
            answers += [_stays(slab, alone=len(figures.slabs) == 1) for slab in figures.slabs]
            answers += _stood(figures)
    return tuple(answers)


def _climb(glass: Glass, figures: Figures, wording: Units, loose: bool) -> Iterator[Answer]:
    rate = figures.climb.cold_c_per_h
    if rate is None:
        return
    thickest = figures.slabs[0]
    limit, _ = heating_limit(glass, thickest.thickness_mm, thickest.faces, loose=loose)
    well = rate <= limit * _CLIMB_TOLERANCE
    loosest, _ = heating_limit(glass, thickest.thickness_mm, thickest.faces, loose=True)
    if loose or rate > loosest * _CLIMB_TOLERANCE:
        no = "No, faster than common practice even for loose layers."
    else:
        no = "Not if it was fused already; loose layers bear more."
    yield Answer(
        CLIMB_QUESTION, "Yes." if well else no,
        f"up to {wording.rate(rate)} over ten minutes below {wording.temp(300.0)}",
        f"about {wording.rate(limit)} for {thickest.thickness_mm:g} mm "
        f"{'in loose layers' if loose else 'fused in one'}")


def _hold(glass: Glass, figures: Figures, wording: Units) -> Answer:
    """Return whether the time in the range relaxed the glass: its worth in minutes at the annealing point."""
    at_c = glass.annealing_point_c
    evening = max(evening_min(glass, slab.thickness_mm, slab.faces) for slab in figures.slabs)
    needed = minutes_to_relax(glass, at_c)
    worth = figures.relaxed.worth_min
    left = figures.relaxed.share_left
    if worth >= needed + evening:
        answer = "Yes."
    elif left <= SHARE:
        answer = "Yes, if the piece was even by then; there was little time for that."
    else:
        answer = f"No, about {_share(left)} of a standing stress was left; anneal it again."
    return Answer(
        "Did the hold relax the glass?", answer,
        f"worth {_minutes(worth)} at {wording.temp(at_c)}, in the annealing range in all",
        f"{_minutes(needed)} to leave a twentieth, {_minutes(evening)} to even out; the probe may be "
        f"{wording.difference(4.0)} off, which counts {_times(glass, at_c)} times")


def _stays(slab: Suffered, *, alone: bool) -> Answer:
    low, high = sorted(max(0.0, mpa) for mpa in slab.range_core_mpa)
    told = megapascals(low, high)
    if high <= TARGET_MPA:
        answer = f"Yes, {told}."
    elif slab.expected_core_mpa <= TARGET_MPA * _DOUBTFUL_TIMES:
        answer = f"Doubtful, {told}: look between crossed polarisers, and anneal it again if in doubt."
    else:
        answer = f"No, {told}: leave it closed until cold, don't cut or drill it, and anneal it again."
    return Answer(
        f"Did little enough stress stay in {'it' if alone else f'{slab.thickness_mm:g} mm'}?", answer,
        f"{told} in the core of {slab.thickness_mm:g} mm, from two cooled faces to one; an ideal slab, give or take "
        "a fifth",
        f"{TARGET_MPA:g} MPa or less")


def _stood(figures: Figures) -> Iterator[Answer]:
    worst = max(figures.slabs, key=lambda slab: slab.peak_tension_below_band_mpa)
    mpa = worst.peak_tension_below_band_mpa
    faces = "one cooled face" if worst.faces == 1 else "two cooled faces"
    told = megapascals(mpa * (1 - SURE), mpa * (1 + SURE))
    if mpa * (1 + SURE) <= TRANSIENT_MPA:
        answer = "Yes."
    elif mpa <= TRANSIENT_MPA * _DOUBTFUL_TIMES:
        answer = f"Doubtful, {told} stood in it: look for cracks when it is cold."
    else:
        answer = (f"No, {told} stood in it: it may have cracked, or crack when it is touched. Leave it closed until "
                  "cold, then look with safety glasses and gloves on.")
    yield Answer(
        "Did it cool gently enough below the range?", answer,
        f"{told} at the most, {worst.thickness_mm:g} mm, {faces}", f"under about {TRANSIENT_MPA:g} MPa")


def megapascals(low: float, high: float) -> str:
    """Return a range of stress in words, to one figure and never more precise than it is."""
    if high < 0.1:
        return "less than 0.1 MPa"
    digits = 0 if high >= 3.0 else 1
    a, b = f"{low:.{digits}f}", f"{high:.{digits}f}"
    return f"about {b} MPa" if a == b else f"about {a} to {b} MPa"


def _share(share: float) -> str:
    return "all" if share > 0.95 else f"{share:.0%}"


def _minutes(minutes: float) -> str:
    return f"{minutes:.0f} min" if minutes >= 1.0 else "under 1 min"


def _times(glass: Glass, at_c: float) -> str:
    """Return how many times 4 K off count, by the slope of the curve."""
    return f"{slower_times(glass, at_c, 4.0):.1f}"
