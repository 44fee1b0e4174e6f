"""The kiln falls freely before its plan is done."""

from __future__ import annotations

from dataclasses import dataclass, replace

from daemon.firing.detection.keyed_climb import is_back_to_anneal, keyed_climb_left
from daemon.firing.detection.left_undone import BEGINS_WITHIN_S, left_undone
from daemon.firing.detection.rate_test import LIKELY
from daemon.firing.detection.steps.heat_under_air import VENT_S
from daemon.firing.events import Rank, Saying, Text
from daemon.firing.example_firing import ANNEAL, TOP, TOP_RAMP
from daemon.firing.kind import AtBeats, Example, Family, Finding, Kind, Vaguer
from daemon.firing.plan.schedule import ASSUMED_ROOM_C, PlannedPart
from daemon.firing.recovery.recovery import PAST_MENDING_C
from daemon.firing.recovery.recovery_text import broke_off
from daemon.firing.situation.level_doubt import may_be_at
from daemon.firing.situation.natural_fall import SLOWEST_TIME_H, is_unpowered
from daemon.firing.situation.view import Interruption, View
from daemon.firing.speaker import DISPLAY_FIRST, FALLS_THERE, NO_POWER, STAYS_CLOSED, Speaker, Undone, to_save_s
from daemon.glass.common_practice import HOT_C

LOOK_AFTER_S = 100.0
"""A fall must have lasted so long to be a look [s]. [chosen: longer than most looks inside]"""
WAKE_AFTER_S, WAKE_AFTER_STEPS = 240.0, 6.0
"""A fall must have lasted so long to be a wake [s, and in steps of a slow logger], so that two looks inside in a row
wake nobody. [chosen: longer than two looks inside last]
"""
_FALLEN_K = 10.0
"""A fall must have cost so much [K]. [tuned: by trial on the bench, study not kept]"""
_RECENT_S = 120.0
"""A fall must go on in the last so many seconds. [tuned: by trial on the bench, study not kept]"""
_WINDOW_S, _LEAST_WINDOW_S, _BEFORE_S = 180.0, 60.0, 20.0
"""Its rate is taken over the first window, and not at all over less than the second; the window reaches back no
further than the third before the fall began [s]. [tuned: by trial on the bench, study not kept]
"""
_FALLS_FOR_S = 600.0
"""Whether an interrupted kiln still falls is asked of so many seconds, and the window of a new fall grows with it up
to as much: a slower fall further down needs longer to be sure. [tuned: by trial on the bench, study not kept]
"""
_STILL_SHARE = 0.8
"""It still falls freely at this share of the slowest natural fall. [tuned: by trial on the bench, study not kept]"""
_FASTER, _FASTER_AT_FIRST = 1.15, 1.4
"""A fall no more than this many times the one that the plan has next is the plan's: where a fall was found before,
and where it is new. [tuned: by trial on the bench, study not kept]
"""
_LEAST_C_PER_H = 20.0
"""A kiln without power falls at least at this [°C/h], and at the rate of the slowest kiln. [common practice]"""


@dataclass(frozen=True, slots=True)
class FiringStopped:
    """A kiln that falls freely before its plan is done."""

    from_c: float
    """Where the fall began [°C]."""
    temp_c: float
    fall_c_per_h: float
    anneal_c: float | None
    """The plan's anneal hold; None where it has none."""
    is_climb: bool
    """Whether it should be climbing; else it should be holding."""
    undone: Undone
    is_keyed_in: bool = False
    """Whether what it does not do is the climb that the maker has just keyed in."""


class StoppedWatch:
    """Remembers an interrupted firing while the kiln goes on falling freely and can still be taken up again.

    It stays so until the kiln is held or heated again, whatever part of the plan the fall then looks like: once the
    power is gone, the fall passes through the rates and temperatures of the parts that the plan still has.

    A top that may have been ended by hand is no reason to get up. Once the same fall has passed the anneal it is, and
    the anneal is what was not done: a heavy kiln falls there hardly faster than the plan does next.
    """

    def __init__(self) -> None:
        self._found: Finding[FiringStopped] | None = None

    def see(self, view: View) -> Finding[FiringStopped] | None:
        """Return the finding as it stands at this beat."""
        found = firing_stopped(view, self._found)
        if found is None and self._found is not None and view.temp_c < self._found.facts.from_c:
            facts, fall = self._found.facts, _free_fall_c_per_h(view)
            if fall is not None:
                found = replace(self._found, facts=replace(
                    facts, temp_c=view.temp_c, fall_c_per_h=fall,
                    undone=replace(facts.undone, here_c=view.temp_c - view.offset_k)))
                found = _past_anneal(found, view) or found
        self._found = found
        return found


def _past_anneal(found: Finding[FiringStopped], view: View) -> Finding[FiringStopped] | None:
    """Return a fall found before as one that has passed the anneal; None where it has not, or is told as that."""
    left = None if view.anneal is None or found.facts.undone.index >= view.anneal.index else left_undone(view)
    if left is None or left.planned is not view.anneal:
        return None
    facts = replace(found.facts, from_c=left.from_c, is_climb=False,
                    undone=Undone(left.planned.index, 0.0, view.temp_c - view.offset_k))
    rank = _rank(view, left.planned, left.from_c, view.t_s - left.t_s)
    return Finding(KIND, rank, left.t_s, facts, left.planned.step)


def _free_fall_c_per_h(view: View) -> float | None:
    """Return how fast an interrupted kiln still falls [°C/h]; None where it doesn't, or is past taking up again."""
    line = view.line(_FALLS_FOR_S, view.resumed_s)
    if line is None or view.temp_c < PAST_MENDING_C:
        return None
    fall = -line.slope_c_per_s * 3600
    part = view.part
    planned = 0.0 if part is None or part.rate_c_per_h is None else -part.rate_c_per_h
    return fall if fall > max(_STILL_SHARE * least_natural_fall(view.temp_c), _FASTER * planned) else None


def firing_stopped(view: View, before: Finding[FiringStopped] | None = None) -> Finding[FiringStopped] | None:
    """Return the finding where the kiln falls freely though its plan wants it to climb or hold.

    Power, breaker or controller are off, or the lid stands open. A look once it has lasted, a wake where the glass
    was hot or annealing, and only a line in the log where it was cold.

    Nothing is raised for a fall that the plan has next, however early it begins within the tolerance of a hold (see
    daemon.firing.detection.left_undone); below the annealing range once it is old; while the last minute rises, since
    a lid was just closed; nor for less than _FALLEN_K beyond how deep the readings swing anyway.

    Nor for a top that ended under an open lid, once its planned fall is due: what it lacks is told as a hold cut
    short, and a kiln without power is told as soon as it falls past its anneal.

    That a fall is free must be sure once. ``before`` is what the last beat found: the same fall goes on while it is
    as fast as a free one. It slackens by itself, as walls and glass give heat to the air, and in a kiln whose
    readings swing it would no longer be sure before it has lasted long enough to wake.

    After a fall the maker may have keyed in lines that begin with a climb. Where the kiln falls on instead, that
    climb is what was not done (see daemon.firing.detection.keyed_climb).
    """
    if view.vented_s is not None and view.t_s - view.vented_s < VENT_S:
        return None
    recent = view.line(_RECENT_S, view.resumed_s)
    if recent is None or -recent.slope_c_per_s * 3600 < _STILL_SHARE * least_natural_fall(view.temp_c):
        return None
    keyed_in = keyed_climb_left(view)
    left = keyed_in or left_undone(view)
    if left is None:
        return None
    began_s, from_c, planned = left
    if planned is view.anneal and may_be_at(view, planned):
        return None
    if view.temp_c < view.glass.band_low_c and view.t_s - began_s > BEGINS_WITHIN_S:
        return None
    if _falls_as_planned_after_a_lid(view, planned, began_s):
        return None
    window_s = min(_FALLS_FOR_S, max(_WINDOW_S, (view.t_s - began_s) / 2))
    line = view.line(window_s, max(view.resumed_s, began_s - _BEFORE_S))
    if line is None or line.span_s < _LEAST_WINDOW_S:
        return None
    fall, error = -line.slope_c_per_s * 3600, view.error_c_per_h(line)
    # No fall that the plan has later explains one that goes on where its lines begin with a climb.
    planned_fall = 0.0 if keyed_in is not None else _planned_after(view, planned)
    # Nor need it fall freely: its controller may still run the fall of the plan that was left.
    natural = least_natural_fall(view.temp_c) * (1.0 if keyed_in is None else _STILL_SHARE)
    least = max(natural, _FASTER_AT_FIRST * planned_fall)
    unsure = 0.0 if before is not None else LIKELY * error
    if fall - unsure < least or from_c - view.temp_c < _FALLEN_K or view.rises:
        return None
    swings_k = view.trail.swings_k
    if swings_k and _fallen_k(view, began_s) < swings_k + _FALLEN_K:
        return None
    rank = _rank(view, planned, from_c, view.t_s - began_s)
    if view.t_s - began_s < LOOK_AFTER_S and rank is not Rank.LOG:
        return None
    # A climb back to the anneal is mended as the anneal is, not as the climb to a top.
    index = planned.index + 1 if is_back_to_anneal(view, planned) else planned.index
    undone = Undone(index, view.dwell_s(planned, began_s) if planned.part == "hold" else 0.0,
                    view.temp_c - view.offset_k)
    facts = FiringStopped(from_c, view.temp_c, fall, view.anneal.to_c if view.anneal else None,
                          is_climb=planned.direction > 0, undone=undone, is_keyed_in=keyed_in is not None)
    return Finding(KIND, rank, began_s, facts, planned.step)


def _falls_as_planned_after_a_lid(view: View, hold: PlannedPart, left_s: float) -> bool:
    """Return whether ``hold``, left at ``left_s`` [s] as a lid was opened, would be over and its free fall due."""
    after = view.next_fall(hold.index)
    run = view.last_run(hold.index)
    if hold.part != "hold" or run is None or after is None or not is_unpowered(after):
        return False
    was_opened = view.dropped_s is not None and view.dropped_s > left_s - _BEFORE_S
    return was_opened and view.leads_to_anneal(hold.index) and view.t_s > run.start_s + hold.duration_s


def _rank(view: View, planned: PlannedPart, from_c: float, lasted_s: float) -> Rank:
    """Return how loud it is that ``planned`` was left at ``from_c`` and the kiln has fallen for ``lasted_s``."""
    matters = from_c >= HOT_C or _in_anneal(view, planned)
    if view.temp_c < view.glass.band_low_c and not matters:
        return Rank.LOG
    patience_s = max(WAKE_AFTER_S, WAKE_AFTER_STEPS * view.trail.step_s)
    return Rank.WAKE if matters and lasted_s >= patience_s else Rank.LOOK


def _fallen_k(view: View, began_s: float) -> float:
    """Return how deep the kiln has fallen since ``began_s`` [K], from the highest reading since."""
    return max(view.trail.temps[view.trail.index_at(began_s):], default=view.temp_c) - view.temp_c


def _in_anneal(view: View, planned: PlannedPart) -> bool:
    """Return whether ``planned`` is the anneal hold, or the climb keyed in that leads back to it."""
    return planned is view.anneal or is_back_to_anneal(view, planned)


def least_natural_fall(temp_c: float) -> float:
    """Return the slowest fall [°C/h] that looks like a kiln without power at ``temp_c``."""
    return max(_LEAST_C_PER_H, (temp_c - ASSUMED_ROOM_C) / SLOWEST_TIME_H)


def _planned_after(view: View, planned: PlannedPart) -> float:
    """Return the planned fall [°C/h] that is due once ``planned`` is over; 0 where none is due or it is free."""
    here = view.part
    after = here if here is not None and here.direction < 0 and here.index > planned.index else \
        view.next_fall(planned.index)
    if after is None or after.rate_c_per_h is None:
        return 0.0
    return view.governing_fall_c_per_h(after)


def _breaks_off(finding: Finding[FiringStopped], view: View) -> Interruption | None:
    """Return where the firing was interrupted, as this finding has it."""
    undone, index = finding.facts.undone, finding.facts.undone.index
    if finding.facts.is_climb and view.parts[index].part == "hold":
        index -= 1  # on the way back to the anneal
    return Interruption(finding.since_s, index, undone.held_s, finding.facts.from_c)


def _words(finding: Finding[FiringStopped], speaker: Speaker) -> Text:
    facts, temp = finding.facts, speaker.temp
    mending = speaker.mending(facts.undone, facts.from_c)
    keys, left_s = speaker.key_in(mending), to_save_s(mending, facts.anneal_c, facts.temp_c, facts.fall_c_per_h)
    should = f"It should be {'climbing' if facts.is_climb else 'holding'}."
    asked = "You keyed in a climb, and it does not climb." if facts.is_keyed_in else should
    return speaker.text(
        what=f"Kiln not heating (power off?), {temp(facts.temp_c)} and falling. {asked} "
             f"It fell from {temp(facts.from_c)}.",
        head="Power off? The kiln does not climb as you keyed in." if facts.is_keyed_in else
             f"The kiln is not heating. Power off? {should}",
        meaning=broke_off(mending, temp) if mending else "The firing is not done.",
        acts=(DISPLAY_FIRST, keys.after(FALLS_THERE), NO_POWER), caution=STAYS_CLOSED,
        time_left_s=left_s,
    )


KIND = Kind(
    name="firing-stopped",
    title="kiln stopped heating",
    watch=AtBeats(lambda setup: StoppedWatch().see),
    words=_words,
    examples=(
        Example(FiringStopped(600.0, 560.0, 500.0, 516.0, True, Undone(TOP_RAMP, 0.0, 560.0)), "on the climb"),
        Example(FiringStopped(800.0, 770.0, 800.0, None, False, Undone(TOP, 240.0, 770.0)), "at the top"),
        Example(FiringStopped(516.0, 500.0, 300.0, 516.0, False, Undone(ANNEAL, 1200.0, 500.0)), "in the anneal"),
        Example(FiringStopped(470.0, 440.0, 200.0, 516.0, True, Undone(ANNEAL, 0.0, 440.0), is_keyed_in=True),
                "after lines were keyed in"),
    ),
    on_delay_s=20.0, off_delay_s=480.0,
    family=Family.PLAN,
    is_of_power=True,
    is_of_firing=True,
    explained_by=(Saying.PEEKED, Saying.VENTED, Saying.ADVANCED),
    may_stand_under=("sudden-drop",),
    # Who is told to switch a runaway off, and that the anneal waits, sees the kiln fall, all the way down.
    asked_for_by=("over-temperature",),
    may_replace=(Vaguer("hold-cut-short"), Vaguer("cooling-too-fast")),
    breaks_off=_breaks_off,
    halts_plan=True,
    leaves_no_whole_firing=True,
    may_go_on="the power may still be off",
)
