"""What a watch may look at: the firing as it stands at one moment."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import hypot

from daemon.firing.events import Part, Rank
from daemon.firing.plan.plan import Plan
from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.trace.recent import Trail
from daemon.firing.tracking.wander import WANDER_MEMORY_S
from daemon.glass.materials import Glass
from daemon.regression import Line

TOP_NEAR_C = 8.0
"""A top is as good as reached this close to its greatest height [K]."""
_CREST_K = 12.0
"""A top crept up to, looked into or sagging is held while the kiln is this near its greatest height [K]; by trial."""
NEVER_NEAR_K = 40.0
"""A kiln that stayed so far below its top never was in it [K]."""
SWINGS_K = 25.0
"""So far a kiln cooled by its vents may fall past a hold before its controller has it again [K]; common practice."""
STOOD_C = 6.0
"""A kiln that stayed within this of one temperature held it [K]."""
_HALVED_S = 100.0
"""Half of a shorter window tells nothing [s]."""
_BENT = 2.5
"""Standard errors by which the halves of a line must differ to make it none."""


def near_c(*, known: bool) -> float:
    """Return how closely a target can be told from the readings [K], the usual difference ``known`` or not."""
    return 8.0 if known else 14.0


@dataclass(frozen=True, slots=True)
class Finding:
    """One watch sees its trouble now.

    Attributes
    ----------
    kind
        The alert kind.
    rank
        How loud it is at this moment.
    since_s
        When it began, as well as the trace tells [s].
    step
        The plan's step it belongs to.
    facts
        The figures the words need.
    severity_c
        A temperature that grows as it gets worse [°C]; 10 more sounds again after an acknowledgement.
    name
        What the words need a name for, another plan's title.
    """

    kind: str
    rank: Rank
    since_s: float
    step: int | None = None
    facts: dict[str, float] = field(default_factory=dict)
    severity_c: float = 0.0
    name: str = ""


@dataclass(frozen=True, slots=True)
class Interruption:
    """Where a firing broke off: when, in which planned part, how much of it was held, from which temperature."""

    t_s: float
    index: int
    held_s: float
    from_c: float
    """As the probe read [°C]."""
    back_s: float | None = None
    """When the readings came back, where the break lies in a hole of them [s]."""


@dataclass(slots=True)
class View:
    """The firing at ``t_s``; temperatures [°C] as the probe reads less the owner's offset."""

    t_s: float
    temp_c: float
    trail: Trail
    wander_c: float
    plan: Plan
    parts: tuple[PlannedPart, ...]
    anneal: PlannedPart | None
    top: PlannedPart | None
    glass: Glass
    thickness_mm: float
    faces: int
    state: int
    """The follower's state: 0 before the plan, 1…n its parts, n + 1 after."""
    found: tuple[Part, ...]
    offset_c: float
    """Usual difference of probe and plan [K], 0 where unknown."""
    offset_known: bool
    peak_c: float
    resumed_s: float
    """When readings last came back after a hole, or settled after a step; no slope reaches over it."""
    first_c: float
    """The firing's first temperature [°C]."""
    first_s: float
    """When that was read [s]: a trace may begin at any second."""
    offset_elsewhere_c: float | None
    """Usual difference without what the present hold says [K]; None where no other hold is known."""
    haze_s: float
    planned_haze_s: float
    vents: bool = False
    """Whether a step down stands that may be a vent opened to cool faster."""
    broken: Interruption | None = None
    """Where the firing broke off, until that is long past."""
    dropped_s: float | None = None
    """When a sudden drop was last seen [s]."""
    part: PlannedPart | None = field(init=False)
    """The part the kiln is in; None before and after the plan."""

    def __post_init__(self) -> None:
        self.part = self.parts[self.state - 1] if 1 <= self.state <= len(self.parts) else None

    @property
    def phase(self) -> str:
        """Return the phase of the firing: before, climb, top, fall, anneal, cooling or after."""
        part = self.part
        if part is None:
            return "before" if self.state == 0 else "after"
        if any(later.direction > 0 for later in self.parts[part.index:]):
            return "climb"
        if self.top is not None and part.index <= self.top.index:
            return "top"
        if self.anneal is None or part.index < self.anneal.index:
            return "fall"
        return "anneal" if part.index == self.anneal.index else "cooling"

    @property
    def present_hold(self) -> Part | None:
        """Return the hold the kiln is in, as it ran so far; None in a ramp."""
        part, found = self.part, self.found
        if part is None or part.part != "hold" or not found or found[-1].index != part.index:
            return None
        return found[-1]

    @property
    def next_part(self) -> PlannedPart | None:
        """Return the part that comes next; None at the end."""
        return self.parts[self.state] if self.state < len(self.parts) else None

    @property
    def part_start_s(self) -> float:
        """Return when the present part began [s]; 0 before the plan."""
        return self.found[-1].start_s if self.found else 0.0

    @property
    def near_c(self) -> float:
        """Return how closely a target can be told from the readings [K]."""
        return near_c(known=self.offset_known)

    @property
    def unreached_top(self) -> PlannedPart | None:
        """Return the top that the kiln never came near, though the follower has passed it; None otherwise."""
        top, part = self.top, self.part
        if top is None or part is None or part.index <= top.index or top.index == 0:
            return None
        seen_from_cold = self.first_c < top.to_c / 2
        return top if seen_from_cold and self.peak_c - self.offset_c < top.to_c - NEVER_NEAR_K else None

    @property
    def swings_to_anneal(self) -> bool:
        """Return whether the kiln may only swing into its anneal: a vent was open, and it is not far from there."""
        anneal = self.anneal
        return anneal is not None and self.vents and abs(self.temp_c - self.offset_c - anneal.to_c) < SWINGS_K

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
        if self.temp_c - self.offset_c > planned.to_c + self.near_c:
            return rate
        if planned.index == len(self.parts) - 1:
            return float("inf")  # the plan is as good as done, and the power goes off
        after = self.next_fall(planned.index)
        if after is None:
            return rate
        return max(rate, abs(after.rate_c_per_h) if after.rate_c_per_h is not None else float("inf"))

    def dwell_s(self, hold: PlannedPart, until_s: float) -> float:
        """Return how long the readings stood near a hold's target before ``until_s`` [s].

        Near its target, or near where they stood at the end, whichever is longer: how the probe differs may
        not be known yet. What the planned approach itself takes through that nearness is taken off. It needs
        no follower, so it settles whether a short hold was held where the follower came late.
        """
        at_end = self.trail.line(until_s - 60.0, until_s + 1.0)
        levels = [(hold.to_c + self.offset_c, self.near_c)]
        if at_end is not None and abs(at_end.mean_c - levels[0][0]) < 2.0 * self.near_c:
            levels.append((at_end.mean_c, STOOD_C))
        stood_s = max(self._stood_s(level_c, near_c, hold, until_s) for level_c, near_c in levels)
        after = self.parts[hold.index + 1] if hold.index + 1 < len(self.parts) else None
        if hold.index and self.parts[hold.index - 1].direction > 0 and after and after.direction < 0:
            return max(stood_s, self._at_height_s(hold, until_s))
        return stood_s

    def _at_height_s(self, hold: PlannedPart, until_s: float) -> float:
        """Return how long a top left at about ``until_s`` was as good as reached [s], whatever came between.

        A lid opened for a look, or a kiln that crawls to its top, leaves no level to measure; the first and the
        last time near the greatest height remain, the last one even where a look was taken for the end.
        """
        trail = self.trail
        first, last = trail.index_at(until_s - 3.0 * hold.duration_s - 1800.0), trail.index_at(until_s)
        if last <= first:
            return 0.0
        level_c = max(trail.temps[first:last]) - _CREST_K
        entered_s = next(trail.times[i] for i in range(first, last) if trail.temps[i] >= level_c)
        left_s = self.last_at_or_above(level_c, entered_s)
        return max(0.0, (until_s if left_s is None else left_s) - entered_s - self._passing_s(hold, _CREST_K))

    def _passing_s(self, hold: PlannedPart, near_c: float) -> float:
        """Return how long the planned approach to a hold takes through ``near_c`` [s]; 0 where it is free."""
        approach = self.parts[hold.index - 1].rate_c_per_h if hold.index else None
        return near_c / abs(approach) * 3600 if approach else 0.0

    def _stood_s(self, level_c: float, near_c: float, hold: PlannedPart, until_s: float) -> float:
        trail = self.trail
        entered_s = until_s
        for i in range(trail.index_at(until_s) - 1, -1, -1):
            away = abs(trail.temps[i] - level_c)
            if away > 1.5 * near_c and trail.times[i] < until_s - 60.0:
                break
            if away <= near_c:
                entered_s = trail.times[i]
        return max(0.0, until_s - entered_s - self._passing_s(hold, near_c))

    def last_at_or_above(self, level_c: float, not_before_s: float = 0.0) -> float | None:
        """Return when the readings last stood at ``level_c`` or higher [s]; None within the trail's memory."""
        trail = self.trail
        for i in range(len(trail.times) - 1, trail.index_at(not_before_s) - 1, -1):
            if trail.temps[i] >= level_c:
                return trail.times[i]
        return None

    def line(self, window_s: float, not_before_s: float = 0.0) -> Line | None:
        """Return the line through the last ``window_s``, reaching back no further than ``not_before_s``.

        A slow logger's window is as long as three of its steps.
        """
        reach_s = 3 * self.trail.step_s
        from_s = self.t_s - (reach_s if reach_s > window_s else window_s)
        return self.trail.line(from_s if from_s > not_before_s else not_before_s)

    @property
    def rises(self) -> bool:
        """Return whether the last minute climbs: what stood open is closed again."""
        line = self.line(60.0, self.resumed_s)
        return line is not None and line.slope_c_per_s > 0.0

    def goes_on(self, line: Line, way: int) -> bool:
        """Return whether a line that ends now goes ``way`` (+1 up, −1 down) in its second half as in its first.

        A lid, a rebound after a vent or a handful of wild readings leave a line that seems to say much and is
        over already. One that only gathers pace, as at the end of a hold, goes on.
        """
        middle_s = self.t_s - line.span_s / 2
        first, second = self.trail.line(self.t_s - line.span_s, middle_s), self.trail.line(middle_s)
        if first is None or second is None or line.span_s < _HALVED_S:
            return True
        doubt = hypot(self.error_c_per_h(first), self.error_c_per_h(second))
        slacks = (first.slope_c_per_s - second.slope_c_per_s) * 3600 * way
        return slacks < _BENT * doubt + 0.5 * abs(line.slope_c_per_s) * 3600

    def error_c_per_h(self, line: Line) -> float:
        """Return the standard error of a line's slope [°C/h], from the noise and wander measured so far."""
        return self.trail.slope_error(line, self.wander_c, WANDER_MEMORY_S) * 3600
