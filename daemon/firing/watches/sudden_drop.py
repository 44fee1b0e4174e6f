"""A step down: a lid, a falling probe, or the first minute of something that will get its own name."""

from __future__ import annotations

from dataclasses import dataclass

from daemon.firing.detection.heat_under_air import VENT_S
from daemon.firing.events import Rank, Saying, Text
from daemon.firing.kind import AtReadings, Example, Finding, Kind, Reading, Stage
from daemon.firing.speaker import CLOSE_LID, ELECTRIC, Speaker


@dataclass(frozen=True, slots=True)
class SuddenDrop:
    """Readings that stand a step below where they were going."""

    from_c: float
    temp_c: float
    drop_k: float
    stays: bool = False


def sudden_drop(now: Reading) -> Finding[SuddenDrop] | None:
    """Return the finding while the readings stand a step below where they were going.

    An open lid, a probe that slipped, or the first minute of a power cut: one probe cannot tell which. A look, and a
    wake once it stays. What is no step, and where one may be a vent opened on purpose, is decided by
    daemon.firing.detection.step_down. A step to where no air of the kiln can be is told as sensor-fault,
    and so is one that stands long though the kiln does not fall on.
    """
    drop = now.drop
    if drop is None or drop.not_air or drop.is_elsewhere:
        return None
    facts = SuddenDrop(drop.from_c, drop.temp_c, drop.drop_k, drop.stays)
    return Finding(KIND, Rank.WAKE if drop.stays else Rank.LOOK, drop.since_s, facts, severity_c=drop.drop_k)


def _words(finding: Finding[SuddenDrop], speaker: Speaker) -> Text:
    facts = finding.facts
    here, was = speaker.temp(facts.temp_c), speaker.temp(facts.from_c)
    stays = " The reading has not come back." if facts.stays else ""
    return speaker.text(
        what=f"Lid open or sensor fell out? {here}, was {was}.{stays}",
        head=f"Lid open or sensor fell out? It was {was} before it fell.{stays}",
        meaning="It may also be the power: one sensor cannot tell yet.",
        acts=(f"Look from a distance: is the lid open? {CLOSE_LID}",
              "Read the kiln's own display. Is it steady there? Only Lehrling's sensor moved: it can wait until the "
              "kiln is cold.",
              "Does it fall as fast there, with the lid shut? The power is off, or the kiln's sensor is out and it "
              "heats unseen. Switch off at the isolator, the kiln's main switch, and leave it closed."),
        caution=ELECTRIC,
    )


KIND = Kind(
    name="sudden-drop",
    title="lid open or sensor out",
    watch=AtReadings(Stage.TEMPERATURE, lambda setup: sudden_drop),
    words=_words,
    examples=(
        Example(SuddenDrop(800.0, 700.0, 100.0), "at first"),
        Example(SuddenDrop(800.0, 700.0, 100.0, stays=True), "when it stays"),
    ),
    on_delay_s=0.0, off_delay_s=30.0,
    explained_by=(Saying.PEEKED, Saying.VENTED),
    may_stand_under=("firing-stopped",),
    may_be_probe=True,
    rises_within_s=VENT_S,  # a drop told as a look may be a vent
)
