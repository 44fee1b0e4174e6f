"""What the glass goes through at this moment: the difference through it, the hold, and where this rate leads."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from daemon.firing.durations import minutes_of, whole_minutes
from daemon.firing.events import Part
from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.units import Units
from daemon.firing.verdict.glass_verdict import rounded
from daemon.firing.verdict.verdict_words import megapascals
from daemon.glass.advice import anneal, staying_rate_c_per_h
from daemon.glass.common_practice import AS_GOOD_TIMES
from daemon.glass.load import Figures, Suffered
from daemon.glass.materials import Glass
from daemon.glass.relaxation import SHARE, minutes_to_relax, relaxation_time_s

MOVING_C_PER_H = 8.0
"""A kiln slower than this neither climbs nor falls [°C/h]. [tuned: by trial on the bench, study not kept]"""
_ABOVE_K = 40.0
"""A fall this far above the range soon is in it [K]. [chosen: half an hour at a usual rate]"""
_WORTH_TELLING_K = 0.5
"""A smaller difference through the glass is told as none [K]. [chosen: half of the last figure that is told]"""
_WORTH_TELLING_NOISES = 0.9
"""Nor is one below so many standard deviations of the readings' noise [1]: it may be the estimate's own error.
[derived: twice the standard error 2σ/√n at the end of a line through n = 20 readings, the widest smoothing window of
a slow logger]"""
_DAY_S, _NEVER_S = 24 * 3600.0, 1e9
"""Longer than the first nobody waits, and with a time constant above the second nothing relaxes [s].
[chosen: a day; some thirty years]"""


@dataclass(frozen=True, slots=True)
class SlabNow:
    """One thickness now; stresses in MPa, tension positive, as (two cooled faces, one).

    Attributes
    ----------
    thickness_mm
        The slab [mm].
    difference_k
        Core minus face [K].
    at_this_rate_mpa
        What would stay in the core if the fall went through the range at the present rate; None where it
        doesn't fall in or just above the range.
    gentle_c_per_h
        The fall that is advised for it here [°C/h], by stress or common practice; None where at_this_rate_mpa is.
    stays_mpa
        What stays in the core; None until the face is below the range.
    unsure_k
        A difference up to this may be the estimate's own error [K].
    """

    thickness_mm: float
    difference_k: float
    at_this_rate_mpa: tuple[float, float] | None
    gentle_c_per_h: float | None
    stays_mpa: tuple[float, float] | None
    unsure_k: float


@dataclass(frozen=True, slots=True)
class HoldNow:
    """How far the anneal hold has come.

    Attributes
    ----------
    held_s, asked_s
        Time in it, and what the plan asks [s].
    left_share
        What is left of a stress that stood when the glass last came into its range, 0 to 1.
    needs_s
        How long the glass itself still needs here to leave SHARE of it [s]; 0 when it has; None where that is
        longer than a day.
    """

    held_s: float
    asked_s: float
    left_share: float
    needs_s: float | None


@dataclass(frozen=True, slots=True)
class GlassNow:
    """The figures of the glass panel; ``glass_lines`` puts them into sentences."""

    slabs: tuple[SlabNow, ...]
    hold: HoldNow | None
    falling_c_per_h: float | None
    """How fast the glass falls in or just above its range [°C/h]; None where it doesn't."""

    def as_json(self) -> dict[str, Any]:
        """Return it as plain values."""
        return {
            "slabs": [{key: _plain(value) for key, value in asdict(slab).items()} for slab in self.slabs],
            "hold": None if self.hold is None else {
                key: rounded(value, 4) for key, value in asdict(self.hold).items()},
        }


def glass_now(glass: Glass, figures: Figures | None, rate_c_per_h: float | None,
              hold: tuple[PlannedPart, Part] | None, t_s: float) -> GlassNow | None:
    """Return what the glass goes through now; None before the first reading.

    Parameters
    ----------
    glass, figures
        The glass, and what it went through so far.
    rate_c_per_h
        What the kiln does now [°C/h]; None where that can't be told.
    hold
        The anneal hold as planned and as run, while the kiln is in it.
    t_s
        Now [s].
    """
    if figures is None:
        return None
    fall = None
    near = glass.band_low_c <= figures.face_c <= glass.band_high_c + _ABOVE_K
    if near and hold is None and rate_c_per_h is not None and rate_c_per_h < -MOVING_C_PER_H:
        fall = -rate_c_per_h
    slabs = tuple(_slab(glass, figures, slab, fall) for slab in figures.slabs)
    holding = None if hold is None else _hold(glass, figures, *hold, t_s)
    return GlassNow(slabs, holding, fall)


def _slab(glass: Glass, figures: Figures, slab: Suffered, fall: float | None) -> SlabNow:
    """Return one thickness now; ``fall`` is its rate while it falls in or near the range [°C/h], else None."""
    at_rate = gentle = None
    if fall is not None:
        two, one = (staying_rate_c_per_h(glass, slab.thickness_mm, faces, 1.0) for faces in (2, 1))
        at_rate = (fall / two, fall / one)
        gentle = anneal(glass, slab.thickness_mm, slab.faces).stages[0].rate_c_per_h
    below = figures.face_c < glass.band_low_c and figures.relaxed.times > 0.0
    return SlabNow(slab.thickness_mm, slab.difference_now_k, at_rate, gentle,
                   slab.range_core_mpa if below else None,
                   max(_WORTH_TELLING_K, _WORTH_TELLING_NOISES * (figures.noise_k or 0.0)))


def _hold(glass: Glass, figures: Figures, planned: PlannedPart, run: Part, t_s: float) -> HoldNow:
    """Return how far the anneal hold has come by now, ``t_s``, for the plan and for the glass itself."""
    left = figures.relaxed.share_left
    needs_s: float | None = 0.0
    if left > SHARE:
        needs_s = minutes_to_relax(glass, figures.face_c, SHARE / left) * 60
        if needs_s > _DAY_S or relaxation_time_s(glass, figures.face_c) > _NEVER_S:
            needs_s = None
    return HoldNow(t_s - run.start_s, planned.duration_s, left, needs_s)


def glass_lines(now: GlassNow, wording: Units) -> list[str]:
    """Return the lines of the panel in the owner's unit: the hold first, then a line for each thickness."""
    lines = []
    fall = now.falling_c_per_h
    if now.hold is not None:
        lines.append(_hold_line(now.hold))
    for slab in now.slabs:
        said = _difference_line(slab, wording)
        if slab.at_this_rate_mpa is not None and slab.gentle_c_per_h is not None and fall is not None:
            said += (f" Going on like this, {wording.rate(fall)}, {megapascals(*slab.at_this_rate_mpa)} stays in it, "
                     "from two cooled faces to one")
            gentle = slab.gentle_c_per_h
            said += "." if fall <= gentle * AS_GOOD_TIMES else f"; {wording.rate(gentle)} would be gentle here."
        elif slab.stays_mpa is not None:
            low, high = sorted(max(0.0, mpa) for mpa in slab.stays_mpa)
            said += f" What stays in it, as it is now: {megapascals(low, high)}, from two cooled faces to one."
        lines.append(said)
    return lines


def _difference_line(slab: SlabNow, wording: Units) -> str:
    """Return how much hotter or cooler the core of one thickness is than its face, as a sentence."""
    off = slab.difference_k
    if abs(off) < slab.unsure_k:
        return f"{slab.thickness_mm:g} mm: even through its thickness."
    side = "hotter" if off > 0 else "cooler"
    return f"{slab.thickness_mm:g} mm: the core is {wording.difference(abs(off))} {side} than the face."


def _hold_line(hold: HoldNow) -> str:
    """Return how far the anneal hold has come, as two sentences."""
    said = f"Anneal hold: {minutes_of(hold.held_s, hold.asked_s)}."
    if hold.needs_s is None:
        return said + " It is too cool here for the glass to relax within a day."
    if hold.needs_s > 0.0:
        needs = whole_minutes(max(60.0, hold.needs_s))
        return said + f" The glass itself needs about {needs} more at this temperature."
    return said + " The glass itself has relaxed; the rest evens out piece, shelf and mould."


def _plain(value: float | tuple[float, float] | None) -> float | list[float | None] | None:
    """Return a figure or a pair of them for JSON."""
    if isinstance(value, tuple):
        return [rounded(one, 3) for one in value]
    return rounded(value, 3)
