"""A step down: a lid, a falling probe, or the first minute of something that will get its own name.

Where the readings have stood for minutes in the range where the glass is brittle, shutting the lid is not the first
act any more. The controller sees a cold kiln under a shut lid and heats it with all its power, and cold glass cracks.
So the controller is stopped first, and the lines that reheat slowly are given (daemon/firing/recovery).
"""

from __future__ import annotations

from dataclasses import dataclass

from daemon.firing.detection.steps.heat_under_air import STILL_FALLING_S, VENT_S
from daemon.firing.detection.steps.step_down import Drop, falls_on
from daemon.firing.events import Rank, Saying, Text
from daemon.firing.example_firing import ANNEAL, TOP
from daemon.firing.kind import AtReadings, Example, Finding, Kind, Reading, Stage
from daemon.firing.speaker import AFTER_LID, CLOSE_LID, ELECTRIC, STOP_THEN_CLOSE, Speaker, Undone
from daemon.firing.trace.recent import Trail
from daemon.glass.common_practice import brittle_below_c, is_opened_here
from daemon.glass.materials import Glass

_COLD_S = 120.0
"""Readings that have been below where glass is brittle for so long are those of cold glass [s]. [chosen: as long as a
step that stays; the face of the glass follows the air within minutes]"""
_COLD_K = 40.0
"""A kiln that has fallen less than this is back before its glass has changed [K]. [chosen: ten minutes at the climb
that 6 mm ordinarily bears once it is fused]"""
_LOOK_LATER_S = 300.0
"""Where the piece cannot be lost by a look inside, a drop is told once it has lasted so long [s].
[chosen: longer than a look inside, and than a tooth of a controller that only switches]"""
_CLOSES_AT_LAST_S = 60.0
"""So long before VENT_S is over, a lid that has cost the anneal is told as that [s]. [chosen: before what follows
from it would be told by itself]"""
_BEFORE_S = 120.0
"""Whether the kiln fell before a step is told over so long [s]. [chosen: a welded contact may have turned a fall into
a climb minutes ago]"""


@dataclass(frozen=True, slots=True)
class SuddenDrop:
    """Readings that stand a step below where they were going."""

    from_c: float
    temp_c: float
    drop_k: float
    stays: bool = False
    is_cold: bool = False
    """Whether the glass may be brittle by now, so that it must not be reheated fast."""
    undone: Undone | None = None
    """What of the plan was left undone, where the glass is cold and that is known."""
    begins_fall: bool = True
    """Whether the readings fell on after the step, as those of a kiln without power, and had not fallen before it."""


class SuddenDropWatch:
    """Sees steps down of one load; see ``sudden_drop``."""

    def __init__(self, glass: Glass, thickness_mm: float) -> None:
        self._brittle_c, self._thickness_mm = brittle_below_c(glass), thickness_mm

    def see(self, now: Reading) -> Finding[SuddenDrop] | None:
        """Return what is found at this reading."""
        return sudden_drop(now, self._brittle_c, self._thickness_mm)


def sudden_drop(now: Reading, brittle_c: float, thickness_mm: float) -> Finding[SuddenDrop] | None:
    """Return the finding while the readings stand a step below where they were going.

    An open lid, a probe that slipped, or the first minute of a power cut: one probe cannot tell which. A look, and a
    wake once it stays. Before the top and after the anneal it is only noted at first: a look inside that is over
    leaves nothing to look at. Where makers open the kiln to let it cool it stays a note. What is no step, and where
    one may be a vent opened on purpose, is decided by daemon.firing.detection.steps.step_down. A vent that has cost
    the anneal is no vent any more: the lid is told, with the lines, and the lost anneal stands under it. A step to
    where no air of the kiln can be is told as sensor-fault, and so is one that stands long though the kiln does not
    fall on.

    Parameters
    ----------
    now
        The reading.
    brittle_c
        Below it the glass is brittle [°C].
    thickness_mm
        The thickest piece [mm].
    """
    drop = now.drop
    if drop is None or drop.not_air or drop.is_elsewhere:
        return None
    for_s = now.sample.t_s - drop.since_s
    stays = drop.stays or (now.is_anneal_lost and for_s >= VENT_S - _CLOSES_AT_LAST_S)
    is_cold = stays and is_glass_cold(now, drop, brittle_c)
    is_fall = falls_on(drop.since_s + STILL_FALLING_S, now.trail)
    facts = SuddenDrop(drop.from_c, drop.temp_c, drop.drop_k, stays, is_cold,
                       now.undone_at(drop.since_s) if is_cold else None,
                       is_fall and not _fell_before(drop, now.trail))
    may_cost = now.is_blindness_dangerous and not now.is_before_top
    is_usual = not now.is_before_top and is_opened_here(drop.from_c, thickness_mm)
    rank = Rank.LOOK if may_cost or (for_s >= _LOOK_LATER_S and not is_usual) else Rank.LOG
    if stays or (drop.has_stayed and not is_fall):
        rank = Rank.WAKE
    return Finding(KIND, rank, drop.since_s, facts, severity_c=drop.drop_k)


def _fell_before(drop: Drop, trail: Trail) -> bool:
    """Return whether the kiln fell already before a step; false where those readings are forgotten."""
    from_s = drop.since_s - _BEFORE_S
    return trail.line(from_s, drop.since_s) is not None and falls_on(from_s, trail, _BEFORE_S)


def is_glass_cold(now: Reading, drop: Drop, brittle_c: float) -> bool:
    """Return whether the glass may be cold and brittle by a step down that has stayed, below ``brittle_c`` [°C]."""
    recent = now.trail.temps[now.trail.index_at(now.sample.t_s - _COLD_S):]
    has_lasted = now.sample.t_s - drop.since_s >= _COLD_S
    return has_lasted and drop.drop_k >= _COLD_K and max(recent, default=drop.temp_c) < brittle_c


def _words(finding: Finding[SuddenDrop], speaker: Speaker) -> Text:
    facts = finding.facts
    here, was = speaker.temp(facts.temp_c), speaker.temp(facts.from_c)
    stays = " The reading has not come back." if facts.stays else ""
    what = f"Lid open or sensor fell out? {here}, was {was}.{stays}"
    if facts.is_cold:
        return speaker.text(
            what=f"Lid open or sensor fell out? {here}, was {was}.",
            head=f"Lid open or sensor fell out? It was {was} before it fell.",
            meaning="The glass may be cold and brittle by now. Reheated fast, it cracks. It may also be the power, "
                    "or only Lehrling's sensor moved.",
            acts=(STOP_THEN_CLOSE, speaker.key_in_after_lid(facts.undone, facts.from_c), AFTER_LID),
            caution=ELECTRIC,
        )
    return speaker.text(
        what=what,
        head=f"Lid open or sensor fell out? It was {was} before it fell.{stays}",
        meaning="It may also be the power: one sensor cannot tell yet.",
        acts=(f"Look from a distance: is the lid open? {CLOSE_LID}",
              "Read the kiln's own display. Is it steady there? Perhaps only Lehrling's sensor moved: it can wait "
              "until the kiln is cold.",
              "Does it fall as fast there, with the lid shut? The power is off, or the kiln's sensor is out and it "
              "heats unseen. Switch off at the isolator, the kiln's main switch, and leave it closed."),
        caution=ELECTRIC,
    )


KIND = Kind(
    name="sudden-drop",
    title="lid open or sensor out",
    watch=AtReadings(Stage.TEMPERATURE, lambda setup: SuddenDropWatch(setup.glass, setup.thickness_mm).see),
    words=_words,
    examples=(
        Example(SuddenDrop(800.0, 700.0, 100.0), "at first"),
        Example(SuddenDrop(800.0, 700.0, 100.0, stays=True), "when it stays"),
        Example(SuddenDrop(800.0, 430.0, 370.0, stays=True, is_cold=True, undone=Undone(TOP, 300.0, 430.0)),
                "when the glass is cold by it, from the top"),
        Example(SuddenDrop(517.0, 420.0, 97.0, stays=True, is_cold=True, undone=Undone(ANNEAL, 300.0, 420.0)),
                "when the glass is cold by it, from the anneal"),
    ),
    on_delay_s=0.0, off_delay_s=30.0,
    explained_by=(Saying.PEEKED, Saying.VENTED),
    may_stand_under=("firing-stopped",),
    # As firing-stopped: elements that were on all the time fall silent in a step, and the kiln falls from then on. A
    # probe that fell out of a kiln still heated stands still, or climbs; out of one that is off, it fell before.
    asked_for_by=("over-temperature",),
    is_act=lambda facts: facts.begins_fall,
    may_be_probe=True,
    rises_within_s=VENT_S,  # a drop told as a look may be a vent
)
