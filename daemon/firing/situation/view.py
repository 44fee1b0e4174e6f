"""What a watch may look at: the state of a firing at one moment, with the measures that several watches need."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from math import hypot

from daemon.firing.energy.known_kiln import KilnNow
from daemon.firing.events import Part
from daemon.firing.plan.near_target import NEAR_KNOWN_K, near_k
from daemon.firing.plan.plan import Plan
from daemon.firing.plan.schedule import PlannedPart, part_after
from daemon.firing.situation.anneal_progress import AnnealProgress
from daemon.firing.situation.element_share import ElementShare
from daemon.firing.situation.hold_measure import HoldMeasure, last_at_or_above
from daemon.firing.trace.recent import Trail
from daemon.firing.tracking.segments import Segment
from daemon.firing.tracking.wander import WANDER_MEMORY_S
from daemon.glass.materials import Glass
from daemon.regression import Line

TOP_NEAR_C = NEAR_KNOWN_K
"""A top is as good as reached this close to its maximum [K]. [derived: as closely as a known target can be told]"""
NEVER_NEAR_K = 40.0
"""A kiln that stayed so far below its top never was in it [K]. [tuned: by trial on the bench, study not kept]"""
SWINGS_K = 25.0
"""So far a kiln cooled by its vents may fall past a hold before its controller has it again [K]. [common practice]"""
SLOW_WINDOW_STEPS = 3.0
"""A window of a slow logger is as long as so many of its steps. [derived: a line with residuals needs three readings]
"""
_RISES_S = 60.0
"""Whether the reading rises is asked of so many seconds. [tuned: by trial on the bench, study not kept]"""
_HALVED_S = 100.0
"""Half of a shorter window tells nothing [s]. [tuned: clean firings, seeds 5000 to 5099]"""
_BENT_ERRORS, _BENT_SHARE = 2.5, 0.5
"""A line is bent where its second half is slower than its first by more than so many standard errors and this share
of its slope together. [tuned: clean firings, seeds 5000 to 5099]"""


class Phase(StrEnum):
    """Where in its plan a firing is."""

    BEFORE = "before"
    CLIMB = "climb"
    TOP = "top"
    FALL = "fall"
    ANNEAL = "anneal"
    COOLING = "cooling"
    AFTER = "after"


@dataclass(frozen=True, slots=True)
class Interruption:
    """Where a firing was interrupted: when, in which planned part, how much of it was held, at which temperature."""

    t_s: float
    index: int
    held_s: float
    from_c: float
    """As the probe read [°C]."""
    back_s: float | None = None
    """When the readings came back, where the interruption lies in a gap of them [s]."""


@dataclass(slots=True)
class View:
    """The firing at ``t_s``; temperatures [°C] are the probe's readings less the owner's offset."""

    t_s: float
    temp_c: float
    """The temperature now [°C], median of the last half minute; in the plan's terms it is ``temp_c - offset_k``."""
    trail: Trail
    wander_k: float
    plan: Plan
    parts: tuple[PlannedPart, ...]
    anneal: PlannedPart | None
    top: PlannedPart | None
    """The hold at the top: the step marked so, else the hold at the highest target; None without one."""
    glass: Glass
    thickness_mm: float
    faces: int
    state: int
    """The follower's state: 0 before the plan, 1…n its parts, n + 1 after."""
    found: tuple[Part, ...]
    offset_k: float
    """Usual difference of probe and plan [K], 0 where unknown."""
    offset_known: bool
    peak_c: float
    """The highest temperature so far [°C], as the greatest median of a minute: a single wild reading is none."""
    resumed_s: float
    """When readings last came back after a gap, or settled after a step [s]; no slope reaches across it."""
    first_c: float
    """The firing's first temperature [°C]; higher than a room's where the kiln was warm already."""
    first_s: float
    """When that was read [s]: a trace may begin at any second."""
    offset_elsewhere_k: float | None
    """Usual difference without what the present hold says [K]; None where no other hold is known."""
    haze_s: float
    new_segments: tuple[Segment, ...] | None = None
    """What the readings show without a plan, the present segment last; None where they were not looked at anew."""
    vents: bool = False
    """Whether a step down stands that may be a vent opened to cool faster."""
    broken: Interruption | None = None
    """Where the firing was interrupted, until that is long past."""
    dropped_s: float | None = None
    """When a sudden drop was last seen [s]."""
    vented_s: float | None = None
    """When the readings last stepped down in a free fall, as under a vent [s]."""
    is_offset_near: bool = True
    """Whether the usual difference was shown near this temperature, by this firing's holds or by earlier firings."""
    fell_until_s: float | None = None
    """When the kiln last fell as it does without power [s] (see NaturalFall); None before it ever did."""
    is_caught: bool = False
    """Whether the kiln has been heated since then, however it falls now (see NaturalFall)."""
    natural_fall_c_per_h: float | None = None
    """How fast this kiln falls without power at the present temperature [°C/h]; None before it is known."""
    kiln_c: float | None = None
    """What brick and glass may still have where the air above them is colder [°C]: it stepped down (see StepDown), or
    fell faster than a closed kiln (see ClosedKiln); None where the air tells."""
    progress: AnnealProgress | None = None
    """What the anneal hold was worth so far; None without an anneal in the plan."""
    stood: tuple[tuple[float, float], ...] = ()
    """From when to when the readings stood a step down that lasted and was no vent [s], as under an open lid."""
    elements: ElementShare = field(default_factory=ElementShare)
    """What the probe loses when the elements fall silent, as holds after a fall have shown it."""
    kiln: KilnNow | None = None
    """What earlier firings taught of this kiln, with how warm its walls are by now; None where that is too little."""
    _lines: dict[tuple[float, float], Line | None] = field(default_factory=dict, init=False, repr=False)
    """What ``line`` has returned at this beat: several watches ask for the same windows."""
    part: PlannedPart | None = field(init=False)
    """The part the kiln is in; None before and after the plan."""
    is_climb_due: bool = field(init=False)
    """Whether that part climbs, or one that the plan still has after it."""

    def __post_init__(self) -> None:
        part = self.part = self.parts[self.state - 1] if 1 <= self.state <= len(self.parts) else None
        self.is_climb_due = part is not None and any(later.direction > 0 for later in self.parts[part.index:])

    @property
    def phase(self) -> Phase:
        """Return the phase of the firing."""
        part = self.part
        if part is None:
            return Phase.BEFORE if self.state == 0 else Phase.AFTER
        if self.is_climb_due:
            return Phase.CLIMB
        if self.top is not None and part.index <= self.top.index:
            return Phase.TOP
        if self.anneal is None or part.index < self.anneal.index:
            return Phase.FALL
        return Phase.ANNEAL if part.index == self.anneal.index else Phase.COOLING

    @property
    def present_hold(self) -> Part | None:
        """Return the hold the kiln is in, as it ran so far; None in a ramp."""
        part, found = self.part, self.found
        if part is None or part.part != "hold" or not found or found[-1].index != part.index:
            return None
        return found[-1]

    @property
    def is_annealed(self) -> bool:
        """Return whether the anneal hold was whole as it was read, with no doubt in its favour (AnnealProgress)."""
        return self.progress is not None and self.progress.is_surely_whole

    @property
    def usual_k(self) -> float:
        """Return the usual difference of probe and plan [K] by which the present hold may be judged.

        What that hold itself shows is left out, where anything else is known; 0 where nothing is.
        """
        return self.offset_k if self.offset_elsewhere_k is None else self.offset_elsewhere_k

    @property
    def next_part(self) -> PlannedPart | None:
        """Return the part that comes next; None at the end."""
        return self.parts[self.state] if self.state < len(self.parts) else None

    def next_part_of(self, part: PlannedPart) -> PlannedPart | None:
        """Return the part that comes after another one; None after the last."""
        return part_after(self.parts, part.index)

    @property
    def part_start_s(self) -> float:
        """Return when the present part began [s]; 0 before the plan."""
        return self.found[-1].start_s if self.found else 0.0

    def ended_s(self, run: Part) -> float:
        """Return when a part ended [s]; now where it still goes on."""
        return self.t_s if run.end_s is None else run.end_s

    def last_run(self, index: int) -> Part | None:
        """Return the part with that index as it ran last; None where it was not found."""
        return next((run for run in reversed(self.found) if run.index == index), None)

    @property
    def near_k(self) -> float:
        """Return how closely a target can be told from the readings [K]."""
        return near_k(known=self.offset_known)

    @property
    def was_near_top(self) -> bool:
        """Return whether the kiln may have been near its top by now, wherever the follower takes it to be."""
        top = self.top
        if top is None or top.index == 0:
            return True
        seen_from_cold = self.first_c < top.to_c / 2
        return not seen_from_cold or self.peak_c - self.offset_k >= top.to_c - NEVER_NEAR_K

    @property
    def passed_top(self) -> PlannedPart | None:
        """Return the top where the follower has passed it; None before, without one, and after the plan."""
        top, part = self.top, self.part
        return None if top is None or part is None or part.index <= top.index else top

    @property
    def unreached_top(self) -> PlannedPart | None:
        """Return the top that the kiln never came near, though the follower has passed it; None otherwise."""
        return None if self.was_near_top else self.passed_top

    @property
    def is_near_anneal(self) -> bool:
        """Return whether the kiln is about as hot as at its anneal hold, wherever the follower takes it to be."""
        return self.anneal is not None and abs(self.temp_c - self.offset_k - self.anneal.to_c) < SWINGS_K

    @property
    def swings_to_anneal(self) -> bool:
        """Return whether the kiln may only undershoot its anneal: a vent was open, and it is not far from there."""
        return self.vents and self.is_near_anneal

    def leads_to_anneal(self, index: int) -> bool:
        """Return whether the anneal hold is still to come after part ``index``, with no climb before it."""
        anneal = self.anneal
        return anneal is not None and index < anneal.index and all(
            part.direction <= 0 for part in self.parts[index + 1:anneal.index])

    def next_fall(self, index: int) -> PlannedPart | None:
        """Return the first ramp after part ``index`` if it falls; None if it climbs or there is none."""
        follows = next((p for p in self.parts[index + 1:] if p.part == "ramp"), None)
        return follows if follows and follows.direction < 0 else None

    def governing_fall_c_per_h(self, planned: PlannedPart) -> float:
        """Return the planned fall [°C/h] of a falling ramp; infinite where it is free.

        Close to the ramp's end it is the faster of it and the next one's: where the controller goes on to
        the next ramp is known only to within the usual difference.
        """
        rate = abs(planned.rate_c_per_h) if planned.rate_c_per_h is not None else float("inf")
        if not self.nears_end(planned):
            return rate
        if planned.index == len(self.parts) - 1:
            return float("inf")  # the plan is as good as done, and the power goes off
        after = self.next_fall(planned.index)
        if after is None:
            return rate
        return max(rate, abs(after.rate_c_per_h) if after.rate_c_per_h is not None else float("inf"))

    @property
    def shown_k(self) -> float:
        """Return the usual difference of probe and plan [K]; where it is not known, what the last hold shows.

        A controller keeps to its own sensor. So far as that and the probe differed in one hold, they do in the next.
        (Weighed: a hold that truly was too hot. The controller that kept it so goes on by as much too hot.)
        """
        hold = None if self.offset_known else next((run for run in reversed(self.found) if run.part == "hold"), None)
        if hold is None or hold.mean_c is None:
            return self.offset_k
        return hold.mean_c - self.parts[hold.index].to_c

    def nears_end(self, fall: PlannedPart) -> bool:
        """Return whether a falling ramp may be at its end, as closely as that can be told."""
        return self.temp_c - self.shown_k <= fall.to_c + self.near_k

    def is_seen_from_start(self, part: PlannedPart) -> bool:
        """Return whether the follower saw the part before ``part`` end, so that it knows when this one began."""
        return len(self.found) >= 2 and self.found[-2].index == part.index - 1

    def stood_s(self, from_s: float, to_s: float) -> float:
        """Return for how long of a time the readings stood a step down that lasted [s]."""
        return sum(max(0.0, min(to_s, until_s) - max(from_s, since_s)) for since_s, until_s in self.stood)

    def dwell_s(self, hold: PlannedPart, until_s: float) -> float:
        """Return how long the readings stood near a hold's target before ``until_s`` [s] (see HoldMeasure)."""
        return HoldMeasure(self.trail, self.parts, self.offset_k, self.near_k).dwell_s(hold, until_s)

    def last_at_or_above(self, level_c: float, not_before_s: float = 0.0) -> float | None:
        """Return when the readings last stood at ``level_c`` or higher [s]; None within the trail's memory."""
        return last_at_or_above(self.trail, level_c, not_before_s)

    def line(self, window_s: float, not_before_s: float = 0.0) -> Line | None:
        """Return the line through the last ``window_s``, reaching back no further than ``not_before_s``.

        A slow logger's window is as long as three of its steps.
        """
        asked = window_s, not_before_s
        if asked in self._lines:
            return self._lines[asked]
        reach_s = SLOW_WINDOW_STEPS * self.trail.step_s
        from_s = self.t_s - (reach_s if reach_s > window_s else window_s)
        line = self._lines[asked] = self.trail.line(from_s if from_s > not_before_s else not_before_s)
        return line

    @property
    def rises(self) -> bool:
        """Return whether the last minute climbs: a lid or a vent that stood open is shut again."""
        line = self.line(_RISES_S, self.resumed_s)
        return line is not None and line.slope_c_per_s > 0.0

    def goes_on(self, line: Line, way: int) -> bool:
        """Return whether a line that ends now goes ``way`` (+1 up, −1 down) in its second half as in its first.

        After an open lid, a rebound from a vent or a few outliers a least-squares line stays steep, though what made
        it so is over. A line that only gathers pace, as at the end of a hold, goes on.
        """
        halves = self.trail.halves(self.t_s - line.span_s, self.t_s)
        if halves is None or line.span_s < _HALVED_S:
            return True
        error = hypot(*map(self.error_c_per_h, halves))
        slacks = (halves[0].slope_c_per_s - halves[1].slope_c_per_s) * 3600 * way
        return slacks < _BENT_ERRORS * error + _BENT_SHARE * abs(line.slope_c_per_s) * 3600

    def error_c_per_h(self, line: Line) -> float:
        """Return the standard error of a line's slope [°C/h], from the noise and wander measured so far."""
        return self.trail.slope_error(line, self.wander_k, WANDER_MEMORY_S) * 3600
