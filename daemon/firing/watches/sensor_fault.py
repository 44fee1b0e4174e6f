"""The thermocouple gives no temperature, or one that no kiln has.

The chip says that the probe is open, shorted or out of range; or the readings lie below any room, as two swapped
wires give in a warming kiln. One of these is a look after half a minute, and wakes after four where a missed minute
can cost the piece. Swapped wires never wake: they show while the kiln is still cold.

Entries behind which there is no reading at all are told as readings-missing. How long the blindness has lasted is
counted in daemon/firing/detection/blindness.py.
"""

from __future__ import annotations

from dataclasses import dataclass

from daemon.firing.detection.blindness import SwappedLeads
from daemon.firing.durations import in_speech
from daemon.firing.events import Rank, Text
from daemon.firing.kind import AtReadings, Example, Family, Finding, Kind, Reading, Stage
from daemon.firing.situation.probe_doubt import Cause, FalseReading
from daemon.firing.speaker import ELECTRIC, NOT_WATCHED, OWN_DISPLAY, SENSOR_OUTSIDE, Speaker


@dataclass(frozen=True, slots=True)
class Blind:
    """No temperature."""

    blind_s: float
    """For how long [s]."""
    last_c: float | None
    """The last temperature before it [°C]; None where there was none."""


@dataclass(frozen=True, slots=True)
class ColderThanRoom:
    """Readings below any room: the two wires are swapped."""

    temp_c: float


def sensor_fault(now: Reading) -> Finding[Blind | ColderThanRoom] | None:
    """Return the finding while the thermocouple gives no temperature, or none that a kiln can have."""
    outage = now.outage
    if isinstance(outage, SwappedLeads):
        return Finding(KIND, Rank.LOOK, outage.since_s, ColderThanRoom(outage.temp_c))
    if outage is None or not outage.is_fault:
        return None
    return Finding(KIND, outage.rank(dangerous=now.is_blindness_dangerous), outage.since_s,
                   Blind(outage.lasted_s, outage.last_c))


def blind_text(facts: Blind, speaker: Speaker, what: str, why: str) -> Text:
    """Return the words for blindness: ``what`` is missing and ``why``; readings-missing is told by them too."""
    last = "" if facts.last_c is None else f" The last was {speaker.temp(facts.last_c)}."
    head = f"{what} for {in_speech(facts.blind_s)}: Lehrling is blind."
    return speaker.text(
        what=f"{head}{last}", head=f"{head}{last}", meaning=f"{why} The kiln may still be hot. {NOT_WATCHED}",
        acts=(OWN_DISPLAY, SENSOR_OUTSIDE), caution=ELECTRIC,
    )


def _words(finding: Finding[Blind | ColderThanRoom], speaker: Speaker) -> Text:
    facts = finding.facts
    if isinstance(facts, Blind):
        return blind_text(facts, speaker, "No temperature", "The sensor failed.")
    what = f"Sensor reads {speaker.temp(facts.temp_c)}, colder than any studio."
    return speaker.text(
        what=what, head=what,
        meaning=f"Its two wires are probably swapped, so that it falls as the kiln climbs. {NOT_WATCHED}",
        acts=(OWN_DISPLAY, "Once the kiln is cold and unplugged, swap the two wires at the plug, outside the kiln."),
        caution=ELECTRIC,
    )


KIND: Kind[Blind | ColderThanRoom] = Kind(
    name="sensor-fault",
    title="sensor failed",
    watch=AtReadings(Stage.ENTRY, lambda setup: sensor_fault),
    words=_words,
    examples=(Example(Blind(30.0, 798.0), "soon"), Example(Blind(600.0, None), "after ten minutes")),
    on_delay_s=0.0, off_delay_s=60.0,  # its seconds of blindness are counted before it is found
    family=Family.BLIND,
    explains=(Family.PLAN,),
    is_of_probe=True,
    disbelieves=lambda facts: (
        FalseReading(Cause.COLDER_THAN_ROOM) if isinstance(facts, ColderThanRoom) else None),
)
