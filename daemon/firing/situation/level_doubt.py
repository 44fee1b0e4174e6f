"""How much lower the probe may read than it usually does, with nothing wrong.

Probe and controller sit in different places of the kiln. How they differ depends on what the elements do. It is
learned in holds, where the elements hold the kiln. After a fall without power the elements are cold and the walls
are not: then a probe that sees more of the elements reads lower than in any hold before, by 3 to 17 K and seldom by
24, and comes back within half an hour or so as the controller heats again. A level read in that time says little. So
whoever compares a level with the plan asks here how far it may be off.
"""

from __future__ import annotations

from math import hypot, inf

from daemon.firing.plan.near_target import NEAR_UNKNOWN_K
from daemon.firing.plan.schedule import PlannedPart, part_before
from daemon.firing.situation.natural_fall import POWERED_SHARE, is_unpowered
from daemon.firing.situation.view import NEVER_NEAR_K, SWINGS_K, View

_IN_HOLDS_K, _ELSEWHERE_K = 3.0, 7.0
"""How much lower than usual a probe may read in a hold [K]: where this firing's holds, or earlier firings, have shown
the usual difference near this temperature; and where they have shown it at another.
[common practice: two sound probes of type K, class 2, may differ by 7.5 K at 500 °C]"""
_AFTER_FALL_K, _COMES_BACK_S = 17.0, 2400.0
"""How much lower it may read just after a fall without power [K], and how long it takes to come back [s].
[common practice: 3 to 17 K, and half an hour]"""
_STILL_FALLS_K, _PACE_S = 7.0, 360.0
"""So much more until the controller has caught the kiln, while it falls as without power, told over so long [K, s].
The elements have nothing then; what a fall lacks of the natural one, they give. A kiln that was caught and falls so
again has lost its power. Of 144 falls of the bench whose elements glow in the probe's sight one in 20 read 20 K
lower, and one in 35 read 24 K lower, than in the hold after them. What a kiln's own fall begins with does not tell
which: the reading drops by 12 to 37 K in all of them.
[tuned: simulations/glow_bench.py, seed 1159]"""
_GLASS_LAG_S = 100.0
"""In a fall the air that the probe reads is ahead of the glass, and of a thicker sensor, by so long [s].
[common practice: the air is cooler than the glass in a fall; a 3 mm sheath takes 80 s to 90 % of a step]"""


def low_doubt_k(view: View, hold: PlannedPart) -> float:
    """Return how much lower than usual the probe may read now, with the kiln at ``hold`` as planned [K].

    What is not known of the usual difference and what a fall without power does to it have nothing to do with each
    other: as independent doubts they add in squares (JCGM 100:2008, 5.1.2).
    """
    steady_k = settled_doubt_k(view)
    fell_s = since_fall_s(view, hold)
    if fell_s is None or fell_s >= _COMES_BACK_S:
        return steady_k
    lag_k = (view.natural_fall_c_per_h or 0.0) / 3600 * _GLASS_LAG_S
    fallen_k = (_AFTER_FALL_K + lag_k) * (1.0 - fell_s / _COMES_BACK_S)
    return hypot(steady_k, fallen_k + _STILL_FALLS_K * _unpowered_share(view))


def is_below(view: View, hold: PlannedPart) -> bool:
    """Return whether the kiln is below ``hold`` beyond all that the probe may be off."""
    return view.temp_c - view.offset_k < hold.to_c - max(view.near_k, low_doubt_k(view, hold))


def is_settling(view: View, hold: PlannedPart) -> bool:
    """Return whether a fall without power has just led to ``hold``, so that the probe is still coming back."""
    fell_s = since_fall_s(view, hold)
    return fell_s is not None and fell_s < _COMES_BACK_S


def leads_back_to_c(view: View, hold: PlannedPart, from_c: float) -> float:
    """Return up to which reading a climb from ``from_c`` [°C] may only lead back to ``hold``; −∞ where none does.

    One question for each climb that began near a hold which the glass still needs after its top: has it surely passed
    that hold? The elements were cold and the probe read too low; a controller caught the kiln too late and swings; a
    reading creeps back for an hour. A program that began again climbs on, and passes it in minutes; with thick glass,
    at 40 to 60 °C/h, in a quarter of an hour or so. The glass is stiff and relaxes meanwhile, so nothing is lost by
    waiting. The hold is read as its target usually is, or as the last hold was, whichever is higher: one read too low
    says little, since a weak kiln never comes to it. How closely a target is told and what a probe may be off there
    are independent, and add in squares as above.
    (Weighed: power that was off. It costs the hold only if it was off for long, and then the kiln fell further below
    it than a target can be told and a controller swings.)
    """
    if not view.was_near_top or view.is_annealed:
        return -inf
    level_c = hold.to_c + max(view.offset_k, view.shown_k)
    past_k = hypot(view.near_k, _IN_HOLDS_K if view.is_offset_near else _ELSEWHERE_K)
    return level_c + past_k if from_c > level_c - view.near_k - SWINGS_K else -inf


def may_be_at(view: View, hold: PlannedPart) -> bool:
    """Return whether the kiln has just come to ``hold`` by a fall without power and may stand in it, read too low."""
    return is_settling(view, hold) and not is_below(view, hold)


def since_fall_s(view: View, hold: PlannedPart) -> float | None:
    """Return how long ago the fall without power to ``hold`` ended [s]; None where there was none.

    0 while the kiln still falls as it does by itself, or stands under a vent.
    """
    before = part_before(view.parts, hold.index)
    if before is None or not is_unpowered(before):
        return None
    ended_s = [at_s for at_s in (view.fell_until_s, view.vented_s) if at_s is not None]
    return view.t_s - max(ended_s) if ended_s else None


def _unpowered_share(view: View) -> float:
    """Return how much the kiln falls as it does without power: 1 at its natural rate, 0 at POWERED_SHARE of it [1].

    The elements make up for the rest of the natural fall. Where it is not known, and in the cold, where it is 0, it
    falls so where it does at all.
    """
    if view.is_caught:
        return 0.0
    natural, line = view.natural_fall_c_per_h, view.line(_PACE_S, view.resumed_s)
    if not natural or line is None:
        return 1.0 if view.fell_until_s == view.t_s else 0.0
    share = -line.slope_c_per_s * 3600 / natural
    return min(1.0, max(0.0, (share - POWERED_SHARE) / (1.0 - POWERED_SHARE)))


def settled_doubt_k(view: View) -> float:
    """Return how much lower than usual the probe may read in a hold long settled [K]."""
    if not view.offset_known:
        return max(NEAR_UNKNOWN_K, _missed_top_by_k(view))
    return _IN_HOLDS_K if view.is_offset_near else _ELSEWHERE_K


def _missed_top_by_k(view: View) -> float:
    """Return how far below the top a kiln has read that went on from it as planned [K]; 0 where it read as high.

    No hold has shown the usual difference, since the probe reads lower than where the follower looks for one. A kiln
    that stayed NEVER_NEAR_K below its top was not in it.
    """
    top = view.passed_top
    if top is None or view.first_c >= top.to_c / 2:
        return 0.0
    below_k = top.to_c - view.peak_c
    return below_k if below_k < NEVER_NEAR_K else 0.0
