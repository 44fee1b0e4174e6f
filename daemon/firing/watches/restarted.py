"""Power that is back: a kiln found colder than it was left, or climbing again after it broke off."""

from __future__ import annotations

from math import inf

from daemon.firing.events import Rank
from daemon.firing.situation.last_climb import climbs_no_more, is_beyond_plan
from daemon.firing.situation.view import Finding, View
from daemon.firing.watches.climbing import restarted
from daemon.firing.watches.rate_test import surest
from daemon.glass.practice import HOT_C

TELL_FOR_S = 1800.0
"""How long after readings are back the kiln's fall meanwhile is worth a wake [s]."""
_BACK_FOR_S, _LOST_K, _CLIMBED_K, _CLIMBS_C_PER_H = 120.0, 30.0, 12.0, 40.0
"""Power is back once the kiln climbs so fast for so long, having lost so much [s, K, K, °C/h]; by trial."""
_WORTH_C = 200.0
"""A firing that was never as hot has lost nothing by beginning again [°C]; common practice."""
_LITTLE_K, _PAST_K = 25.0, 2.0
"""A dip is none that had to be climbed out of until it is this deep, or the kiln this far past where it was [K]."""
_AJAR_K, _BACK_SHARE = 45.0, 0.5
"""A lid left ajar costs up to so much, of which less than this share comes back [K]; by trial."""
AIR_S = 600.0
"""The air under a lid that is shut again has come back by then [s]; by trial on the bench."""


def power_back(view: View) -> Finding | None:
    """Return the finding where power came back, or the controller began again."""
    return _was_dark(view) or _again(view)


def _was_dark(view: View) -> Finding | None:
    """Return the finding where readings and heat were both away: the power was off in the whole house."""
    broken = view.broken
    if broken is None or broken.back_s is None or view.t_s - broken.back_s > TELL_FOR_S:
        return None
    climbing = view.parts[broken.index].direction > 0 and broken.from_c < HOT_C
    first = view.trail.index_at(broken.back_s)
    line = view.line(180.0, broken.back_s)
    fall = max(0.0, -line.slope_c_per_s * 3600) if line is not None else 0.0
    return Finding("restarted", Rank.LOOK if climbing else Rank.WAKE, broken.back_s, view.parts[broken.index].step,
                   facts={
                       "temp_c": view.temp_c, "lowest_c": min(view.trail.temps[first:], default=view.temp_c),
                       "from_c": broken.from_c, "first_step": 0.0, "dark": 1.0, "undone": float(broken.index),
                       "held_s": broken.held_s, "here_c": view.temp_c - view.offset_c, "fall_c_per_h": fall,
                       "anneal_c": view.anneal.to_c if view.anneal else 0.0,
                   })


def _air_comes_back(view: View) -> bool:
    """Return whether a lid that is shut again may be all: where it cools as it likes, it may have been opened."""
    return view.broken is None and view.temp_c < view.glass.band_low_c and climbs_no_more(view)


def _climbs_back(view: View) -> Finding | None:
    """Return the finding where the kiln that broke off climbs again towards where it was, in the same part or not."""
    broken = view.broken
    if broken is None or broken.back_s is not None or view.temp_c > broken.from_c:
        return None
    if view.parts[broken.index].direction < 0:
        return None  # it fell too fast, under power; nothing was cut off
    if view.dropped_s is not None and view.dropped_s > broken.t_s - AIR_S:
        return None  # a lid that is shut again
    if view.part is not None and view.part.direction > 0 and any(
            part.direction < 0 for part in view.parts[broken.index + 1:view.part.index]):
        return None  # the plan falls before this climb, and did
    since = range(view.trail.index_at(broken.t_s), len(view.trail.times))
    lowest = min(since, key=lambda i: view.trail.temps[i], default=None)
    if lowest is None:
        return None
    lowest_c, back_s = view.trail.temps[lowest], view.trail.times[lowest]
    if broken.from_c - lowest_c < _LOST_K or view.temp_c < lowest_c + _CLIMBED_K:
        return None
    if not _BACK_FOR_S < view.t_s - back_s < TELL_FOR_S:
        return None
    if surest(view, _CLIMBS_C_PER_H, max(back_s, view.resumed_s), way=1) is None:
        return None
    return Finding("restarted", _rank(view), back_s, view.parts[broken.index].step, facts={
        "temp_c": view.temp_c, "lowest_c": lowest_c, "from_c": broken.from_c, "first_step": 0.0, "dark": 0.0,
        "undone": float(broken.index), "held_s": broken.held_s, "here_c": view.temp_c - view.offset_c,
        "anneal_c": view.anneal.to_c if view.anneal else 0.0, "beyond": float(is_beyond_plan(view)),
    })


def _held_c(view: View) -> float:
    """Return the level of the hold that was left just before the present climb [°C]; −∞ where there was none."""
    here_s = view.found[-1].start_s
    for run in view.found[-3:-1]:
        if run.part == "hold" and run.mean_c is not None and run.end_s is not None and here_s - run.end_s < AIR_S:
            return run.mean_c
    return -inf


def _rank(view: View) -> Rank:
    return Rank.WAKE if view.peak_c >= _WORTH_C else Rank.LOOK


def _again(view: View) -> Finding | None:
    """Return the finding where the kiln climbs again, told from where it broke off if that is known."""
    found = restarted(view)
    if found is None:
        return _climbs_back(view)
    if (_air_comes_back(view) and view.t_s - found.since_s < AIR_S):
        return None
    lost_k, back_k = found.facts["from_c"] - found.facts["lowest_c"], view.temp_c - found.facts["lowest_c"]
    if lost_k < _LITTLE_K and view.temp_c < _held_c(view) + _PAST_K:
        return None  # it only comes back to where it was held
    if back_k < (_BACK_SHARE * lost_k if lost_k < _AJAR_K else _CLIMBED_K):
        return None  # so much comes back where a lid was left ajar, and stands
    before = view.found[-2]
    held_s = (before.end_s if before.end_s is not None else view.t_s) - before.start_s
    facts = {"undone": float(before.index), "held_s": held_s, "here_c": view.temp_c - view.offset_c, "dark": 0.0,
             "beyond": float(is_beyond_plan(view))}
    if view.broken is not None and view.broken.t_s < found.since_s:
        broken = view.broken
        facts |= {"undone": float(broken.index), "held_s": broken.held_s, "from_c": broken.from_c}
    return Finding(found.kind, _rank(view), found.since_s, found.step, found.facts | facts, found.severity_c)
