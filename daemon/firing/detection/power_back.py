"""Whether power is back: a kiln found colder than it was left, or climbing again after it broke off.

It is seen in three ways. Readings and heat were both away. Or the kiln climbs back towards where it broke off. Or it
climbs in an earlier part of its plan than it was in: the controller began again.

It is not what an open lid does: air that comes back under it, or a dip of which little comes back because it was left
ajar. Nor a kiln that fell under power, too fast; nor a climb that the plan itself has after a fall. Near an anneal
that the glass still needs a climb is told once it has surely passed it (daemon/firing/situation/level_doubt.py).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import inf

from daemon.firing.detection.rate_test import surest
from daemon.firing.detection.steps.heat_under_air import GIVEN_BACK_S, STILL_FALLING_S
from daemon.firing.detection.steps.step_down import falls_on
from daemon.firing.events import Part, Rank
from daemon.firing.situation.last_climb import is_beyond_plan
from daemon.firing.situation.level_doubt import leads_back_to_c
from daemon.firing.situation.view import NEVER_NEAR_K, Interruption, View
from daemon.glass.common_practice import HOT_C

TELL_FOR_S = 1800.0
"""For so long after power or readings are back it is told that they were away [s]. [chosen: later the maker knows]"""
_BACK_FOR_S, _LOST_K, _CLIMBED_K = 120.0, 30.0, 12.0
"""Power is back once the kiln has surely climbed for so long [s], after it had lost so much [K], by so much [K].
However slowly: a controller that begins again spreads the degrees that are left over the whole time of its ramp.
[tuned: by trial on the bench, study not kept]"""
_FALL_WINDOW_S = 180.0
"""How fast the kiln falls after a gap is taken over this window [s]. [tuned: by trial on the bench, study not kept]
"""
_WORTH_C = 300.0
"""A firing that was never as hot has lost nothing by beginning again [°C]. [common practice]"""
_LITTLE_K, _PAST_K = 25.0, 2.0
"""A dip less deep than the first [K] is told only once the kiln is past the level of its last hold by the second [K].
[tuned: by trial on the bench, study not kept]
"""
_AJAR_K, _BACK_SHARE = 45.0, 0.5
"""A lid left ajar costs up to so much [K], of which less than this share comes back. [tuned: by trial on the bench,
study not kept]
"""
_AIR_S = 600.0
"""The air under a lid that is shut again has come back by then [s]. [tuned: by trial on the bench, study not kept]"""
_WOKE_S = 180.0
"""A fall that breaks a firing off has woken somebody, or is about to, once it has lasted so long [s]. [chosen: it
wakes after four minutes, and the lowest reading comes up to a minute sooner]"""
_TOP_BACK_S, _LOWEST_BACK_S = 3600.0, 300.0
"""The greatest height before a new climb is looked for so far back, and its lowest point so far before it began [s].
[tuned: by trial on the bench, study not kept]
"""


@dataclass(frozen=True, slots=True)
class PowerBack:
    """A kiln that heats again, or whose readings are back and show it colder."""

    since_s: float
    """Since when the power is back [s]."""
    step: int
    """The step that broke off, or that the controller began again with."""
    rank: Rank
    """How loud it is."""
    lowest_c: float
    """The lowest it was meanwhile [°C]."""
    from_c: float
    """Where it was left [°C]."""
    undone: tuple[int, float] | None
    """The part that was not done, by its index, and how much of it was held [s]; None where neither is known."""
    is_dark: bool = False
    """Whether the readings were away as well."""
    fall_c_per_h: float | None = None
    """How fast it still falls, where it was dark."""
    is_beyond: bool = False
    """Whether the climb leads beyond all that the plan still has."""


def power_back(view: View) -> PowerBack | None:
    """Return where power came back, or the controller began again; None where neither did."""
    return _was_dark(view) or _again(view)


def _was_dark(view: View) -> PowerBack | None:
    """Return where readings and heat were both away: the power was off in the whole house."""
    broken = view.broken
    if broken is None or broken.back_s is None or view.t_s - broken.back_s > TELL_FOR_S:
        return None
    first = view.trail.index_at(broken.back_s)
    line = view.line(_FALL_WINDOW_S, broken.back_s)
    fall = max(0.0, -line.slope_c_per_s * 3600) if line is not None else 0.0
    return PowerBack(
        broken.back_s, view.parts[broken.index].step, _rank(view, broken),
        min(view.trail.temps[first:], default=view.temp_c), broken.from_c, (broken.index, broken.held_s),
        is_dark=True, fall_c_per_h=fall)


def _heat_comes_back(view: View) -> bool:
    """Return whether a climb may only be air that takes up heat of brick and glass, after a lid or vent was shut.

    So far as the air fell below them it comes back without any power; what climbs higher is heated, and so is what
    climbs on once they have given it back. Under a lid that still stands open the elements heat the air as well: a
    kiln that did not fall on after the step never lost its power.
    """
    if view.kiln_c is None or view.temp_c >= view.kiln_c + view.near_k:
        return False
    opened_s, until_s = view.stood[-1] if view.stood else (-inf, -inf)
    if until_s == view.t_s and not falls_on(opened_s + STILL_FALLING_S, view.trail):
        return True
    return view.t_s - _lowest_s(view, view.t_s - TELL_FOR_S) < GIVEN_BACK_S


def _lowest_s(view: View, from_s: float) -> float:
    """Return when the readings since ``from_s`` [s] were lowest [s]; the last one where there are none."""
    times, temps = view.trail.times, view.trail.temps
    return times[min(range(view.trail.index_at(from_s), len(temps)), key=temps.__getitem__, default=-1)]


def _may_come_back(view: View, back: PowerBack, level_c: float) -> bool:
    """Return whether a climb may only lead back to ``level_c`` [°C], which the kiln left minutes ago.

    After two looks inside, some moments without power, or where a controller begins its integral at nothing, it falls
    by no more than under a lid left ajar, and is back within GIVEN_BACK_S of its lowest. Above the annealing range
    the glass is soft, and to wait for so long costs it nothing: a hold that goes on for as long is not told either.
    (Weighed: a controller that began again, or a contact that welded. It climbs past that level, or for longer; where
    it only holds there once more, that is told as too long.) Where the fall lasted until it woke, somebody is up
    already, and is told at once that the kiln climbs again.
    """
    near_c = level_c - view.near_k
    has_woken = view.broken is not None and back.since_s - view.broken.t_s >= _WOKE_S
    is_little = back.lowest_c > max(view.glass.band_high_c, near_c - _AJAR_K) and view.temp_c < level_c + _PAST_K
    return is_little and not has_woken and (view.temp_c > near_c or view.t_s - back.since_s < GIVEN_BACK_S)


def _climbs_back(view: View) -> PowerBack | None:
    """Return where an interrupted kiln climbs back towards where it was, in whatever part it seems to be."""
    broken = view.broken or _left_top(view)
    if broken is None or broken.back_s is not None or view.temp_c > broken.from_c:
        return None
    if view.parts[broken.index].direction < 0:
        return None  # it fell too fast, under power; nothing was cut off
    if view.part is not None and view.part.direction > 0 and any(
            part.direction < 0 for part in view.parts[broken.index + 1:view.part.index]):
        return None  # the plan falls before this climb, and did
    first = view.trail.index_at(max(broken.t_s, view.resumed_s))  # under a vent the readings before are those of air
    since_c = view.trail.temps[first:]
    if not since_c:
        return None
    lowest_c = min(since_c)
    if broken.from_c - lowest_c < _LOST_K or view.temp_c < lowest_c + _CLIMBED_K:
        return None
    back_s = view.trail.times[first + since_c.index(lowest_c)]
    if view.t_s - back_s <= _BACK_FOR_S or not _is_news(view, lowest_c, back_s):
        return None
    return PowerBack(back_s, view.parts[broken.index].step, _rank(view, broken), lowest_c, broken.from_c,
                     (broken.index, broken.held_s), is_beyond=is_beyond_plan(view))


def _is_news(view: View, lowest_c: float, since_s: float) -> bool:
    """Return whether the kiln surely climbs from ``lowest_c`` [°C] since ``since_s`` [s], and lately came so far.

    The time in which that is told begins once it has climbed _CLIMBED_K, and past an anneal to which it may only have
    led back. Before, a slow climb is not sure: a heavy kiln whose controller spreads what is left over its whole ramp
    takes half an hour and more.
    """
    told_s = _last_below_s(view, max(lowest_c + _CLIMBED_K, _leads_back_c(view, lowest_c)), since_s)
    return view.t_s - told_s < TELL_FOR_S and surest(view, 0.0, max(since_s, view.resumed_s), way=1) is not None


def _leads_back_c(view: View, lowest_c: float) -> float:
    """Return up to which reading a climb from ``lowest_c`` [°C] may only lead back to the anneal; −∞ where none."""
    return -inf if view.anneal is None else leads_back_to_c(view, view.anneal, lowest_c)


def _last_below_s(view: View, level_c: float, from_s: float) -> float:
    """Return when the readings since ``from_s`` [s] were last below ``level_c``; ``from_s`` where they never were."""
    trail, first = view.trail, view.trail.index_at(from_s)
    return next((t_s for t_s, temp_c in zip(reversed(trail.times[first:]), reversed(trail.temps[first:]), strict=True)
                 if temp_c < level_c), from_s)


def _left_top(view: View) -> Interruption | None:
    """Return where the kiln left its top, though it seems to be in that top or on the climb to it; None elsewhere.

    A cut at a top that was as good as done looks like the free fall after it, and is told by nothing. When the
    controller then heats again, the follower may take both for one long climb; or it takes the anneal for the climb
    of a controller that begins again in it. No plan climbs to its top again. A reading further than NEVER_NEAR_K from
    the top, below or above, is none of the top.
    """
    top, part = view.top, view.part
    if top is None or part is None or part.index > top.index or not view.was_near_top:
        return None
    top_c = top.to_c + view.offset_k
    lowest_c, highest_c = top_c - NEVER_NEAR_K, top_c + NEVER_NEAR_K
    left_s = view.last_at_or_above(lowest_c)
    since_c = [] if left_s is None else view.trail.temps[view.trail.index_at(left_s):]
    if left_s is None or min(since_c) > lowest_c - _LOST_K or since_c[0] > highest_c:
        return None  # it did not leave it, or what was read is no top of this plan
    return Interruption(left_s, top.index, view.dwell_s(top, left_s), min(view.peak_c, highest_c))


def _held_c(view: View) -> float:
    """Return the level of the hold that was left just before the present climb [°C]; −∞ where there was none."""
    return next((run.mean_c for run in view.found[-3:-1] if run.part == "hold" and run.mean_c is not None
                 and _lowest_s(view, view.ended_s(run)) - view.ended_s(run) < _AIR_S), -inf)


def _rank(view: View, broken: Interruption | None = None) -> Rank:
    """Return the rank of power that is back: a wake where the firing had been hot enough to lose something.

    A climb that broke off below HOT_C loses nothing by beginning again, unless the kiln has been at its top: what it
    climbs to then is that top, a second time.
    """
    if broken is not None and view.parts[broken.index].direction > 0:
        is_second = view.peak_c - view.offset_k >= view.plan.highest_c - NEVER_NEAR_K
        return Rank.WAKE if broken.from_c >= HOT_C or is_second else Rank.LOOK
    is_dark = broken is not None and broken.back_s is not None
    return Rank.WAKE if is_dark or view.peak_c >= _WORTH_C else Rank.LOOK


def _again(view: View) -> PowerBack | None:
    """Return where the kiln climbs again, with what the view knows of where it was interrupted."""
    found = _begins_again(view)
    back = found or _climbs_back(view)
    if back is None:
        return None  # as nearly always: then no excuse is asked for
    held_c = _held_c(view) if found else back.from_c
    if view.temp_c <= _leads_back_c(view, back.lowest_c) or _heat_comes_back(view) or (
            _may_come_back(view, back, held_c)):
        return None
    if found is None:
        return back
    lost_k, back_k = found.from_c - found.lowest_c, view.temp_c - found.lowest_c
    if lost_k < _LITTLE_K and view.temp_c < held_c + _PAST_K:
        return None  # it only comes back to where it was held
    if back_k < (_BACK_SHARE * lost_k if lost_k < _AJAR_K else _CLIMBED_K):
        return None  # so little comes back under a lid that was left ajar
    before, from_c = view.found[-2], found.from_c
    undone = (before.index, view.ended_s(before) - before.start_s)
    rank = Rank.LOOK if lost_k < _LITTLE_K and _is_before_top(view) else found.rank
    if view.broken is not None and view.broken.t_s < found.since_s:
        undone, from_c = (view.broken.index, view.broken.held_s), view.broken.from_c
    return replace(found, rank=rank, undone=undone, from_c=from_c, is_beyond=is_beyond_plan(view))


def _is_before_top(view: View) -> bool:
    """Return whether the top is still to come: a program that began again reaches it later, and once."""
    return view.top is not None and view.part is not None and view.part.index < view.top.index and (
        view.peak_c - view.offset_k < view.top.to_c - NEVER_NEAR_K)


def _begins_again(view: View) -> PowerBack | None:
    """Return where the kiln climbs in an earlier part of its plan than it was in."""
    part = view.part
    if part is None or len(view.found) < 2:
        return None
    here, before = view.found[-1], view.found[-2]
    if before.part == "hold" and len(view.found) > 2 and before.index < here.index:
        before = view.found[-3]  # it came down to a hold that it had left, and climbs on from there
    again = part.direction > 0 and here.index < before.index
    if not again or _is_below_plan(view, before):
        return None
    left_s = max(before.start_s, here.start_s - _TOP_BACK_S)
    fell = slice(view.trail.index_at(left_s), view.trail.index_at(here.start_s))  # not what it has climbed since
    top_c = max(view.trail.temps[fell], default=view.temp_c)
    lowest_s = max(here.start_s - _LOWEST_BACK_S, view.resumed_s)
    lowest_c = min(view.trail.temps[view.trail.index_at(lowest_s):], default=view.temp_c)
    if not _is_news(view, lowest_c, here.start_s):
        return None
    return PowerBack(here.start_s, part.step, _rank(view), lowest_c, top_c, None)


def _is_below_plan(view: View, before: Part) -> bool:
    """Return whether the kiln is no hotter than the fall that it was in before has it by now.

    It fell too fast, as with a vent open, and climbs back to its plan: no program that began again stops there.
    """
    fall, fallen_s = view.parts[before.index], view.t_s - before.start_s
    if fall.direction >= 0 or fall.rate_c_per_h is None or fallen_s > fall.duration_s:
        return False
    planned_c = fall.from_c + fall.rate_c_per_h * fallen_s / 3600
    return view.temp_c - view.offset_k <= planned_c + view.near_k
