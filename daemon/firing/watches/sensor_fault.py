"""The thermocouple gives no temperature, or one that no kiln has.

The chip says that the probe is open, shorted or out of range: a look after half a minute, and a wake after four
where a missed minute can cost the piece. Or the readings step down to where no air of the kiln can be, as where the
wires touch outside the kiln, or the probe was pulled out: a look at once, and a wake once that stays
(daemon/firing/detection/steps/step_down.py). Or a step down that woke stays for twenty minutes, and the kiln does not
fall on. Or they lie below any room, as two swapped wires give in a warming kiln: that never wakes, since it shows
while the kiln is still cold. Or they climb beyond what any kiln for glass can bear: the chip is set to another type,
and the scale was wrong from the first reading. That wakes, as any blindness, where a missed minute can cost the
piece. Until then they look like a kiln that does not stop; that alert then takes this name.

Weighed: to tell the type from the first climb, since its table says by what factor each reading climbs too fast. Of
simulated climbs the factors lie within 10 % of that only above 200 °C, where a type S table makes 3.3 to 4.8 of the
planned rate; and full power into a cold kiln gives as much, which slackens in the same way. Nobody may take a kiln
that does not stop for a wrong table.

Entries behind which there is no reading at all are told as readings-missing. How long the blindness has lasted is
counted in daemon/firing/detection/blindness.py.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from daemon.firing.detection.blindness import SwappedLeads
from daemon.firing.durations import in_speech
from daemon.firing.events import Rank, Text
from daemon.firing.example_firing import ANNEAL
from daemon.firing.kind import AtReadings, Example, Family, Finding, Kind, OfGlass, Reading, Stage, Vaguer
from daemon.firing.situation.by_the_clock import ByClock
from daemon.firing.situation.probe_doubt import Cause, FalseReading
from daemon.firing.speaker import (
    AFTER_LID,
    CLOSE_LID,
    ELECTRIC,
    NOT_WATCHED,
    OWN_DISPLAY,
    SENSOR_OUTSIDE,
    STOP_THEN_CLOSE,
    KeyIn,
    Speaker,
    Undone,
)
from daemon.firing.watches.sudden_drop import is_glass_cold
from daemon.glass.common_practice import brittle_below_c


@dataclass(frozen=True, slots=True)
class Blind:
    """No temperature."""

    blind_s: float
    """For how long [s]."""
    last_c: float | None
    """The last temperature before it [°C]; None where there was none."""
    is_over: bool = False
    """Whether there is a temperature again."""
    clock: ByClock | None = None
    """Where the plan is by its clock; None where that is not known."""


@dataclass(frozen=True, slots=True)
class ColderThanRoom:
    """Readings below any room: the two wires are swapped."""

    temp_c: float


@dataclass(frozen=True, slots=True)
class HotterThanKiln:
    """Readings hotter than any kiln for glass: by the table of another type of thermocouple."""

    temp_c: float
    """The hottest of them."""


@dataclass(frozen=True, slots=True)
class ColderThanAir:
    """Readings that stepped down to where no air of the kiln can be."""

    from_c: float
    temp_c: float
    stays: bool = False
    clock: ByClock | None = None
    """Where the plan is by its clock; None where that is not known."""


@dataclass(frozen=True, slots=True)
class Elsewhere:
    """Readings that stepped down and stayed, in a kiln that does not fall on: they are of another place."""

    from_c: float
    temp_c: float
    clock: ByClock | None = None
    """Where the plan is by its clock; None where that is not known."""
    is_cold: bool = False
    """Whether the glass may be brittle by now if the lid is open, so that it must not be reheated fast."""
    undone: Undone | None = None
    """What of the plan was left undone, where the glass may be cold and that is known."""


Facts = Blind | ColderThanRoom | HotterThanKiln | ColderThanAir | Elsewhere


def sensor_fault(now: Reading, brittle_c: float) -> Finding[Facts] | None:
    """Return the finding while the thermocouple gives no temperature, or none that a kiln can have.

    Below ``brittle_c`` [°C] the glass is brittle.
    """
    outage, drop = now.outage, now.drop
    if now.too_hot_for_any is not None:
        since_s, hottest_c = now.too_hot_for_any
        rank = Rank.WAKE if now.is_blindness_dangerous else Rank.LOOK
        return Finding(KIND, rank, since_s, HotterThanKiln(hottest_c))
    if isinstance(outage, SwappedLeads):
        return Finding(KIND, Rank.LOOK, outage.since_s, ColderThanRoom(outage.temp_c))
    if drop is not None and drop.not_air:
        clock = now.by_the_clock(drop.since_s, now.sample.t_s)
        facts = ColderThanAir(drop.from_c, drop.temp_c, drop.stays, clock)
        return Finding(KIND, Rank.WAKE if drop.stays else Rank.LOOK, drop.since_s, facts)
    if drop is not None and drop.is_elsewhere:
        clock = now.by_the_clock(drop.since_s, now.sample.t_s)
        is_cold = is_glass_cold(now, drop, brittle_c)
        undone = now.undone_at(drop.since_s) if is_cold else None
        return Finding(KIND, Rank.WAKE, drop.since_s, Elsewhere(drop.from_c, drop.temp_c, clock, is_cold, undone))
    if outage is None or not outage.is_fault:
        return None
    return Finding(KIND, outage.rank(dangerous=now.is_blindness_dangerous), outage.since_s,
                   Blind(outage.lasted_s, outage.last_c, clock=now.by_the_clock(outage.since_s, now.sample.t_s)))


def sees_again(facts: Facts) -> Facts:
    """Return the facts as they are told once there is a temperature again, while the alert still stands a while."""
    return replace(facts, is_over=True) if isinstance(facts, Blind) else facts


def blind_text(facts: Blind, speaker: Speaker, what: str, why: str) -> Text:
    """Return the words for blindness: ``what`` is missing and ``why``; readings-missing is told by them too."""
    if facts.is_over:
        return _back_text(facts, speaker)
    last = "" if facts.last_c is None else f" The last was {speaker.temp(facts.last_c)}."
    head = f"{what} for {in_speech(facts.blind_s)}: Lehrling is blind."
    return speaker.text(
        what=f"{head}{last}", head=f"{head}{last}", meaning=f"{why} The kiln may still be hot. {NOT_WATCHED}",
        acts=(OWN_DISPLAY, speaker.display_tells(facts.clock), SENSOR_OUTSIDE), caution=ELECTRIC,
    )


def _back_text(facts: Blind, speaker: Speaker) -> Text:
    """Return the words once there is a temperature again."""
    last = "" if facts.last_c is None else f" The last before was {speaker.temp(facts.last_c)}."
    head = f"Readings are back after {in_speech(facts.blind_s)}.{last}"
    return speaker.text(
        what=head, head=head,
        meaning="The sensor gave nothing, or Lehrling was off. Nothing watched the kiln meanwhile.",
        acts=("Read the kiln's own display. If it says something else than Lehrling, believe the display.",),
        caution=ELECTRIC,
    )


def _words(finding: Finding[Facts], speaker: Speaker) -> Text:
    facts = finding.facts
    if isinstance(facts, Blind):
        return blind_text(facts, speaker, "No temperature", "The sensor failed.")
    if isinstance(facts, ColderThanAir):
        here, was = speaker.temp(facts.temp_c), speaker.temp(facts.from_c)
        stays = " It has not come back." if facts.stays else ""
        return speaker.text(
            what=f"Sensor failed or was pulled out? {here}, was {was}.{stays}",
            head=f"Sensor failed or was pulled out? It read {was} before that.{stays}",
            meaning="Not even an open lid makes the air so cold. " + NOT_WATCHED,
            acts=(OWN_DISPLAY, speaker.display_tells(facts.clock), "The sensor can wait until the kiln is cold."),
            caution=ELECTRIC,
        )
    if isinstance(facts, Elsewhere):
        return _elsewhere_text(facts, speaker)
    if isinstance(facts, HotterThanKiln):
        return _hotter_text(facts, speaker)
    what = f"Sensor reads {speaker.temp(facts.temp_c)}, colder than any studio."
    return speaker.text(
        what=what, head=what,
        meaning=f"Its two wires are probably swapped, so that it falls as the kiln climbs. {NOT_WATCHED}",
        acts=(OWN_DISPLAY, "Once the kiln is cold and unplugged, swap the two wires at the plug, outside the kiln."),
        caution=ELECTRIC,
    )


def _elsewhere_text(facts: Elsewhere, speaker: Speaker) -> Text:
    """Return the words for readings of another place: of air under an open lid, or of where the sensor lies now."""
    was = speaker.temp(facts.from_c)
    acts: tuple[str | KeyIn, ...] = (f"Look from a distance: is the lid open? {CLOSE_LID}",
                                     f"{OWN_DISPLAY} {speaker.display_tells(facts.clock, is_lid_told=True)}")
    meaning = "It says nothing of the glass any more."
    if facts.is_cold:
        keys = speaker.key_in_after_lid(facts.undone, facts.from_c)
        acts = (STOP_THEN_CLOSE, keys.after("Was it open?"), AFTER_LID)
        meaning = "Under an open lid the glass is cold and brittle by now. Reheated fast, it cracks."
    return speaker.text(
        what=f"Sensor moved, or lid open? {speaker.temp(facts.temp_c)}, was {was}.",
        head=f"Sensor moved, or lid open? It fell from {was} and stays down.",
        meaning=f"{meaning} {NOT_WATCHED}", acts=acts, caution=ELECTRIC,
    )


def _hotter_text(facts: HotterThanKiln, speaker: Speaker) -> Text:
    """Return the words for readings that no kiln for glass bears."""
    return speaker.text(
        what=f"Wrong sensor type? {speaker.temp(facts.temp_c)}, too hot for any kiln.",
        head="Wrong sensor type? It read too hot for any kiln.",
        meaning="Lehrling is probably set to another type than the sensor is. Then all readings of this firing are "
                "false, and the kiln is perhaps fine. Lehrling does not watch it.",
        acts=(OWN_DISPLAY,
              "Is it far above the plan there too? Switch off at the isolator, the kiln's main switch.",
              "In the morning, compare the mark on the sensor with the type that is set. Touch nothing at a hot "
              "kiln."),
        caution=ELECTRIC,
    )


def _false_reading(facts: Facts) -> FalseReading | None:
    """Return what was read falsely; None where nothing was read at all."""
    if isinstance(facts, ColderThanAir | Elsewhere):
        return FalseReading(Cause.FELL, facts.from_c)
    return FalseReading(Cause.COLDER_THAN_ROOM) if isinstance(facts, ColderThanRoom) else None


def _is_scale(facts: Facts) -> bool:
    """Return whether the scale is false, so that what looked too hot was not."""
    return isinstance(facts, HotterThanKiln)


KIND: Kind[Facts] = Kind(
    name="sensor-fault",
    title="sensor failed",
    watch=AtReadings(Stage.ENTRY, lambda setup: OfGlass(sensor_fault, brittle_below_c(setup.glass)).see),
    words=_words,
    examples=(
        Example(Blind(30.0, 798.0), "soon"),
        Example(Blind(600.0, None, clock=ByClock(516.0, 516.0)), "after ten minutes"),
        Example(HotterThanKiln(1763.0), "hotter than any kiln"),
        Example(ColderThanAir(800.0, 60.0, stays=True), "colder than air in the kiln can be"),
        Example(Elsewhere(800.0, 700.0, ByClock(800.0, 800.0)), "a drop that stays for twenty minutes"),
        Example(Elsewhere(515.0, 423.0, ByClock(461.0, 516.0), is_cold=True, undone=Undone(ANNEAL, 1200.0, 423.0)),
                "the same, where the glass is cold by it"),
    ),
    once_unseen=sees_again,
    on_delay_s=0.0, off_delay_s=60.0,  # its seconds of blindness are counted before it is found
    family=Family.BLIND,
    explains=(Family.PLAN,),
    may_replace=(
        Vaguer("sudden-drop", float("inf")),  # a step that stands for twenty minutes is that same step
        *(Vaguer(name, float("inf"), for_facts=_is_scale) for name in ("over-temperature", "heating-too-fast")),
    ),
    is_of_probe=True,
    disbelieves=_false_reading,
)
