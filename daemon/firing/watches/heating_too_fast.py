"""A climb that is faster than planned while the glass is brittle, or so fast that the kiln may not stop."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import takewhile
from math import inf

from daemon.firing.detection.fast_climb import stands, unexplained_climb
from daemon.firing.detection.hold_level import FAR_K
from daemon.firing.detection.over_limit import UNKNOWN_MARGIN_K
from daemon.firing.detection.rate_test import LURCH_BELOW_C, surest
from daemon.firing.events import Rank, Text
from daemon.firing.kind import AtBeats, Example, Family, Finding, Kind
from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.situation.view import View
from daemon.firing.speaker import CLOSED, ELECTRIC, ISOLATOR_UNLESS, Speaker
from daemon.glass.common_practice import brittle_below_c

TOLERANCE = 1.3
"""A climb is too fast beyond this many times its planned rate. [chosen: well past what any controller is off by]"""
_LURCH_S = 1200.0
"""A cold kiln climbs in lurches for so long before it follows its controller [s]. [common practice]"""
_RATE_S = 300.0
"""The rate of a climb that was found is told over so long [s]. [chosen: steady to a few °C/h]"""
_SETTLES_S = 120.0
"""After a change to another step no slope is taken for so long [s]. [tuned: by trial on the bench, study not kept]"""


@dataclass(frozen=True, slots=True)
class HeatingTooFast:
    """A climb that is faster than planned."""

    rate_c_per_h: float
    planned_c_per_h: float
    temp_c: float
    brittle_below_c: float
    """Below this a fast climb can crack the glass [°C]."""
    is_borne: bool = False
    """Whether a fused piece of this thickness ordinarily bears it (daemon/firing/consequence.py)."""
    may_not_stop: bool = False
    """Whether it goes on as no step of the plan does, so that the kiln may not obey its controller."""


class HeatingTooFastWatch:
    """Sees every beat; remembers a climb that no step of the plan explains until the kiln stops or passes its hold.

    A kiln that passes its hold is told as over-temperature.
    """

    def __init__(self) -> None:
        self._unasked: Finding[HeatingTooFast] | None = None
        self._until_c = inf
        """Up to which temperature it is told here [°C]."""

    def see(self, view: View) -> Finding[HeatingTooFast] | None:
        """Return the climb that may not stop, else one that is too fast for brittle glass; None without either."""
        if self._unasked is not None and (view.temp_c > self._until_c or stands(view, self._unasked.since_s)):
            self._unasked = None
        self._unasked = self._goes_on(view) if self._unasked is not None else self._begins(view)
        return self._unasked or heating_too_fast(view)

    def _begins(self, view: View) -> Finding[HeatingTooFast] | None:
        """Return the wake for a climb that no step of the plan explains; None without one."""
        climb = unexplained_climb(view)
        if climb is None:
            return None
        # The highest that the plan still climbs to without a hold on the way.
        up = takewhile(lambda part: part.direction > 0, view.parts[0 if view.part is None else view.part.index:])
        self._until_c = max((part.to_c for part in up), default=0.0) + UNKNOWN_MARGIN_K + view.offset_k
        if view.temp_c > self._until_c:
            return None
        facts = HeatingTooFast(climb.rate_c_per_h, climb.planned_c_per_h, view.temp_c, brittle_below_c(view.glass),
                               may_not_stop=True)
        return Finding(KIND, Rank.WAKE, climb.since_s, facts, None if view.part is None else view.part.step,
                       severity_c=view.temp_c)

    def _goes_on(self, view: View) -> Finding[HeatingTooFast] | None:
        """Return the climb found before, with the present temperature and rate."""
        found, line = self._unasked, view.line(_RATE_S, view.resumed_s)
        if found is None or line is None:
            return found
        facts = replace(found.facts, temp_c=view.temp_c, rate_c_per_h=max(0.0, line.slope_c_per_s * 3600))
        return replace(found, facts=facts, severity_c=view.temp_c)


def heating_too_fast(view: View) -> Finding[HeatingTooFast] | None:
    """Return the finding where a climb is surely faster than TOLERANCE times its plan while the glass is brittle.

    Brittle glass cracks where its face gets too far ahead of its core. A plan has a margin of its own, so that most
    of these are no more than a look: whether it wakes is decided by what this thickness bears
    (daemon/firing/consequence.py).

    Nothing is raised below LURCH_BELOW_C and in the first minutes of the first step, where a cold kiln lurches; nor
    above the brittle temperature; nor for a free climb, which has no rate. Near the end of a step the next one's rate
    is allowed as well, since the controller may have gone on to it. Far below the temperature at which the present
    step begins, the rate of the step that belongs to this temperature counts: see _asked_here.
    """
    part = view.part
    if part is None or part.direction <= 0 or part.rate_c_per_h is None:
        return None
    brittle_c = brittle_below_c(view.glass)
    if not LURCH_BELOW_C < view.temp_c < brittle_c:
        return None
    not_before_s = max(view.part_start_s + _LURCH_S, view.resumed_s) if part.index == 0 else \
        max(view.part_start_s + _SETTLES_S, view.resumed_s)
    after = view.next_part
    rate = min(part.rate_c_per_h, _asked_here(view, part))
    if after is not None and after.direction > 0 and view.temp_c - view.offset_k > part.to_c - view.near_k:
        rate = max(rate, after.rate_c_per_h or inf)
    found = surest(view, TOLERANCE * rate, not_before_s, way=1)
    if found is None:
        return None
    facts = HeatingTooFast(found.c_per_h, rate, view.temp_c, brittle_c)
    return Finding(KIND, Rank.WAKE, found.since_s, facts, part.step, severity_c=view.temp_c)


def _asked_here(view: View, climb: PlannedPart) -> float:
    """Return the plan's rate at this temperature [°C/h] if that is far below where ``climb`` begins; else infinity.

    The follower goes by slopes: a kiln that climbs too fast in one step looks as if it were in a later, faster one.
    But it cannot be there while it is FAR_K below that step's first temperature.
    """
    temp_c = view.temp_c - view.offset_k
    if temp_c > climb.from_c - FAR_K:
        return inf
    # The first part that leads above it is a climb: the one before, or the room, ended below.
    return next((part.rate_c_per_h or inf for part in view.parts[:climb.index] if temp_c < part.to_c), inf)


_UNLESS = ("Does it climb on as fast? Switch off at the isolator, the kiln's main switch. A controller's switch can "
           "stick.")


def _words(finding: Finding[HeatingTooFast], speaker: Speaker) -> Text:
    facts = finding.facts
    planned = speaker.rate(facts.planned_c_per_h)
    if facts.may_not_stop:
        here, rate = speaker.temp(facts.temp_c), speaker.rate(facts.rate_c_per_h)
        return speaker.text(
            what=f"Kiln may not stop, {here} and climbing {rate}. The plan asks {planned}.",
            head=f"The kiln may not stop. It climbs {rate}; the plan asks {planned}.",
            meaning="No step of the plan climbs so fast. The power may no longer switch off. Then the kiln gets "
                    "hotter than its top: the glass flows or boils, and the kiln itself can be damaged.",
            acts=(ISOLATOR_UNLESS, "Switched off? Let it cool closed. Fire it another day, once a licensed "
                                   "electrician has looked at the kiln.",
                  "Did the kiln stop when you stopped it? Look at its program: a rate may be wrong."),
            caution=ELECTRIC, time_left_s=0.0,
        )
    return speaker.text(
        what=f"Heating too fast, {speaker.rate(facts.rate_c_per_h)}, planned {planned}. The kiln is at "
             f"{speaker.temp(facts.temp_c)}.",
        head=f"Heating too fast: planned {planned}.",
        meaning=f"Below {speaker.temp(facts.brittle_below_c)} a fast climb can crack the piece. A fused plate of "
                f"{speaker.thickness_mm:g} mm cracks more easily than loose layers"
                f"{'' if facts.is_borne else ', and does not usually bear so fast a climb'}.",
        acts=("Look at the rate that is keyed in. Slow it to the plan.", *(() if facts.is_borne else (_UNLESS,))),
        caution=CLOSED,
    )


KIND = Kind(
    name="heating-too-fast",
    watch=AtBeats(lambda setup: HeatingTooFastWatch().see),
    words=_words,
    examples=(
        Example(HeatingTooFast(400.0, 150.0, 300.0, 540.0, is_borne=True), "as fast as the piece bears", Rank.LOOK),
        Example(HeatingTooFast(2100.0, 150.0, 300.0, 540.0), "far faster"),
        Example(HeatingTooFast(770.0, 220.0, 420.0, 540.0, may_not_stop=True), "as no step of the plan climbs"),
    ),
    on_delay_s=60.0, off_delay_s=300.0,
    family=Family.PLAN,
    may_stand_under=("restarted", "sudden-drop", "over-temperature"),
)
