"""What the glass went through: as plain values, and as answers to what a maker asks, with their uncertainty."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from math import isfinite
from typing import Any

from daemon.firing.situation.probe_doubt import Cause, Disbelief
from daemon.firing.trace.gaps import Gap
from daemon.firing.verdict.answer import (
    Answer,
    ClimbAnswer,
    CoolingBelowRangeAnswer,
    Question,
    RelaxedAnswer,
    Result,
    StressAnswer,
    Unseen,
)
from daemon.firing.verdict.answer_values import (
    ClimbLimit,
    ClimbRate,
    ProbeError,
    RelativeError,
    Relaxation,
    RelaxationNeed,
    StressLimit,
    StressRange,
    Tension,
)
from daemon.glass.advice import TARGET_MPA, TRANSIENT_MPA, evening_min, heating_limit
from daemon.glass.common_practice import FUSED_C
from daemon.glass.exposure import BURN_OFF_C, HAZE_C, SQUEEZE_C
from daemon.glass.fastest_climb import COLD_C
from daemon.glass.load import Figures, Suffered
from daemon.glass.materials import Glass
from daemon.glass.relaxation import SHARE, minutes_to_relax, slower_times
from daemon.glass.second_climb import Reheated

SURE = 0.2
"""Share by which a stress may be off.

[derived: diffusivity, expansion and stiffness ± 15 % together at best, volume relaxation ± 12 %; added as squares]
"""
_DOUBTFUL_TIMES = 3.0
"""Up to this many times the target a stress is doubtful, beyond it too much. [common practice]"""
_CLIMB_TOLERANCE = 1.15
"""A climb up to this many times the limit is as good as within it. [tuned: by trial on the bench, study not kept]"""
_PROBE_OFF_K = 4.0
"""How far a probe in order may be off near the annealing range [K].

[derived: tolerance of type K, class 2: 0.0075 · 516 °C = 3.9 K (IEC 60584-2), rounded]
"""
_WARM_C = 100.0
"""Glass below this suffers nothing worth telling [°C]. [chosen: far below the strain point of every glass]"""
_SHORT_S = 600.0
"""A shorter stretch without a temperature is drawn straight across the annealing range [s]. [tuned: by trial on the
bench, study not kept]"""


def glass_json(glass: Glass, figures: Figures | None, lost: Disbelief | None = None) -> dict[str, Any] | None:
    """Return what the glass went through as plain values; stresses in MPa, tension positive.

    The figures of the thickest slab stand alone; those of all stand under ``slabs`` where there are several. Where
    the readings could not be believed from ``lost`` on, what rests on later ones is None.
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
    return told if lost is None else _without_the_end(told)


def _without_the_end(told: dict[str, Any]) -> dict[str, Any]:
    """Return the figures with None for those that need the whole firing; what was so on the way up stays."""
    kept = ("annealing_point_c", "strain_point_c", "softening_point_c", "strain_point_sheet_c", "climb_c_per_h",
            "noise_k", "thickness_mm", "faces")
    found: dict[str, Any] = {}
    for key, value in told.items():
        if key in kept:
            found[key] = value
        elif isinstance(value, dict):
            found[key] = dict.fromkeys(value)
        elif key == "slabs":
            found[key] = [_without_the_end(slab) for slab in value]
        else:
            found[key] = None
    return found


def unknown_from(unbelieved: Sequence[Disbelief], glass: Glass) -> Disbelief | None:
    """Return from where on what the glass went through is not known; None where all that counts was seen.

    A stretch counts where the glass was warm and was not heated above its annealing range again afterwards. A short
    one that only stood still, or had no reading, is drawn straight across instead (``across_unseen``).
    """
    return next((one for one in unbelieved if one.from_c > _WARM_C
                 and (one.to_s is None or (one.cause is not Cause.BLIND and not _is_short_stand(one)))
                 and not (one.highest_after_c or 0.0) >= glass.band_high_c), None)


def _is_short_stand(stretch: Disbelief) -> bool:
    """Return whether the reading only stood still for a while."""
    return stretch.cause is Cause.FROZEN and stretch.to_s is not None and stretch.to_s - stretch.since_s <= _SHORT_S


def _slab_json(slab: Suffered) -> dict[str, Any]:
    """Return the figures of one thickness as plain values."""
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
    return round(value, digits) + 0.0  # minus zero becomes zero


def glass_answers(glass: Glass, figures: Figures | None, *, loose: bool,
                  lost: Disbelief | None = None) -> tuple[Answer, ...]:
    """Return the answers about the glass, each with what was measured and what is asked.

    Nothing is said of an anneal before the glass has been in its range from above and has left it below.

    Parameters
    ----------
    glass, figures
        The glass, and what it went through.
    loose
        Whether the plan squeezes, so that the layers went in loose.
    lost
        From where on the readings cannot be believed; a second climb after it is none. None where all can.
    """
    if figures is None:
        return ()
    answers: list[Answer] = []
    rate = figures.climb.cold_c_per_h
    first = None if rate is None else _climb(glass, figures.slabs[0], ClimbRate(rate, COLD_C), loose=loose)
    again = _second_climb(glass, figures, lost, loose=loose)
    climbed = again if again is not None and again.result is not Result.YES else first or again
    if climbed is not None:
        answers.append(climbed)
    if figures.relaxed.times > 0.0:
        answers.append(_relaxed(glass, figures))
        if figures.face_c < glass.band_low_c:
            answers += [_stress(slab, alone=len(figures.slabs) == 1) for slab in figures.slabs]
            answers.append(_below_range(figures))
    return tuple(answers)


def across_unseen(answers: Iterable[Answer], holes: Sequence[Gap], glass: Glass,
                  lost: Disbelief | None = None, peak: tuple[float, float] | None = None) -> Iterator[Answer]:
    """Yield the answers about the glass, saying how much of the part they are about was never seen.

    Where much of the annealing range was crossed unseen, a yes that rests on it becomes not known; the climb does
    not rest on it. Where the readings could not be believed from ``lost`` on, no answer but the climb is known.

    Parameters
    ----------
    answers, glass
        The answers of ``glass_answers``, and the glass.
    holes
        What was not seen.
    lost
        From where on nothing can be believed; None where all can.
    peak
        When and how hot the firing was at its highest [s, °C]; None counts each hole for the climb and the cooling.
    """
    after = [hole for hole in holes if peak is None or peak[1] <= glass.band_high_c or hole.to_s > peak[0]]
    range_c = (glass.band_low_c, glass.band_high_c)
    hidden_s = _crossing_s([hole for hole in after if hole.to_s - hole.from_s > _SHORT_S], *range_c)
    in_range_s, below_s = _crossing_s(after, *range_c), _crossing_s(after, _WARM_C, glass.band_high_c)
    for answer in answers:
        if isinstance(answer, ClimbAnswer):
            unseen_s = _crossing_s(_of_climb(holes, answer, peak), _WARM_C, answer.measured.below_c)
        else:
            unseen_s = below_s if answer.kind is Question.COOLING_BELOW_RANGE else in_range_s
        if lost is not None:
            yield answer if answer.kind is Question.CLIMB else replace(answer, result=Result.NOT_KNOWN, lost=lost)
        elif hidden_s and answer.kind is not Question.CLIMB and answer.result.is_well:
            yield replace(answer, result=Result.NOT_KNOWN, unseen=Unseen(hidden_s, if_straight=answer.result))
        elif unseen_s:
            yield replace(answer, unseen=Unseen(unseen_s))
        else:
            yield answer


def _crossing_s(holes: Sequence[Gap], low_c: float, high_c: float) -> float:
    """Return how long the holes are in all that may lie, in part at least, between two temperatures [s]."""
    return sum(hole.to_s - hole.from_s for hole in holes
               if min(hole.from_c, hole.to_c or 0.0) < high_c and max(hole.from_c, hole.to_c or 0.0) > low_c)


def _of_climb(holes: Sequence[Gap], answer: ClimbAnswer, peak: tuple[float, float] | None) -> list[Gap]:
    """Return the holes of the climb that an answer is about: up to the top, or back up after it."""
    if peak is None:
        return list(holes)
    if answer.measured.from_c is None:
        return [hole for hole in holes if hole.from_s < peak[0]]
    return [hole for hole in holes if hole.to_c is not None and hole.to_c > hole.from_c]


def _second_climb(glass: Glass, figures: Figures, lost: Disbelief | None, *, loose: bool) -> ClimbAnswer | None:
    """Return whether a climb back into the annealing range was gentle enough; None where there was none."""
    reheated: Reheated | None = figures.reheated
    if reheated is None or (lost is not None and reheated.until_s > lost.since_s):
        return None
    climbed = ClimbRate(reheated.rate_c_per_h, glass.band_low_c, reheated.from_c)
    is_fused = reheated.highest_c >= FUSED_C
    return _climb(glass, figures.slabs[0], climbed, loose=loose and not is_fused, is_fused=is_fused)


def _climb(glass: Glass, thickest: Suffered, climbed: ClimbRate, *, loose: bool,
           is_fused: bool = False) -> ClimbAnswer:
    """Return whether a climb while brittle was one that the thickest slab ordinarily bears.

    ``is_fused`` where the glass had been hot enough before to be one plate; else only the maker knows.
    """
    rate_c_per_h = climbed.rate_c_per_h
    limit, _ = heating_limit(glass, thickest.thickness_mm, thickest.faces, loose=loose)
    loosest, _ = heating_limit(glass, thickest.thickness_mm, thickest.faces, loose=True)
    kept_to = limit * _CLIMB_TOLERANCE
    if rate_c_per_h <= kept_to:
        result = Result.YES
    elif loose or is_fused or rate_c_per_h > loosest * _CLIMB_TOLERANCE:
        result = Result.NO
    else:
        result = Result.NO_IF
    return ClimbAnswer(result, climbed, ClimbLimit(limit, thickest.thickness_mm, loose, kept_to))


def _relaxed(glass: Glass, figures: Figures) -> RelaxedAnswer:
    """Return whether the time in the range relaxed the glass: its worth in minutes at the annealing point."""
    at_c, left = glass.annealing_point_c, figures.relaxed.share_left
    evening = max(evening_min(glass, slab.thickness_mm, slab.faces) for slab in figures.slabs)
    needed = minutes_to_relax(glass, at_c)
    worth = figures.relaxed.worth_min
    result = Result.NO if left > SHARE else Result.YES_IF
    if worth >= needed + evening:
        result = Result.YES
    return RelaxedAnswer(result, Relaxation(worth, at_c, left), RelaxationNeed(needed, evening, SHARE),
                         ProbeError(_PROBE_OFF_K, slower_times(glass, at_c, _PROBE_OFF_K)))


def _stress(slab: Suffered, *, alone: bool) -> StressAnswer:
    """Return whether no more stress stays in one slab than is aimed at; ``alone`` where the load has no other."""
    low, high = sorted(max(0.0, mpa) for mpa in slab.range_core_mpa)
    if high <= TARGET_MPA:
        result = Result.YES
    else:
        result = Result.DOUBTFUL if slab.expected_core_mpa <= TARGET_MPA * _DOUBTFUL_TIMES else Result.NO
    return StressAnswer(result, StressRange(low, high, slab.thickness_mm), StressLimit(TARGET_MPA),
                        RelativeError(SURE), thickness_mm=None if alone else slab.thickness_mm)


def _pull_mpa(slab: Suffered) -> float:
    """Return the largest tension in one slab below the range since it was last fused [MPa]."""
    return max(slab.peak_tension_below_band_mpa, slab.face_tension_mpa)


def _below_range(figures: Figures) -> CoolingBelowRangeAnswer:
    """Return whether the cooling below the range pulled the worst slab no harder than glass ordinarily bears.

    Every time below it counts since the glass was last fused, also one that it came back from: a lid that was opened
    just above the range's lower end, or a power cut that was mended. The face is taken to be as cold as the reading.
    Under an open lid the air may be colder, so that the tension is the most that it can have been.
    """
    worst = max(figures.slabs, key=_pull_mpa)
    mpa = _pull_mpa(worst)
    at_c = worst.face_tension_at_c if worst.face_tension_mpa == mpa else None
    low, high = mpa * (1 - SURE), mpa * (1 + SURE)
    if high <= TRANSIENT_MPA:
        result = Result.YES
    else:
        result = Result.DOUBTFUL if mpa <= TRANSIENT_MPA * _DOUBTFUL_TIMES else Result.NO
    return CoolingBelowRangeAnswer(result, Tension(low, high, worst.thickness_mm, worst.faces, at_c),
                                   StressLimit(TRANSIENT_MPA), RelativeError(SURE))
