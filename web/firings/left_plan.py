"""The plan where the kiln left it: ended where it was left, and gone on with where it goes on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from daemon.firing.events import Part
from daemon.firing.plan.keyed import KeyedIn, begun_before
from daemon.firing.plan.schedule import PlannedPart
from web.drawing.decimation import Column
from web.firings.plan_and_run import Leg, begins_c, lasts_s

LEFT_K = 40.0
"""Further than this from its plan, and going away from where that leads, a kiln has left it [K].
[chosen: more than a probe is off, and a kiln lags]"""
_AWAY_K = 20.0
"""It has gone away by more than this since it left [K]. [chosen: more than a probe wanders]"""
_LEFT_FOR_S = 1200.0
"""It has been gone for so long [s]. [chosen: a lid that is open for a look is shut again by then]"""
_NEAR_S = 600.0
"""A reading no further from a moment than this tells where the kiln was then [s]. [chosen: a column of a long
firing]"""
_RATE_FROM_S = 300.0
"""Of a shorter stretch no rate is told [s]. [chosen: in less the trace of a long firing has one column]"""


def until_left(course: Sequence[Leg], columns: Sequence[Column], now_s: float) -> tuple[Leg, ...]:
    """Return the course with its last part ended where the kiln left the plan, and nothing to come after that.

    After a power cut, a stop or a runaway the follower may stay in the part that was left. A kiln that lags behind a
    ramp comes nearer to the ramp's end, and has not left it.

    Parameters
    ----------
    course
        The parts as run, and those to come.
    columns
        The trace: second, lowest, middle and highest temperature [s, °C].
    now_s
        Second of the last reading [s].
    """
    ran = [leg for leg in course if leg.run is not None]
    if not ran or ran[-1].free:
        return tuple(course)
    last, to_c = ran[-1], ran[-1].planned.to_c
    seen = [(t_s, mid_c) for t_s, _, mid_c, _ in columns if mid_c is not None and t_s >= last.start_s]
    near = [(t_s, temp_c) for t_s, temp_c in seen if abs(temp_c - planned_at(last, t_s)) <= LEFT_K]
    left_s, left_c = near[-1] if near else (last.start_s, begins_c(last))
    if not seen or now_s - left_s < _LEFT_FOR_S or abs(seen[-1][1] - to_c) < abs(left_c - to_c) + _AWAY_K:
        return tuple(course)
    return (*ran[:-1], replace(last, end_s=max(last.start_s, left_s), state="been"))


def until_broken(course: Sequence[Leg], broken: PlannedPart, at_s: float, held_s: float = 0.0) -> tuple[Leg, ...]:
    """Return the course up to where the firing broke off, and nothing to come after that.

    The follower may have gone on into parts that the fall looks like, and even have taken the hold that broke off for
    none at all.

    Parameters
    ----------
    course
        The parts as run, and those to come.
    broken
        The planned part in which the firing broke off.
    at_s
        When [s of firing].
    held_s
        How much of a hold was done by then [s].
    """
    ran = [leg for leg in course if leg.run is not None and leg.start_s <= at_s and leg.planned.index <= broken.index]
    if ran and ran[-1].planned.index == broken.index:
        return (*ran[:-1], replace(ran[-1], end_s=at_s, state="been", broke_off=True))
    start_s = at_s - held_s
    before = [replace(leg, end_s=min(leg.end_s, start_s), state="been") for leg in ran if leg.start_s < start_s]
    run = Part(broken.index, broken.step, broken.part, start_s, at_s)
    return (*before, Leg(broken, run, start_s, at_s, "been", broke_off=True))


def until_lost(course: Sequence[Leg], lost_s: float) -> tuple[Leg, ...]:
    """Return the course up to the last reading that can be believed, and nothing to come after that.

    Parameters
    ----------
    course
        The parts as run, and those to come.
    lost_s
        Since when nothing is read that can be believed [s].
    """
    return tuple(replace(leg, end_s=max(leg.start_s, min(leg.end_s, lost_s)), state="been")
                 for leg in course if leg.run is not None and leg.start_s <= lost_s)


def planned_at(leg: Leg, t_s: float) -> float:
    """Return where the plan has the kiln at a second of a part that is no free fall [°C]."""
    planned_s, from_c = lasts_s(leg), begins_c(leg)
    gone = 1.0 if planned_s <= 0 else min(1.0, max(0.0, (t_s - leg.start_s) / planned_s))
    return from_c + (leg.planned.to_c - from_c) * gone


def taken_up_elsewhere(course: Sequence[Leg], columns: Sequence[Column]) -> tuple[Leg, ...]:
    """Return the course with each part that was gone to out of turn begun where the kiln was.

    A controller that begins anew climbs from the temperature it finds, not from that of the room.

    Parameters
    ----------
    course
        The parts as run, and those to come.
    columns
        The trace: second, lowest, middle and highest temperature [s, °C].
    """
    found: list[Leg] = []
    for leg in course:
        is_in_turn = not found or leg.run is None or leg.planned.index == found[-1].planned.index + 1
        here_c = None if is_in_turn or leg.planned.part == "hold" else _measured_c(columns, leg.start_s)
        is_elsewhere = here_c is not None and abs(here_c - leg.planned.from_c) > LEFT_K
        found.append(replace(leg, begin_c=here_c) if is_elsewhere else leg)
    return tuple(found)


def before_lines(course: Sequence[Leg], keyed_in: KeyedIn | None, columns: Sequence[Column]) -> tuple[Leg, ...]:
    """Return the course with each part that began before its line was keyed in cut in two at that moment.

    What the kiln did before was not asked by these lines, and by no other: the old plan had broken off.

    Parameters
    ----------
    course, columns
        As ``taken_up_elsewhere`` has them.
    keyed_in
        When lines were keyed in and which steps they are; None where none were.
    """
    if keyed_in is None:
        return tuple(course)
    found: list[Leg] = []
    for leg in course:
        if leg.run is None or not begun_before(keyed_in, leg.planned.step, leg.start_s):
            found.append(leg)
            continue
        at_s = min(keyed_in.at_s, leg.end_s)
        found.append(_not_asked(leg, leg.run, at_s, columns))
        if leg.end_s > at_s or leg.state == "now":
            found.append(_asked_from(leg, leg.run, at_s, columns))
    return tuple(found)


def _not_asked(leg: Leg, run: Part, until_s: float, columns: Sequence[Column]) -> Leg:
    """Return what was run of a part before its line was keyed in, along what was measured."""
    to_c = _measured_c(columns, until_s)
    return replace(leg, run=_measured(run, leg.start_s, until_s, columns), end_s=until_s, state="been",
                   begin_c=_measured_c(columns, leg.start_s), end_c=leg.planned.to_c if to_c is None else to_c,
                   is_before_lines=True)


def _asked_from(leg: Leg, run: Part, at_s: float, columns: Sequence[Column]) -> Leg:
    """Return what was run of a part from when its line was keyed in."""
    until_s = leg.end_s if run.end_s is not None else columns[-1][0] if columns else at_s
    here_c = None if leg.planned.part == "hold" else _measured_c(columns, at_s)
    return replace(leg, run=_measured(run, at_s, until_s, columns), start_s=at_s, begin_c=here_c)


def _measured(run: Part, from_s: float, to_s: float, columns: Sequence[Column]) -> Part:
    """Return a part as it was run between two seconds of it, its rate or its mean from the trace."""
    rate = mean = None
    if run.part == "hold":
        temps = [mid_c for t_s, _, mid_c, _ in columns if mid_c is not None and from_s <= t_s <= to_s]
        mean = sum(temps) / len(temps) if temps else None
    elif to_s - from_s >= _RATE_FROM_S:
        from_c, to_c = _measured_c(columns, from_s), _measured_c(columns, to_s)
        rate = None if from_c is None or to_c is None else (to_c - from_c) / (to_s - from_s) * 3600
    return replace(run, start_s=from_s, rate_c_per_h=rate, mean_c=mean)


def free_until_left(course: Sequence[Leg], columns: Sequence[Column]) -> tuple[Leg, ...]:
    """Return the course with each free part that the next does not follow ended where the kiln was.

    Such a part asks for no rate, so that how far it came by then is known from the trace alone.

    Parameters
    ----------
    course, columns
        As ``taken_up_elsewhere`` has them.
    """
    found = []
    for number, leg in enumerate(course):
        after = course[number + 1] if number + 1 < len(course) else None
        is_left = leg.free and not leg.is_before_lines and leg.state == "been" and (
            after is None or after.planned.index != leg.planned.index + 1)
        here_c = _measured_c(columns, leg.end_s) if is_left else None
        low_c, high_c = sorted((begins_c(leg), leg.planned.to_c))
        found.append(leg if here_c is None else replace(leg, end_c=min(high_c, max(low_c, here_c))))
    return tuple(found)


def _measured_c(columns: Sequence[Column], t_s: float) -> float | None:
    """Return what was measured nearest to a second [°C]; None where nothing was within _NEAR_S of it."""
    near = min((column for column in columns if column[2] is not None), key=lambda column: abs(column[0] - t_s),
               default=None)
    return None if near is None or abs(near[0] - t_s) > _NEAR_S else near[2]
