"""There is no reading at all: the probe's chip does not answer, or the monitor was off.

While entries without a reading arrive it stands; missing rows are told by the first reading after them, as a look,
since they are over by then, and in words that say so. A thermocouple that the chip finds at fault is told as
sensor-fault. How long the blindness has lasted, and how late a row may be, is counted in
daemon/firing/detection/blindness.py.
"""

from __future__ import annotations

from dataclasses import replace

from daemon.firing.detection.blindness import Outage
from daemon.firing.events import Rank, Text
from daemon.firing.kind import AtReadings, Example, Family, Finding, Kind, Reading, Stage
from daemon.firing.speaker import Speaker
from daemon.firing.watches.sensor_fault import Blind, blind_text


def readings_missing(now: Reading) -> Finding[Blind] | None:
    """Return the finding while there is no reading, and at the first one after missing rows."""
    outage = now.outage
    if not isinstance(outage, Outage) or outage.is_fault:
        return None
    return Finding(KIND, outage.rank(dangerous=now.is_blindness_dangerous), outage.since_s,
                   Blind(outage.lasted_s, outage.last_c, outage.is_over,
                         now.by_the_clock(outage.since_s, now.sample.t_s)))


def _words(finding: Finding[Blind], speaker: Speaker) -> Text:
    return blind_text(finding.facts, speaker, "No reading",
                      "The sensor's chip does not answer, or Lehrling was off.")


KIND = Kind(
    name="readings-missing",
    title="no readings",
    watch=AtReadings(Stage.ENTRY, lambda setup: readings_missing),
    words=_words,
    examples=(Example(Blind(30.0, 798.0), "soon"), Example(Blind(86_400.0, None), "after a day"),
              Example(Blind(1200.0, 798.0, is_over=True), "once there are readings again", Rank.LOOK)),
    once_unseen=lambda facts: replace(facts, is_over=True),
    on_delay_s=0.0, off_delay_s=60.0,  # its seconds of blindness are counted before it is found
    family=Family.BLIND,
    may_stand_under=("sensor-fault",),
    is_of_probe=True,
)
