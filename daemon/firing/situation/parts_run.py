"""Which of the parts that the follower saw were run by the plan, and which only look like a part of it.

The follower has a state for every part of the plan and none for anything else. A kiln that falls without power and
is heated again therefore seems to be in parts that nobody ran: in the falls that the plan has next, then in an
earlier climb. A runaway seems to climb on in a step whose target is far below. What is told as measured leaves these
out.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from daemon.firing.events import Part
from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.situation.hold_measure import missing_at_most_s

_BEYOND_K = 25.0
"""No climb is further past its target than this, on the mean [K]. [chosen: more than a probe differs from its plan,
and than a controller shoots over]"""


def parts_run(found: Iterable[Part], planned: tuple[PlannedPart, ...], offset_k: float) -> tuple[Part, ...]:
    """Return the parts that were run by the plan, in time order.

    Left out are a climb beyond its target that the kiln did not come to in order, and a climb back after a break
    together with the fall before it. A climb in an earlier part is a climb back where the kiln does not go on from
    there as planned, but jumps ahead; where it jumps to another climb, that one began with it. While it is under way
    after a break, it may still be either, and is left out. A plan that is really begun again goes on part after part.

    Parameters
    ----------
    found
        The parts as the follower saw them, in time order.
    planned
        The parts of the plan.
    offset_k
        Usual difference of probe and plan [K].
    """
    seen = _without_beyond(found, planned, offset_k)
    kept: list[Part] = []
    begun: Part | None = None
    for number, part in enumerate(seen):
        if begun is not None:
            part, begun = _joined(begun, part), None
        before = seen[number - 1] if number else None
        after = seen[number + 1] if number + 1 < len(seen) else None
        if before is None or part.index >= before.index or planned[part.index].direction == 0:
            kept.append(part)
            continue
        if planned[part.index].direction < 0:
            if after is None or planned[after.index].direction <= 0:
                kept.append(part)  # else no plan begins again with a fall: the power was off
            continue
        if after is not None and _follows(after.index, part.index, planned):
            kept.append(part)
            continue
        broke = _break_at(kept, planned, part.index if after is None else after.index)
        if after is None and broke == len(kept):
            kept.append(part)  # nothing broke off before it: begun again
            continue
        del kept[broke:]
        if after is not None and planned[after.index].direction > 0:
            begun = part
    return tuple(kept)


def _without_beyond(found: Iterable[Part], planned: tuple[PlannedPart, ...], offset_k: float) -> list[Part]:
    """Return the parts without climbs beyond their target, which a runaway seems to go back to, one after another."""
    seen: list[Part] = []
    before: Part | None = None
    is_out = False
    for part in found:
        went_back = before is not None and part.index < before.index
        is_out = (went_back or is_out) and _is_beyond(part, planned[part.index], offset_k)
        before = part
        if not is_out:
            seen.append(part)
    return seen


def _is_beyond(part: Part, planned: PlannedPart, offset_k: float) -> bool:
    """Return whether a climb lies beyond its target; a fall may be read so under an open lid."""
    return planned.direction > 0 and part.mean_c is not None and part.mean_c - offset_k - planned.to_c > _BEYOND_K


def _follows(index: int, climb: int, planned: tuple[PlannedPart, ...]) -> bool:
    """Return whether a part comes next after a climb in the plan; of a top between climb and fall nobody may see."""
    return index == climb + 1 or (index == climb + 2 and planned[index].direction < 0)


def _joined(climb: Part, after: Part) -> Part:
    """Return the climb ``after`` as begun with another one, its rate and mean those of both."""
    end_s = after.end_s
    first_s = after.start_s - climb.start_s
    rest_s = 0.0 if end_s is None else end_s - after.start_s
    if not first_s + rest_s > 0.0 or end_s is None:
        return replace(after, start_s=climb.start_s)

    def mean(a: float | None, b: float | None) -> float | None:
        return None if a is None or b is None else (a * first_s + b * rest_s) / (first_s + rest_s)

    return replace(after, start_s=climb.start_s, rate_c_per_h=mean(climb.rate_c_per_h, after.rate_c_per_h),
                   mean_c=mean(climb.mean_c, after.mean_c))


def _break_at(kept: list[Part], planned: tuple[PlannedPart, ...], back_to: int) -> int:
    """Return from which of the falls that ``kept`` ends with the kiln fell by no plan; its length where none did.

    The plan was broken off where a fall passed over a part, or followed a hold that had not lasted long enough, and
    the kiln came back to that part or to one before it (``back_to``).
    """
    first = len(kept)
    while first and planned[kept[first - 1].index].direction < 0:
        first -= 1
    for number in range(max(first, 1), len(kept)):
        before, fall = kept[number - 1], kept[number]
        if fall.index <= back_to:
            continue
        if fall.index > before.index + 1 or _is_short(before, planned[before.index]):
            return number
    return len(kept)


def _is_short(run: Part, planned: PlannedPart) -> bool:
    """Return whether a hold ended before its time."""
    return planned.part == "hold" and run.end_s is not None and (
        run.end_s - run.start_s < planned.duration_s - missing_at_most_s(planned))
