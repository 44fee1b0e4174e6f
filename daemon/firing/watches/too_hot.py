"""A kiln that is too hot, or may become so: what is known of it, and how it is told."""

from __future__ import annotations

from dataclasses import dataclass

from daemon.firing.detection.runaway import FALLS_C_PER_H
from daemon.firing.events import Text
from daemon.firing.kind import Finding
from daemon.firing.speaker import ANNEAL_LATER, CLOSED, ELECTRIC, ISOLATOR, ISOLATOR_UNLESS, Speaker


@dataclass(frozen=True, slots=True)
class TooHot:
    """A kiln that is, or will be, hotter than its plan's top."""

    temp_c: float
    over_k: float
    """How far it is above the top [K]; negative where it is about to pass it."""
    highest_c: float
    """The plan's top [°C]."""
    rate_c_per_h: float | None = None
    """How fast it climbs, where it is told ahead."""
    may_be_probe: bool = False
    """Whether it stands in its hold, and only the probe may read too hot."""


@dataclass(frozen=True, slots=True)
class ThroughHold:
    """A climb that goes on through a hold."""

    temp_c: float
    hold_c: float
    rate_c_per_h: float
    fastest_c_per_h: float | None = None
    """How fast it climbed at the most, where that was several times too fast; else None."""
    planned_c_per_h: float | None = None
    """What the plan asked there; None as before."""


@dataclass(frozen=True, slots=True)
class Runaway:
    """A climb, faster than the plan ever climbs, where it should fall."""

    temp_c: float
    rate_c_per_h: float
    fastest_c_per_h: float
    """The plan's fastest climb."""


Facts = TooHot | ThroughHold | Runaway


def words(finding: Finding[Facts], speaker: Speaker) -> Text:
    """Return how a kiln that is too hot, or may be, is told."""
    facts, temp = finding.facts, speaker.temp
    if isinstance(facts, ThroughHold) and facts.fastest_c_per_h is not None and facts.planned_c_per_h is not None:
        return _through_fast_words(facts, facts.fastest_c_per_h, facts.planned_c_per_h, speaker)
    if isinstance(facts, ThroughHold):
        return speaker.text(
            what=f"Passed its hold at {temp(facts.hold_c)}, now {temp(facts.temp_c)} and climbing. It did not stop "
                 f"there, and climbs {speaker.rate(facts.rate_c_per_h)}.",
            head=f"The kiln passed its hold at {temp(facts.hold_c)} without stopping.",
            meaning="The hold may be skipped, another program may be running, or the kiln may not stop.",
            acts=("Look at the controller: which step, which target?",
                  "Is it not yours? Stop it there.", "Does it not stop? Switch off at the isolator."),
            caution=CLOSED,
        )
    acts = (ISOLATOR, "Don't open the kiln; let it cool closed.", ANNEAL_LATER)
    if isinstance(facts, Runaway):
        climbs = facts.rate_c_per_h >= FALLS_C_PER_H
        what = (f"Running away, {temp(facts.temp_c)} and climbing; isolator off. It climbs "
                f"{speaker.rate(facts.rate_c_per_h)}; from here the plan only cools.")
        why = (f"No step of the plan climbs faster than {speaker.rate(facts.fastest_c_per_h)}: the power does not "
               "switch off." if climbs else "It climbed, and no step asked for that: the power may still be on.")
        return speaker.text(
            what=what if climbs else f"Ran away, {temp(facts.temp_c)} and not cooling; isolator off. From here the "
                                     "plan only cools.",
            head=f"{'Running' if climbs else 'Ran'} away. Switch off at the isolator. From here the plan only cools.",
            meaning=f"{why} The glass softens again; the kiln itself can be damaged.",
            acts=acts, caution=ELECTRIC, time_left_s=0.0,
        )
    if isinstance(facts, TooHot) and facts.may_be_probe:
        return _may_be_probe_words(facts, speaker)
    rising = f" It climbs {speaker.rate(facts.rate_c_per_h)}." if facts.rate_c_per_h else ""
    top = temp(facts.highest_c)
    over = f"{speaker.difference(abs(facts.over_k))} {'above' if facts.over_k >= 0 else 'below'}"
    name = "Kiln too hot" if facts.over_k >= 0 else "Too hot soon"
    return speaker.text(
        what=f"{name}, {temp(facts.temp_c)} (top {top}); isolator off. It is {over} the plan's top.{rising}",
        head=f"{name}: {over} the plan's top of {top}. Switch off at the isolator.",
        meaning="The kiln may be running away. The glass flows, sticks or boils; the kiln itself can be damaged.",
        acts=acts, caution=ELECTRIC, time_left_s=0.0,
    )


def _may_be_probe_words(facts: TooHot, speaker: Speaker) -> Text:
    """Return the words for a kiln that holds above its plan's top, by a probe that may only read too hot."""
    here, over, top = speaker.temp(facts.temp_c), speaker.difference(facts.over_k), speaker.temp(facts.highest_c)
    return speaker.text(
        what=f"Sensor reads {here}, {over} above the top of {top}. The kiln is in its hold and hardly climbs.",
        head=f"The sensor reads {over} above the plan's top of {top}. The kiln is in its hold.",
        meaning="The sensor may read higher than the controller's in its place, or the kiln is too hot.",
        acts=("In the morning, look at the piece. Is it as planned? Then Lehrling's sensor probably reads higher "
              f"than the controller's: note these {over}.",
              "Tonight, if you are up: read the kiln's display. Is it above its own target too? Switch off at the "
              "isolator."),
        caution=CLOSED,
    )


def _through_fast_words(facts: ThroughHold, fastest_c_per_h: float, planned_c_per_h: float, speaker: Speaker) -> Text:
    """Return the words for a kiln that climbed too fast and passed its hold: it may not stop."""
    here, hold = speaker.temp(facts.temp_c), speaker.temp(facts.hold_c)
    return speaker.text(
        what=f"Kiln may not stop, {here} and climbing. It passed its hold at {hold} and climbs "
             f"{speaker.rate(facts.rate_c_per_h)}.",
        head=f"The kiln may not stop. It passed its hold at {hold}.",
        meaning=f"Before, it climbed {speaker.rate(fastest_c_per_h)}, planned {speaker.rate(planned_c_per_h)}. The "
                "power may no longer switch off. The glass flows, sticks or boils; the kiln itself can be damaged.",
        acts=(ISOLATOR_UNLESS, f"Switched off? Let it cool closed. {ANNEAL_LATER}",
              "Did the kiln stop when you stopped it? Look at its program: a hold may be missing, a rate wrong."),
        caution=ELECTRIC, time_left_s=0.0,
    )
