"""Power that is back: a kiln found colder than it was left, or climbing again after it broke off."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import inf

from daemon.firing.detection.rate_test import surest
from daemon.firing.detection.runaway import holds_as_planned, since
from daemon.firing.events import IfNotKeyed, Part, Rank, Text
from daemon.firing.example_firing import ANNEAL, FALL_TO_ANNEAL, TOP_RAMP
from daemon.firing.kind import AtBeats, Example, Family, Finding, Kind, Vaguer
from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.recovery.recovery import PAST_MENDING_C, Mending, Place
from daemon.firing.recovery.recovery_text import STOP, broke_off, wants_stop
from daemon.firing.situation.last_climb import is_beyond_plan
from daemon.firing.situation.level_doubt import comes_back_to
from daemon.firing.situation.view import NEVER_NEAR_K, SWINGS_K, Interruption, View
from daemon.firing.speaker import CLIMBS_ON, CLOSED, ISOLATOR_UNLESS, KeyIn, Speaker, Undone, to_save_s
from daemon.glass.common_practice import HOT_C

TELL_FOR_S = 1800.0
"""For so long after power or readings are back it is told that they were away [s]. [chosen: later the maker knows]"""
_BACK_FOR_S, _LOST_K, _CLIMBED_K, _CLIMBS_C_PER_H = 120.0, 30.0, 12.0, 40.0
"""Power is back once the kiln has climbed for so long [s], after it had lost so much [K], by so much [K] and faster
than this [°C/h]. [tuned: by trial on the bench, study not kept]
"""
_FALL_WINDOW_S = 180.0
"""How fast the kiln falls after a gap is taken over this window [s]. [tuned: by trial on the bench, study not kept]
"""
_WORTH_C = 300.0
"""A firing that was never as hot has lost nothing by beginning again [°C]. [common practice]"""
_LITTLE_K, _PAST_K = 25.0, 2.0
"""A dip less deep than the first [K] is told only once the kiln is past the level of its last hold by the second [K].
[tuned: by trial on the bench, study not kept]
"""
_IS_BACK_K = 5.0
"""A kiln this near to the level of a hold that it left minutes ago is back in it [K]: two looks inside, or some
minutes without power, and nothing of the plan was lost. [common practice: within 5 °C of a target is at it]"""
_AJAR_K, _BACK_SHARE = 45.0, 0.5
"""A lid left ajar costs up to so much [K], of which less than this share comes back. [tuned: by trial on the bench,
study not kept]
"""
AIR_S = 600.0
"""The air under a lid that is shut again has come back by then [s]. [tuned: by trial on the bench, study not kept]"""
_TOP_BACK_S, _LOWEST_BACK_S = 3600.0, 300.0
"""The greatest height before a new climb is looked for so far back, and its lowest point so far before it began [s].
[tuned: by trial on the bench, study not kept]
"""
_FELL_K = 10.0
"""A smaller fall is not worth a word [K]. [chosen: less than the usual difference of probe and plan can be]"""
_BEGAN_AGAIN_S = 480.0
"""An alert for a fall takes this kind's name if the controller began again, and the climb came, within so long of it
[s]. [tuned: by trial on the bench, study not kept]
"""


@dataclass(frozen=True, slots=True)
class Restarted:
    """Power that is back: the kiln is colder than it was left, or climbs again."""

    temp_c: float
    lowest_c: float
    """The lowest it was meanwhile [°C]."""
    from_c: float
    """Where it was left [°C]."""
    undone: Undone | None
    """What was not done; None where nothing is known of before."""
    anneal_c: float | None = None
    """The plan's anneal hold; None where it has none."""
    dark: bool = False
    """Whether the readings were away as well."""
    fall_c_per_h: float | None = None
    """How fast it still falls, where it was dark."""
    beyond: bool = False
    """Whether the climb leads beyond all that the plan still has."""


class RestartedWatch:
    """Sees power that is back, in three ways; remembers a climb that leads beyond all that the plan still has.

    Readings and heat were both away (_was_dark). Or the kiln climbs back towards where it broke off (_climbs_back).
    Or it climbs in an earlier part of its plan than it was in (_begins_again): the controller began again.

    A climb beyond the plan stands until the kiln falls, or holds where the plan holds: what holds there is a program,
    not a welded contact.

    Nothing is raised for what an open lid does: air that comes back under it, or a dip of which little comes back
    because it was left ajar. Nor for a kiln that fell under power, too fast; nor for a climb that the plan itself has
    after a fall.
    """

    def __init__(self) -> None:
        self._beyond: Finding[Restarted] | None = None

    def see(self, view: View) -> Finding[Restarted] | None:
        """Return the finding as it stands at this beat."""
        found = power_back(view)
        if self._beyond is None and found is not None and found.facts.beyond:
            self._beyond = found
        if self._beyond is not None and holds_as_planned(view):
            self._beyond = None
        self._beyond = _kept(self._beyond, view)
        return self._beyond or found


def _kept(finding: Finding[Restarted] | None, view: View) -> Finding[Restarted] | None:
    """Return a climb found before, with the present temperature; None once the kiln falls."""
    climb = None if finding is None else since(view, finding.since_s)
    if finding is None or climb is None:
        return finding
    if climb.falls:
        return None
    return replace(finding, severity_c=view.temp_c, facts=replace(finding.facts, temp_c=view.temp_c))


def power_back(view: View) -> Finding[Restarted] | None:
    """Return the finding where power came back, or the controller began again."""
    return _was_dark(view) or _again(view)


def _was_dark(view: View) -> Finding[Restarted] | None:
    """Return the finding where readings and heat were both away: the power was off in the whole house."""
    broken = view.broken
    if broken is None or broken.back_s is None or view.t_s - broken.back_s > TELL_FOR_S:
        return None
    first = view.trail.index_at(broken.back_s)
    line = view.line(_FALL_WINDOW_S, broken.back_s)
    fall = max(0.0, -line.slope_c_per_s * 3600) if line is not None else 0.0
    facts = Restarted(
        view.temp_c, min(view.trail.temps[first:], default=view.temp_c), broken.from_c,
        Undone(broken.index, broken.held_s, view.temp_c - view.offset_k), _anneal_c(view),
        dark=True, fall_c_per_h=fall)
    return Finding(KIND, _rank(view, broken), broken.back_s, facts, view.parts[broken.index].step)


def _anneal_c(view: View) -> float | None:
    """Return the temperature of the plan's anneal hold [°C]; None where it has none."""
    return view.anneal.to_c if view.anneal else None


def _heat_comes_back(view: View) -> bool:
    """Return whether a climb may only be air that takes up heat of brick and glass, after a lid or vent was shut.

    So far as the air fell below them it comes back without any power; what climbs higher is heated.
    """
    return view.kiln_c is not None and view.temp_c < view.kiln_c + view.near_k


def _climbs_back(view: View) -> Finding[Restarted] | None:
    """Return the finding where an interrupted kiln climbs back towards where it was, in whatever part it seems."""
    broken = view.broken
    if broken is None or broken.back_s is not None or view.temp_c > broken.from_c:
        return None
    if view.parts[broken.index].direction < 0:
        return None  # it fell too fast, under power; nothing was cut off
    if view.part is not None and view.part.direction > 0 and any(
            part.direction < 0 for part in view.parts[broken.index + 1:view.part.index]):
        return None  # the plan falls before this climb, and did
    first = view.trail.index_at(broken.t_s)
    since_c = view.trail.temps[first:]
    if not since_c:
        return None
    lowest_c = min(since_c)
    if broken.from_c - lowest_c < _LOST_K or view.temp_c < lowest_c + _CLIMBED_K:
        return None
    back_s = view.trail.times[first + since_c.index(lowest_c)]
    if not _BACK_FOR_S < view.t_s - back_s < TELL_FOR_S:
        return None
    if surest(view, _CLIMBS_C_PER_H, max(back_s, view.resumed_s), way=1) is None:
        return None
    facts = Restarted(
        view.temp_c, lowest_c, broken.from_c, Undone(broken.index, broken.held_s, view.temp_c - view.offset_k),
        _anneal_c(view), beyond=is_beyond_plan(view))
    return Finding(KIND, _rank(view, broken), back_s, facts, view.parts[broken.index].step)


def _held_c(view: View) -> float:
    """Return the level of the hold that was left just before the present climb [°C]; −∞ where there was none."""
    here_s = view.found[-1].start_s
    for run in view.found[-3:-1]:
        if run.part == "hold" and run.mean_c is not None and run.end_s is not None and here_s - run.end_s < AIR_S:
            return run.mean_c
    return -inf


def _rank(view: View, broken: Interruption | None = None) -> Rank:
    """Return the rank of power that is back: a wake where the firing had been hot enough to lose something.

    A climb that broke off below HOT_C loses nothing by beginning again.
    """
    if broken is not None and view.parts[broken.index].direction > 0:
        return Rank.WAKE if broken.from_c >= HOT_C else Rank.LOOK
    is_dark = broken is not None and broken.back_s is not None
    return Rank.WAKE if is_dark or view.peak_c >= _WORTH_C else Rank.LOOK


def _comes_back_to_anneal(view: View) -> bool:
    """Return whether a climb only leads back to the anneal after a fall without power that the plan has.

    A top that was left early, before that fall, changes nothing: the plan goes on to the anneal either way. There, a
    kiln that fell further past the anneal than a controller lets it has been without power.
    """
    anneal, broken = view.anneal, view.broken
    if anneal is None or not comes_back_to(view, anneal):
        return False
    if _has_left_anneal(view, anneal):
        return False
    if broken is None:
        return True
    is_on_its_way = broken.index == anneal.index or view.leads_to_anneal(broken.index)
    fell_s = view.t_s if view.fell_until_s is None else view.fell_until_s
    lowest_c = min(view.trail.temps[view.trail.index_at(fell_s - _LOWEST_BACK_S):], default=view.temp_c)
    return is_on_its_way and lowest_c - view.offset_k > anneal.to_c - view.near_k - SWINGS_K


def _has_left_anneal(view: View, anneal: PlannedPart) -> bool:
    """Return whether the kiln came down from its anneal and has fallen far below it, which no probe's doubt explains.

    The follower alone is not believed: it may take the dip after a free fall for the cooling after the anneal.
    """
    lowest_c = min(view.trail.temps[view.trail.index_at(view.t_s - _TOP_BACK_S):], default=view.temp_c)
    is_past = any(run.index > anneal.index for run in view.found[:-1])
    return is_past and lowest_c - view.offset_k < anneal.to_c - NEVER_NEAR_K


def _again(view: View) -> Finding[Restarted] | None:
    """Return the finding where the kiln climbs again, with what the view knows of where it was interrupted."""
    if _comes_back_to_anneal(view) or _heat_comes_back(view):
        return None
    found = _begins_again(view)
    if found is None:
        return _climbs_back(view)
    lost_k, back_k = found.facts.from_c - found.facts.lowest_c, view.temp_c - found.facts.lowest_c
    held_c = _held_c(view)
    if (lost_k < _LITTLE_K or view.temp_c > held_c - _IS_BACK_K) and view.temp_c < held_c + _PAST_K:
        return None  # it only comes back to where it was held
    if back_k < (_BACK_SHARE * lost_k if lost_k < _AJAR_K else _CLIMBED_K):
        return None  # so little comes back under a lid that was left ajar
    before, here_c, from_c = view.found[-2], view.temp_c - view.offset_k, found.facts.from_c
    undone = Undone(before.index, (before.end_s if before.end_s is not None else view.t_s) - before.start_s, here_c)
    rank = Rank.LOOK if lost_k < _LITTLE_K and _is_before_top(view) else found.rank
    if view.broken is not None and view.broken.t_s < found.since_s:
        undone, from_c = Undone(view.broken.index, view.broken.held_s, here_c), view.broken.from_c
    return replace(found, rank=rank, facts=replace(
        found.facts, undone=undone, from_c=from_c, beyond=is_beyond_plan(view)))


def _is_before_top(view: View) -> bool:
    """Return whether the top is still to come: a program that began again reaches it later, and once."""
    return view.top is not None and view.part is not None and view.part.index < view.top.index and (
        view.peak_c - view.offset_k < view.top.to_c - NEVER_NEAR_K)


def _begins_again(view: View) -> Finding[Restarted] | None:
    """Return the finding where the kiln climbs in an earlier part of its plan than it was in."""
    part = view.part
    if part is None or len(view.found) < 2:
        return None
    here, before = view.found[-1], view.found[-2]
    if before.part == "hold" and len(view.found) > 2 and before.index < here.index:
        before = view.found[-3]  # it came down to a hold that it had left, and climbs on from there
    again = part.direction > 0 and here.index < before.index
    if not again or view.t_s - here.start_s > TELL_FOR_S or _is_below_plan(view, before):
        return None
    if surest(view, 0.0, max(view.resumed_s, here.start_s), way=1) is None:
        return None
    left_s = max(before.start_s, here.start_s - _TOP_BACK_S)
    fell = slice(view.trail.index_at(left_s), view.trail.index_at(here.start_s))  # not what it has climbed since
    top_c = max(view.trail.temps[fell], default=view.temp_c)
    lowest_c = min(view.trail.temps[view.trail.index_at(here.start_s - _LOWEST_BACK_S):], default=view.temp_c)
    facts = Restarted(view.temp_c, lowest_c, top_c, None, _anneal_c(view))
    return Finding(KIND, _rank(view), here.start_s, facts, part.step)


def _is_below_plan(view: View, before: Part) -> bool:
    """Return whether the kiln is no hotter than the fall that it was in before has it by now.

    It fell too fast, as with a vent open, and climbs back to its plan: no program that began again stops there.
    """
    fall, fallen_s = view.parts[before.index], view.t_s - before.start_s
    if fall.direction >= 0 or fall.rate_c_per_h is None or fallen_s > fall.duration_s:
        return False
    planned_c = fall.from_c + fall.rate_c_per_h * fallen_s / 3600
    return view.temp_c - view.offset_k <= planned_c + view.near_k


def _words(finding: Finding[Restarted], speaker: Speaker) -> Text:
    facts, temp = finding.facts, speaker.temp
    mending = speaker.mending(facts.undone, facts.from_c, facts.temp_c - facts.lowest_c)
    keys = speaker.key_in(mending)
    here, fell = temp(facts.temp_c), f"It fell from {temp(facts.from_c)} to {temp(facts.lowest_c)}."
    has_fallen = facts.from_c - facts.lowest_c > _FELL_K
    if facts.beyond:
        return _beyond_words(here, fell, keys, speaker)
    stop = mending is not None and wants_stop(mending)
    if facts.dark:
        lowest = f" The lowest was {temp(facts.lowest_c)}." if facts.temp_c - facts.lowest_c > _FELL_K else ""
        what = f"Power was off, kiln is at {here}, was {temp(facts.from_c)}.{lowest}"
        head = "The power was off and is back."
        fell = _why_hurry(facts, mending, speaker) or f"The kiln was at {temp(facts.from_c)}."
    elif has_fallen:
        what = f"Power is back, kiln is reheating, {here}{'; stop it' if stop else ''}. {fell}"
        head = f"Power is back and the kiln reheats{', perhaps up to its top. Stop it.' if stop else '.'}"
    else:
        what, head = f"The controller began again, kiln climbs, {here}.", "The controller began again."
    return speaker.text(
        what=what, head=f"{head} {fell}" if has_fallen else head,
        meaning=broke_off(mending, temp) if mending else
                "Power came back, or the controller began again. What was reached before may be fired twice.",
        acts=(keys.act, CLIMBS_ON) if stop else (keys.act,), keys=keys, caution=CLOSED,
        if_not_keyed=IfNotKeyed.ISOLATOR if stop else IfNotKeyed.LEAVE,
        time_left_s=to_save_s(mending, facts.anneal_c, facts.temp_c, facts.fall_c_per_h)
        if facts.fall_c_per_h else None,
    )


def _why_hurry(facts: Restarted, mending: Mending | None, speaker: Speaker) -> str:
    """Return in one sentence what is lost by waiting, where power is back; empty where nothing is."""
    if mending is None or mending.place in (Place.LATE, Place.COLD):
        return ""
    if mending.place is Place.ABOVE:
        return "If the controller begins again, it fires the top twice."
    rate, is_in_anneal = mending.lines[0].rate_c_per_h, mending.place in (Place.ANNEAL, Place.COOLING)
    if facts.fall_c_per_h and is_in_anneal:
        return f"Below about {speaker.temp(PAST_MENDING_C)} it is too cold to save tonight."
    if rate is not None and (mending.is_brittle or is_in_anneal):
        return f"Reheated faster than {speaker.rate(rate)}, the glass may crack."
    return ""


def _beyond_words(here: str, fell: str, keys: KeyIn, speaker: Speaker) -> Text:
    """Return the words for a climb where the plan only falls, and a program may or may not be behind it."""
    return speaker.text(
        what=f"Kiln reheats, plan only cools, {here}; stop it. {fell}",
        head=f"The kiln reheats where the plan only cools. Stop it. {fell}",
        meaning="The controller began again, and fires the piece twice. Or the power no longer switches off.",
        acts=(ISOLATOR_UNLESS,
              f"It obeys? {keys.act.removeprefix(STOP).strip()}"),
        keys=keys, caution=CLOSED,
    )


KIND = Kind(
    name="restarted",
    title="kiln heats again",
    watch=AtBeats(lambda setup: RestartedWatch().see),
    words=_words,
    examples=(
        Example(Restarted(640.0, 610.0, 790.0, Undone(TOP_RAMP, 0.0, 640.0), 516.0), "broke off on the climb"),
        Example(Restarted(606.0, 606.0, 700.0, Undone(FALL_TO_ANNEAL, 0.0, 606.0), 516.0, dark=True,
                          fall_c_per_h=360.0), "dark above the anneal"),
        Example(Restarted(450.0, 448.0, 516.0, Undone(ANNEAL, 1200.0, 450.0), 516.0, dark=True, fall_c_per_h=0.0),
                "dark in the anneal"),
        Example(Restarted(350.0, 348.0, 516.0, Undone(ANNEAL, 1200.0, 350.0), 516.0, dark=True, fall_c_per_h=0.0),
                "dark, below 370 °C"),
        Example(Restarted(300.0, 298.0, 300.0, None), "nothing known of before"),
        Example(Restarted(530.0, 498.0, 516.0, Undone(ANNEAL, 1200.0, 530.0), 516.0, beyond=True)),
    ),
    on_delay_s=40.0, off_delay_s=600.0,
    family=Family.PLAN,
    is_of_firing=True,
    leaves_no_whole_firing=True,
    shows_heat=True,
    may_stand_under=("over-temperature",),
    may_replace=(
        Vaguer("not-cooling"), Vaguer("firing-stopped"),
        # What fell with the power is no climb that began again.
        Vaguer("hold-cut-short", _BEGAN_AGAIN_S, is_uncaused=True),
        Vaguer("cooling-too-fast", _BEGAN_AGAIN_S, is_uncaused=True),
    ),
)
