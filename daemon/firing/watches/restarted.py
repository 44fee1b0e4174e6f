"""Power that is back: a kiln found colder than it was left, or climbing again after it broke off."""

from __future__ import annotations

from dataclasses import dataclass, replace

from daemon.firing.detection.power_back import power_back
from daemon.firing.detection.runaway import holds_as_planned, since
from daemon.firing.events import IfNotKeyed, Rank, Text
from daemon.firing.example_firing import ANNEAL, FALL_TO_ANNEAL, TOP_RAMP
from daemon.firing.kind import AtBeats, Example, Family, Finding, Kind, Vaguer
from daemon.firing.recovery.recovery import PAST_MENDING_C, Mending, Place
from daemon.firing.recovery.recovery_text import STOP, broke_off, wants_stop
from daemon.firing.situation.view import View
from daemon.firing.speaker import CLIMBS_ON, CLOSED, ISOLATOR_UNLESS, KeyIn, Speaker, Undone, to_save_s

_FELL_K = 10.0
"""A smaller fall is not worth a word [K]. [chosen: less than the usual difference of probe and plan can be]"""
_HOLDS_FOR_S, _HOLDS_C_PER_H = 300.0, 30.0
"""A kiln holds that has moved more slowly than this [°C/h] for so long [s]. [chosen: half of the slowest climb
that plans have, and no more of it than a probe strays]"""
_BEGAN_AGAIN_S = 480.0
"""An alert for a fall takes this kind's name if the controller began again, and the climb came, within so long of it
[s]. [tuned: by trial on the bench, study not kept]
"""


@dataclass(frozen=True, slots=True)
class Restarted:
    """Power that is back: the kiln is colder than it was left, or climbs again."""

    temp_c: float
    lowest_c: float
    """The lowest it was meanwhile [°C]."""
    from_c: float
    """Where it was left [°C]."""
    undone: Undone | None
    """What was not done; None where nothing is known of before."""
    anneal_c: float | None = None
    """The plan's anneal hold; None where it has none."""
    dark: bool = False
    """Whether the readings were away as well."""
    fall_c_per_h: float | None = None
    """How fast it still falls, where it was dark."""
    beyond: bool = False
    """Whether the climb leads beyond all that the plan still has."""
    holds: bool = False
    """Whether the kiln has come back to where it broke off, and holds there."""


class RestartedWatch:
    """Sees power that is back; remembers a climb that leads beyond all that the plan still has.

    Such a climb stands until the kiln falls, or holds where the plan holds: what holds there is a program, not a
    welded contact. When power counts as back, daemon/firing/detection/power_back.py says.
    """

    def __init__(self) -> None:
        self._beyond: Finding[Restarted] | None = None

    def see(self, view: View) -> Finding[Restarted] | None:
        """Return the finding as it stands at this beat."""
        found = restarted(view)
        if self._beyond is None and found is not None and found.facts.beyond:
            self._beyond = found
        if self._beyond is not None and holds_as_planned(view):
            self._beyond = None
        self._beyond = _kept(self._beyond, view)
        return self._beyond or found


def _kept(finding: Finding[Restarted] | None, view: View) -> Finding[Restarted] | None:
    """Return a climb found before, with the present temperature; None once the kiln falls."""
    climb = None if finding is None else since(view, finding.since_s)
    if finding is None or climb is None:
        return finding
    if climb.falls:
        return None
    return replace(finding, severity_c=view.temp_c, facts=replace(finding.facts, temp_c=view.temp_c))


def restarted(view: View) -> Finding[Restarted] | None:
    """Return the finding where power came back, or the controller began again."""
    back = power_back(view)
    if back is None:
        return None
    undone = None if back.undone is None else Undone(*back.undone, view.temp_c - view.offset_k)
    facts = Restarted(view.temp_c, back.lowest_c, back.from_c, undone, _anneal_c(view), back.is_dark,
                      back.fall_c_per_h, back.is_beyond, _holds_again(view, back.from_c, back.lowest_c))
    return Finding(KIND, back.rank, back.since_s, facts, back.step)


def _holds_again(view: View, from_c: float, lowest_c: float) -> bool:
    """Return whether the kiln that fell from ``from_c`` [°C] is back there and holds: a controller that went on."""
    line = view.line(_HOLDS_FOR_S, view.resumed_s)
    if line is None or line.span_s < _HOLDS_FOR_S / 2 or from_c - lowest_c <= _FELL_K:
        return False
    return abs(view.temp_c - from_c) <= view.near_k and abs(line.slope_c_per_s) * 3600 < _HOLDS_C_PER_H


def _anneal_c(view: View) -> float | None:
    """Return the temperature of the plan's anneal hold [°C]; None where it has none."""
    return view.anneal.to_c if view.anneal else None


def _words(finding: Finding[Restarted], speaker: Speaker) -> Text:
    facts, temp = finding.facts, speaker.temp
    mending = speaker.mending(facts.undone, facts.from_c, facts.temp_c - facts.lowest_c)
    keys = speaker.key_in(mending)
    here, fell = temp(facts.temp_c), f"It fell from {temp(facts.from_c)} to {temp(facts.lowest_c)}."
    has_fallen = facts.from_c - facts.lowest_c > _FELL_K
    if facts.beyond:
        return _beyond_words(here, fell, keys, speaker, is_wake=finding.rank is Rank.WAKE)
    if facts.holds:
        return _back_words(here, temp(facts.lowest_c), keys, speaker)
    stop = mending is not None and wants_stop(mending)
    if facts.dark:
        lowest = f" The lowest was {temp(facts.lowest_c)}." if facts.temp_c - facts.lowest_c > _FELL_K else ""
        what = f"Power was off, kiln is at {here}, was {temp(facts.from_c)}.{lowest}"
        head = "The power was off and is back."
        fell = _why_hurry(facts, mending, speaker) or f"The kiln was at {temp(facts.from_c)}."
    elif has_fallen:
        what = f"Power is probably back, kiln is reheating, {here}{'; stop it' if stop else ''}. {fell}"
        head = f"Power is probably back, and the kiln reheats{', perhaps up to its top. Stop it.' if stop else '.'}"
    else:
        what, head = f"The controller began again, kiln climbs, {here}.", "The controller began again."
    return speaker.text(
        what=what, head=f"{head} {fell}" if has_fallen else head,
        meaning=broke_off(mending, temp) if mending else
                "Power came back, or the controller began again. It may go to the top a second time.",
        acts=(keys, CLIMBS_ON) if stop else (keys,), caution=CLOSED,
        if_not_keyed=IfNotKeyed.ISOLATOR if stop else IfNotKeyed.LEAVE,
        time_left_s=to_save_s(mending, facts.anneal_c, facts.temp_c, facts.fall_c_per_h)
        if facts.fall_c_per_h else None,
    )


def _why_hurry(facts: Restarted, mending: Mending | None, speaker: Speaker) -> str:
    """Return in one sentence what is lost by waiting, where power is back; empty where nothing is."""
    if mending is None or mending.place in (Place.LATE, Place.COLD):
        return ""
    if mending.place is Place.ABOVE:
        return "If the controller begins again, it goes to the top a second time."
    rate, is_in_anneal = mending.lines[0].rate_c_per_h, mending.place in (Place.ANNEAL, Place.COOLING)
    if facts.fall_c_per_h and is_in_anneal:
        return f"Below about {speaker.temp(PAST_MENDING_C)} it is too cold to save tonight."
    if rate is not None and (mending.is_brittle or is_in_anneal):
        return f"Reheated faster than {speaker.rate(rate)}, the glass may crack."
    return ""


def _back_words(here: str, lowest: str, keys: KeyIn, speaker: Speaker) -> Text:
    """Return the words for a kiln that is back where it broke off, and holds there."""
    return speaker.text(
        what=f"Power was off, kiln is back at {here}, holding. The lowest was {lowest}.",
        head=f"The power was off. The kiln is back where it was, and holds. The lowest was {lowest}.",
        meaning="The controller seems to go on where it broke off.",
        acts=("Read the controller's display. Is it in the step it broke off in, with time left? Let it go on.",
              keys.after("Is it in another step, or with less time than the plan still asks?")),
        caution=CLOSED,
    )


def _beyond_words(here: str, fell: str, keys: KeyIn, speaker: Speaker, *, is_wake: bool) -> Text:
    """Return the words for a climb where the plan only falls, and a program may or may not be behind it."""
    return speaker.text(
        what=f"Kiln reheats, plan only cools, {here}{'; stop it' if is_wake else ''}. {fell}",
        head=f"The kiln reheats where the plan only cools.{' Stop it.' if is_wake else ''} {fell}",
        meaning="The controller began again and may go to the top a second time. Or the power no longer switches "
                "off.",
        acts=(ISOLATOR_UNLESS,
              replace(keys, act=keys.act.removeprefix(STOP).strip()).after("Did it stop there?")),
        caution=CLOSED,
    )


KIND = Kind(
    name="restarted",
    title="kiln heats again",
    watch=AtBeats(lambda setup: RestartedWatch().see),
    words=_words,
    examples=(
        Example(Restarted(640.0, 610.0, 790.0, Undone(TOP_RAMP, 0.0, 640.0), 516.0), "broke off on the climb"),
        Example(Restarted(606.0, 606.0, 700.0, Undone(FALL_TO_ANNEAL, 0.0, 606.0), 516.0, dark=True,
                          fall_c_per_h=360.0), "dark above the anneal"),
        Example(Restarted(450.0, 448.0, 516.0, Undone(ANNEAL, 1200.0, 450.0), 516.0, dark=True, fall_c_per_h=0.0),
                "dark in the anneal"),
        Example(Restarted(350.0, 348.0, 516.0, Undone(ANNEAL, 1200.0, 350.0), 516.0, dark=True, fall_c_per_h=0.0),
                "dark, below 370 °C"),
        Example(Restarted(300.0, 298.0, 300.0, None), "nothing known of before"),
        Example(Restarted(530.0, 498.0, 516.0, Undone(ANNEAL, 1200.0, 530.0), 516.0, beyond=True)),
        Example(Restarted(530.0, 498.0, 516.0, Undone(ANNEAL, 1200.0, 530.0), 516.0, beyond=True),
                "before its anneal is done", Rank.LOOK),
        Example(Restarted(516.0, 381.0, 516.0, Undone(ANNEAL, 1200.0, 516.0), 516.0, holds=True),
                "back in its anneal"),
    ),
    on_delay_s=40.0, off_delay_s=600.0,
    family=Family.PLAN,
    is_of_power=True,
    is_of_firing=True,
    leaves_no_whole_firing=True,
    shows_heat=True,
    may_stand_under=("over-temperature",),
    may_replace=(
        Vaguer("not-cooling"), Vaguer("firing-stopped"),
        # What fell with the power is no climb that began again.
        Vaguer("hold-cut-short", _BEGAN_AGAIN_S, is_uncaused=True),
        Vaguer("cooling-too-fast", _BEGAN_AGAIN_S, is_uncaused=True),
    ),
)
