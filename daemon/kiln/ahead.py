"""What is ahead of the firing that runs: when the anneal hold begins, and when the kiln may be opened.

What past firings teach of the kiln is believed beforehand; in the last fall, how the kiln falls tonight is a second
forecast of the opening. The two are averaged by the shares that they may be off by, as independent measurements are
(inverse variances), so that neither is switched on or off. What lies in the kiln differs from night to night: that is
most of what the first is off, and the second sees it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import hypot

from daemon.firing.energy.tonight import Tonight
from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.state import State
from daemon.firing.status import Standing, is_too_hot
from daemon.kiln.foresight import OPEN_C, Foresight, foresee
from daemon.kiln.kiln_model import KilnModel, PartKind

_WEIGHED_AS = 1.0
"""Beside tonight's fall it counts as if it may be off by such a share [1]: its error is the same all night, that of
tonight's fall is made anew with every reading. [tuned: kilns of the bench, seeds 400 to 430 of benchmarks.foresight;
in the last fall tonight's alone is as near at all hours, and 0.5 is worse in eight of ten firings]"""
_READS_OFF_K = 10.0
"""A reading in a climb may be off from what the controller leads by so much [K]. [common practice: two probes in one
kiln differ by so much]"""
_FAR_APART = 3.0
"""Clock and reading that differ by more than so many deviations contradict each other [1]. [chosen: 3 of 1000]"""
_MINUTE_S = 60.0
"""Less time than this is not foreseen by a share of it [s]. [chosen: the kiln is there]"""


def with_forecasts(state: State, found: Standing, tonight: Tonight, model: KilnModel) -> Standing:
    """Return where a firing stands with what this kiln is foreseen to do.

    Parameters
    ----------
    state
        What the decision remembers.
    found
        Where the firing stands without the kiln's past but for ``model.slows``.
    tonight
        Has taken the readings of the firing.
    model
        The kiln.

    Returns
    -------
    Standing
        ``found`` where nothing can be foreseen: without a plan, while nothing can be believed, after a break, and
        while the kiln does something else or is too hot.
    """
    walls_c = tonight.walls_c
    if (not state.parts or not state.trail.temps or walls_c is None or found.lost_s is not None
            or found.broke_off is not None or found.is_apart or is_too_hot(found.alerts)):
        return found
    here = state.follower.here() if state.follower and state.follower.started else 0
    index = len(state.parts) if found.finished else min(max(0, here - 1), len(state.parts))
    temp_c, began_s = state.trail.temps[-1], None
    if found.part is not None and found.part.index == index:
        began_s = found.part.start_s
    at_s = found.t_s if here else max(found.t_s, model.starts_s)
    gone_s = at_s - (at_s if began_s is None else began_s)
    here_c = temp_c - (found.offset_k or 0.0)
    if index < len(state.parts):
        from_c = tonight.first_c if index == 0 and tonight.first_c is not None else state.parts[index].from_c
        here_c = led_to(state.parts[index], model, from_c, here_c, gone_s)
    parts, left_share = _from_here(state.parts, index, here_c, gone_s)
    from_c = parts[index].from_c if index < len(parts) else temp_c
    ahead = foresee(parts, model, from_c, room_c=tonight.room_c, walls_c=walls_c, at_s=at_s, index=index,
                    left_share=left_share)
    return _opening(_anneal(state, replace(found, learned_firings=model.firings), ahead, index), ahead, temp_c)


def led_to(part: PlannedPart, model: KilnModel, from_c: float, read_c: float, gone_s: float) -> float:
    """Return how far a climb is, as its controller has it [°C]: by the clock, and by the reading.

    A controller leads a climb by the clock, and a probe in the air of a climbing kiln reads some kelvins off: an hour
    into a slow climb they are many minutes. The two are averaged by inverse variances. Where they differ by more than
    both explain, the kiln does not follow, or the controller started at another time: the reading alone counts.

    Parameters
    ----------
    part
        The part of the plan.
    model
        The kiln.
    from_c
        Where the part began [°C].
    read_c
        What is read [°C].
    gone_s
        How long the part goes on [s].
    """
    usual = model.differences.get(PartKind.CLIMB)
    if part.direction <= 0 or part.rate_c_per_h is None or usual is None or gone_s <= 0.0:
        return read_c
    k_per_s = 1 / (3600 / part.rate_c_per_h + model.waits_s_per_k)
    led_c = from_c + k_per_s * gone_s
    off_k = k_per_s * hypot(usual.off_share * gone_s, usual.off_s)
    if abs(led_c - read_c) > _FAR_APART * hypot(off_k, _READS_OFF_K):
        return read_c
    return (led_c * _READS_OFF_K**2 + read_c * off_k**2) / (_READS_OFF_K**2 + off_k**2)


def _from_here(parts: Sequence[PlannedPart], index: int, temp_c: float,
               gone_s: float) -> tuple[list[PlannedPart], float]:
    """Return the plan with what is left of the present part in its place, and how much of it that is, 0 to 1."""
    rest = list(parts)
    if index >= len(parts):
        return rest, 1.0
    part = parts[index]
    if part.direction == 0:
        left_s = max(0.0, part.duration_s - gone_s)
        rest[index] = replace(part, duration_s=left_s)
        return rest, left_s / part.duration_s
    whole_k = abs(part.to_c - part.from_c)
    left_k = max(0.0, (part.to_c - temp_c) * part.direction)
    rest[index] = replace(part, from_c=temp_c if left_k else part.to_c)
    return rest, min(1.0, left_k / whole_k)


def _anneal(state: State, found: Standing, ahead: Foresight, index: int) -> Standing:
    """Return the standing with when the anneal hold begins; unchanged where it has begun, or there is none."""
    hold = state.anneal
    if hold is None or hold.index <= index:
        return found
    before = next((part for part in ahead.parts if part.part == hold.index - 1), None)
    if before is None or not all(part.is_reached for part in ahead.parts if part.part < hold.index):
        return found
    return replace(found, anneal_at_s=before.end_s, anneal_margin_s=before.end_margin_s,
                   anneal_step=hold.step)


def _opening(found: Standing, ahead: Foresight, temp_c: float) -> Standing:
    """Return the standing with when the kiln may be opened: learned and measured, weighed by their margins."""
    if ahead.opens_s is None or temp_c <= OPEN_C:
        return found
    at_s, margin_s = ahead.opens_s, ahead.opens_margin_s
    if found.fall_off_share is not None and found.open_at_s is not None and found.open_margin_s is not None:
        off_share = max(_WEIGHED_AS, margin_s / max(_MINUTE_S, at_s - found.t_s))
        weight = off_share**2 / (off_share**2 + found.fall_off_share**2)
        at_s += weight * (found.open_at_s - at_s)
        margin_s = hypot(weight * found.open_margin_s, (1 - weight) * margin_s)
    return replace(found, open_at_s=at_s, open_margin_s=margin_s)
