"""What the decision remembers of one firing."""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from daemon.firing.alerts.board import Board
from daemon.firing.alerts.milestones import Milestones
from daemon.firing.alerts.registry import KINDS, Watches
from daemon.firing.alerts.temperature_calls import Calls
from daemon.firing.detection.blindness import Blindness
from daemon.firing.detection.other_plan import LOOK_EVERY_S
from daemon.firing.detection.steps.step_down import StepDown
from daemon.firing.energy.tonight import Tonight
from daemon.firing.events import Line, Part, Said, Sample, Text
from daemon.firing.kind import Finding
from daemon.firing.plan.plan import MAX_RATE_C_PER_H, MIN_RATE_C_PER_H, Plan, Unit
from daemon.firing.plan.schedule import anneal_hold, planned_parts, top_hold
from daemon.firing.recovery.keyed_in import LeftOff, keyed_in_plan
from daemon.firing.recovery.recovery import Mender
from daemon.firing.setup import Setup
from daemon.firing.situation.anneal_progress import AnnealProgress
from daemon.firing.situation.by_the_clock import ByClock, by_the_clock
from daemon.firing.situation.closed_kiln import ClosedKiln
from daemon.firing.situation.element_share import ElementShare
from daemon.firing.situation.hold_dwell import HoldDwell
from daemon.firing.situation.interruption import InterruptionMemory
from daemon.firing.situation.natural_fall import NaturalFall
from daemon.firing.situation.parts_run import parts_run
from daemon.firing.situation.phase import FreeFall
from daemon.firing.situation.probe_doubt import Disbelief, ProbeDoubt
from daemon.firing.speaker import Speaker, Undone
from daemon.firing.trace.gaps import GapMemory
from daemon.firing.trace.recent import Trail
from daemon.firing.tracking.boundaries import Boundaries
from daemon.firing.tracking.follower import Follower
from daemon.firing.tracking.offset import Offset
from daemon.firing.tracking.offset_history import BELIEVABLE_K
from daemon.firing.tracking.segments import SegmentFinder
from daemon.firing.tracking.unplanned import Unplanned
from daemon.firing.tracking.wander import Wander
from daemon.glass.load import Load

_SEEN_FROM_COLD_C = 150.0
"""A firing whose first reading is below this was seen from its beginning [°C]. [tuned: by trial on the bench, study
not kept]"""
_NEAR_END_K = 10.0
"""A plan was run where the kiln came so near to its maximum, and ends so near above its end, beyond what the probe
may be off [K]. [tuned: by trial on the bench, study not kept]"""
_THERE_K = 1.0
"""This close to its last target a plan is done [K]. [chosen: no closer can be told by a probe that wanders]"""
_SAME_BREAK_S = 300.0
"""Two breaks of a firing no further apart than this are one [s]. [chosen: a boundary is known to some minutes]"""
_MOST_SAID = 64
"""So many of the maker's words are remembered. [chosen: bounds the memory]"""


class State:
    """Everything the decision remembers of one firing; bounded whatever its length."""

    def __init__(self, setup: Setup) -> None:
        self.setup = setup
        self.parts = planned_parts(setup.plan) if setup.plan else ()
        self.anneal = anneal_hold(self.parts, setup.glass)
        self.top = top_hold(self.parts)
        self.progress = AnnealProgress(setup.glass, self.anneal) if self.anneal else None
        self.elements = ElementShare()
        self.dwell = HoldDwell(self.parts) if self.parts else None
        self.trail = Trail()
        self.offset = Offset(self.parts, setup.usual_by_band, is_owner_sure=setup.offset_k is not None)
        self.follower = Follower(self.parts, self.offset.expected_c) if self.parts else None
        self.boundaries = Boundaries(self.parts, self.trail)
        self.wander = Wander(self.trail)
        mender = Mender(self.parts, self.anneal, setup.glass, setup.thickness_mm, setup.faces)
        self.wording = Speaker(setup.unit, setup.thickness_mm, mender, setup.key_unit)
        self.other_wording = Speaker("C" if setup.unit == "F" else "F", setup.thickness_mm, mender,
                                     self.wording.key_unit)
        """Says the same in the other unit, for who reads that."""
        self.natural_fall = NaturalFall()
        self.closed = ClosedKiln()
        self.tonight = None if setup.kiln is None else Tonight(setup.kiln.thermal)
        """The walls of a kiln that is known, as this firing warms them."""
        self.breaks = InterruptionMemory()
        self.board = Board(KINDS, self._words)
        self.milestones = Milestones(self.parts, self.anneal, self.top, self.wording)
        self.calls = Calls(self.wording)
        self.watches = Watches(KINDS, setup)
        self.blindness = Blindness()
        self.doubt = ProbeDoubt()
        self.drop = StepDown(setup.glass)
        self.blind = GapMemory()
        self.segments = SegmentFinder(self.trail, LOOK_EVERY_S) if setup.plan else None
        """What the readings show without the plan, to hold it against other plans."""
        self.unplanned = None if setup.plan else Unplanned(self.trail, setup.glass)
        self.first_c: float | None = None
        self.first_s = 0.0
        self.load = Load(setup.glass, setup.thicknesses_mm, setup.faces, setup.above_c)
        self.minute: deque[tuple[float, float]] = deque()
        self.peak_c: float | None = None
        self.peak_s: float | None = None
        self.last: Sample | None = None
        self.next_beat_s = float("-inf")
        self.dangerous = False
        """Whether blindness now can cost the piece; as of the last beat."""
        self.is_before_top = False
        """Whether the kiln still climbs and has not come near its top yet; as of the last beat."""
        self.falls = FreeFall.NO if setup.plan else FreeFall.POSSIBLE
        """Whether the plan falls freely here, or may begin to any minute; as of the last beat."""
        self.is_calmed = False
        """Whether another plan explains what the kiln does, so that Family.PLAN wakes nobody; as of the last beat."""
        self.is_anneal_lost = False
        """Whether the anneal was found to have ended too soon for this glass; as of the last beat."""
        self.was_anneal_enough: bool | None = None
        """Whether an anneal that ended too soon was long enough for this glass all the same; None where none did."""
        self.said: deque[Said] = deque(maxlen=_MOST_SAID)
        self.probe_out = False
        left = setup.left
        self.before: State | None = State(replace(setup, plan=left[-1], left=left[:-1])) if left else None
        """The same firing judged by the plan before, until the lines of this one were keyed in; what is told until
        then is told by that. None from then on, and where there was no plan before."""

    @property
    def kiln_c(self) -> float | None:
        """Return what brick and glass may still have where the air above is colder [°C]; None where the air tells."""
        known = [kiln_c for kiln_c in (self.drop.kiln_c, self.closed.temp_c) if kiln_c is not None]
        return max(known, default=None)

    def undone_at(self, at_s: float) -> Undone | None:
        """Return what of the plan was left undone where it broke off at ``at_s`` [s], and where the kiln is now.

        A watch that has found where it broke off knows it better than the parts. None where there is no plan, or no
        part of it had begun.
        """
        here_c = self.trail.temps[-1] - self.offset.at(self.trail.temps[-1])[0] if self.trail.temps else None
        if here_c is None or not self.parts:
            return None
        broken = self.breaks.broken
        if broken is not None and broken.t_s >= at_s - _SAME_BREAK_S:
            return Undone(broken.index, broken.held_s, here_c)
        run = next((part for part in reversed(self.found) if part.start_s <= at_s), None)
        if run is None:
            return None
        return Undone(run.index, at_s - run.start_s if run.part == "hold" else 0.0, here_c)

    def _words(self, finding: Finding[Any]) -> Text:
        """Return what a finding says, in both units."""
        return replace(finding.kind.words(finding, self.wording),
                       other=finding.kind.words(finding, self.other_wording))

    def keyed_in(self, lines: Sequence[Line], unit: Unit, title: str, now_s: float) -> Plan | None:
        """Return the plan of the firing from ``lines`` that were keyed in now; None where it has no plan to leave.

        Parameters
        ----------
        lines
            What was keyed in.
        unit
            The controller's.
        title
            What the new plan is called.
        now_s
            The second of the firing, after every entry so far.
        """
        plan, follower, trail = self.setup.plan, self.follower, self.trail
        if plan is None or follower is None or not trail.temps:
            return None
        offset_k, _ = self.offset.at(trail.temps[-1])
        broken = self.breaks.broken
        if broken is None:
            part = self.parts[min(max(follower.here(), 1), len(self.parts)) - 1]
            found = self.boundaries.found
            held_s = trail.times[-1] - found[-1].start_s if found and found[-1].index == part.index else 0.0
            left = LeftOff(part, min(held_s, part.duration_s), trail.temps[-1] - offset_k, trail.temps[-1] - offset_k)
        else:
            since = range(min(trail.index_at(broken.t_s), len(trail.temps) - 1), len(trail.temps))
            lowest = min(since, key=lambda at: trail.temps[at])
            fell_k, fell_s = broken.from_c - trail.temps[lowest], trail.times[lowest] - broken.t_s
            fall = fell_k / fell_s * 3600 if fell_s > 0 else 0.0
            left = LeftOff(
                self.parts[broken.index], broken.held_s, broken.from_c - offset_k, trail.temps[lowest] - offset_k,
                fall if MIN_RATE_C_PER_H < fall < MAX_RATE_C_PER_H else None)
        return keyed_in_plan(plan, left, lines, None if self.anneal is None else self.anneal.to_c, unit, title,
                             now_s)

    @property
    def found(self) -> tuple[Part, ...]:
        """Return the parts run so far, planned or not."""
        if self.unplanned:
            return self.unplanned.found
        return parts_run(self.boundaries.found, self.parts, self.offset.learned_k or 0.0)

    @property
    def too_hot_for_any(self) -> tuple[float, float] | None:
        """Return since when the scale is known as false [s], and the hottest reading [°C]; None where it is not."""
        return (self.doubt.scale_false_since_s, self.doubt.hottest_c) if self.doubt.is_scale_false else None

    def unbelieved(self) -> tuple[Disbelief, ...]:
        """Return the stretches up to the last entry without a temperature that can be believed, in time order."""
        return self.doubt.stretches(self.blind.holes(0.0 if self.last is None else self.last.t_s))

    @property
    def lost(self) -> Disbelief | None:
        """Return since when the probe tells nothing that can be believed; None while it does."""
        return next((stretch for stretch in self.unbelieved() if stretch.to_s is None), None)

    def by_the_clock(self, lost_s: float, t_s: float) -> ByClock | None:
        """Return where the plan is at ``t_s`` by its clock, where nothing was read since ``lost_s`` [s].

        None where that is not known: after a firing broke off the plan does not go on by itself.
        """
        return None if self.breaks.broken is not None else by_the_clock(self.parts, self.found, lost_s, t_s)

    @property
    def finished(self) -> bool:
        """Return whether the plan has been run to its end: past its last part, or at that part's end."""
        if self.follower is None or not self.follower.started or not self.trail.temps or not self._was_run:
            return False
        if self.doubt.present is not None:
            return False  # what is read is not the kiln
        here = self.follower.here()
        if here != self.follower.after - 1:
            return here == self.follower.after
        last = self.parts[-1]
        if last.part == "hold":
            found = self.boundaries.found
            held_s = self.trail.times[-1] - found[-1].start_s if found else 0.0
            return held_s >= last.duration_s
        left = (last.to_c - (self.trail.temps[-1] - (self.offset.learned_k or 0.0))) * last.direction
        return left <= _THERE_K

    @property
    def _was_run(self) -> bool:
        """Return whether the kiln was ever as hot as its plan, if seen from cold, and is no hotter than its end.

        A probe that reads backwards or fell out of the kiln, and a kiln that ran away, finish no plan.
        """
        highest_c, end_c = max(part.to_c for part in self.parts), self.parts[-1].to_c
        seen_from_cold = self.first_c is not None and self.first_c < _SEEN_FROM_COLD_C
        reached = self.peak_c is not None and self.peak_c > highest_c - BELIEVABLE_K - _NEAR_END_K
        return (reached or not seen_from_cold) and (
            self.parts[-1].direction >= 0 or self.trail.temps[-1] < end_c + BELIEVABLE_K + _NEAR_END_K)
