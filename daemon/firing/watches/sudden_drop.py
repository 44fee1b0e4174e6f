"""A step down: a lid, a falling probe, or the first minute of something that will get its own name."""

from __future__ import annotations

from dataclasses import dataclass

from daemon.firing.detection.step_down import VENT_S
from daemon.firing.events import Rank, Saying, Text
from daemon.firing.kind import AtReadings, Example, Finding, Kind, Reading, Stage
from daemon.firing.situation.probe_doubt import Cause, FalseReading
from daemon.firing.speaker import ELECTRIC, LID, Speaker


@dataclass(frozen=True, slots=True)
class SuddenDrop:
    """Readings that stand a step below where they were going."""

    from_c: float
    temp_c: float
    drop_k: float
    stays: bool = False
    leapt: bool = False
    """Whether they leapt as no kiln cools."""


def sudden_drop(now: Reading) -> Finding[SuddenDrop] | None:
    """Return the finding while the readings stand a step below where they were going.

    An open lid, a probe that slipped, or the first minute of a power cut: one probe cannot tell which. A look, and a
    wake once it stays. What is no step, and where one may be a vent opened on purpose, is decided by
    daemon.firing.detection.step_down.
    """
    drop = now.drop
    if drop is None:
        return None
    return Finding(KIND, Rank.WAKE if drop.stays else Rank.LOOK, drop.since_s,
                   SuddenDrop(drop.from_c, drop.temp_c, drop.drop_k, drop.stays, drop.leapt), severity_c=drop.drop_k)


def _words(finding: Finding[SuddenDrop], speaker: Speaker) -> Text:
    facts = finding.facts
    stays = ", and it stays down" if facts.stays else ""
    from_, here = speaker.temp(facts.from_c), speaker.temp(facts.temp_c)
    if facts.leapt:
        return Text(
            what=f"The probe leapt from {from_} to {here}{stays}.",
            meaning="No kiln cools so in seconds: the probe or its wires failed, or it was pulled out. Nothing "
                    "watches the firing while it reads this.",
            do=f"Read the kiln's own display. If that is steady, the firing goes on, and the probe can wait "
               f"until the kiln is cold. {ELECTRIC}",
        )
    return Text(
        what=f"Dropped {speaker.between(facts.from_c, facts.temp_c)}, from {from_} to {here}, within a minute or "
             f"two{stays}.",
        meaning="An opened lid, a probe that fell or was moved, or power gone: one probe can't tell yet.",
        do=f"Look from a distance whether the lid is shut. {LID} Compare with the kiln's own display: if that is "
           f"steady, the probe moved. {ELECTRIC}",
    )


KIND = Kind(
    name="sudden-drop",
    watch=AtReadings(Stage.TEMPERATURE, lambda setup: sudden_drop),
    words=_words,
    examples=(
        Example(SuddenDrop(800.0, 700.0, 100.0), "at first"),
        Example(SuddenDrop(800.0, 700.0, 100.0, stays=True), "when it stays"),
    ),
    on_delay_s=0.0, off_delay_s=30.0,
    explained_by=(Saying.PEEKED, Saying.VENTED),
    may_stand_under=("firing-stopped",),
    rises_within_s=VENT_S,  # a drop told as a look may be a vent
    disbelieves=lambda facts: FalseReading(Cause.FELL, facts.from_c) if facts.leapt else None,
)
