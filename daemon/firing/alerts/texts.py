"""What an alert says: what happened, what it means, what to do with its caution, how long there is.

The advice is common practice of the trade. Every text that asks for an act carries its caution; none of
it makes the program a safety device.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable

from daemon.firing.events import Text
from daemon.firing.plan.misread import TYPES
from daemon.firing.plan.plan import to_unit
from daemon.firing.recovery.recovery import Mender, Mending
from daemon.firing.recovery.recovery_text import broke_off, key_in, keyed
from daemon.firing.situation.view import Finding
from daemon.firing.units import Units
from daemon.glass.advice import TARGET_MPA

ELECTRIC = "Insulated gloves, dry hands; if anything smells or smokes, stay out and call for help."
LID = "Close it from outside with insulated gloves, hands never inside; an open lid may not cut the current."
ISOLATOR = ("Switch off at the isolator now; the controller's stop key may not do it, since contacts can weld. "
            "Don't open the kiln.")
CLOSED = "Leave the kiln closed; never open it hot to look."


class Wording(Units):
    """Puts findings into words for one load, in the unit its owner reads.

    Parameters
    ----------
    unit
        "C" or "F".
    thickness_mm
        Thickest piece of the load [mm].
    mender
        Knows what to key in when the firing broke off; None where there is no plan to go back to.
    """

    def __init__(self, unit: str, thickness_mm: float, mender: Mender | None = None) -> None:
        super().__init__(unit)
        self._thickness_mm = thickness_mm
        self._mender = mender

    def text(self, finding: Finding) -> Text:
        """Return the four parts for ``finding``."""
        return _TEXTS[finding.kind](self, finding)

    # --- kinds -----------------------------------------------------------------------------------

    def over_temperature(self, finding: Finding) -> Text:
        """Return the words for a kiln that is, or will be, hotter than its plan allows."""
        facts = finding.facts
        if "hold_c" in facts:
            return Text(
                what=f"Climbed through the hold at {self.temp(facts['hold_c'])} without stopping: "
                     f"now {self.temp(facts['temp_c'])}, {self.rate(facts['rate_c_per_h'])}.",
                meaning="The hold may be skipped, another program may be running, or the kiln may not stop.",
                do="Look at the controller: which step, which target? If it isn't yours, stop it there; if it "
                   f"doesn't obey, switch off at the isolator. {ELECTRIC}",
            )
        if "fastest_c_per_h" in facts:
            return self._runaway(finding)
        climb = facts.get("rate_c_per_h")
        rising = f", climbing {self.rate(climb)}" if climb else ""
        over_c = facts["over_c"]
        where = f"{self.difference(over_c)} above" if over_c >= 0 else f"{self.difference(-over_c)} below"
        return Text(
            what=f"Too hot: {self.temp(facts['temp_c'])}, {where} the plan's top of "
                 f"{self.temp(facts['highest_c'])}{rising}.",
            meaning="The kiln may be running away. The glass flows, sticks or boils; the kiln itself can be damaged.",
            do=f"{ISOLATOR} {ELECTRIC} {self._anneal_after()}",
            time_left_s=0.0,
        )

    def _runaway(self, finding: Finding) -> Text:
        """Return the words for a kiln that climbs, faster than its plan ever does, where it should fall."""
        facts = finding.facts
        return Text(
            what=f"Running away: {self.temp(facts['temp_c'])}, climbing {self.rate(facts['rate_c_per_h'])}; from "
                 "here the plan only falls.",
            meaning=f"No step of the plan climbs faster than {self.rate(facts['fastest_c_per_h'])}: the power does "
                    "not switch off. The glass softens again; the kiln itself can be damaged.",
            do=f"{ISOLATOR} {ELECTRIC} {self._anneal_after()}",
            time_left_s=0.0,
        )

    def _anneal_after(self) -> str:
        """Return what the glass still needs once a runaway is off, and that the kiln is not to be trusted."""
        needs = "" if self._mender is None else (
            f": {keyed(self._mender.anneal_lines(), self.temp, self.rate)}")
        return (f"Let it fall, closed. The glass still needs its anneal{needs}. Do that once a licensed electrician "
                "has looked at the kiln.")

    def cooling_too_fast(self, finding: Finding) -> Text:
        """Return the words for a fall that is faster than planned, or than the load bears."""
        facts = finding.facts
        fall, bears = facts["fall_c_per_h"], facts["bears_c_per_h"]
        planned = facts.get("planned_c_per_h")
        asked = f"planned {self.rate(planned)}" if planned else "planned free"
        what = f"Cooling too fast: {self.rate(fall)}, {asked}, now {self.temp(facts['temp_c'])}."
        faces = "one cooled face" if facts["faces"] == 1 else "both faces cooled"
        load = (f"{self._thickness_mm:g} mm ordinarily bears about {self.rate(bears)} here ({faces}, flat and "
                "even; uneven work less).")
        if not facts["in_band"]:
            return Text(what, "Below the anneal range stress no longer stays, but thick glass can still crack. "
                        + load, "Close vents and lid and leave the kiln closed. " + LID)
        left_s = max(0.0, (facts["temp_c"] - facts["band_low_c"]) / max(fall, 1.0) * 3600)
        return Text(
            what=what,
            meaning=self._staying(facts, fall, planned) + load,
            do="Look whether lid, vent or plug stands open. " + LID
               + (" If the rate is keyed in wrong, key in the planned one." if planned else
                  f" If nothing does, the plan itself is too fast here: next time key in about {self.rate(bears)}.")
               + " If it fell far, " + self._back_to_anneal(facts["temp_c"]),
            time_left_s=left_s,
        )

    def _back_to_anneal(self, here_c: float) -> str:
        if self._mender is None:
            return "go back to the anneal hold, whole."
        return f"key in the anneal again: {keyed(self._mender.anneal_lines(here_c), self.temp, self.rate)}."

    def _staying(self, facts: dict[str, float], fall: float, planned: float | None) -> str:
        """Return what stays in the glass at the measured and at the planned rate, from two cooled faces to one."""
        def stays(rate: float) -> str:
            low, high = (rate / facts[f"one_mpa_{faces}_c_per_h"] for faces in (2, 1))
            return f"about {low:.1f} to {high:.1f} MPa"

        at_plan = f", at the planned rate {stays(planned)}" if planned else ""
        return (f"At this rate {stays(fall)} of stress stays in the glass{at_plan}; up to {TARGET_MPA:g} is well "
                "annealed (flat, even glass; the lower figure where both faces cool). ")

    def not_cooling(self, finding: Finding) -> Text:
        """Return the words for a kiln that holds or climbs where its plan falls."""
        facts = finding.facts
        slope = facts["rate_c_per_h"]
        does = f"climbing {self.rate(slope)}" if facts["climbing"] else "and it stays there"
        what = f"Not cooling: {self.temp(facts['temp_c'])}, {does}; the plan falls to {self.temp(facts['to_c'])}."
        if facts["climbing"]:
            return Text(
                what=what,
                meaning="The power may not switch off, or the controller runs another step. Soft glass goes on "
                        "flowing and hazing.",
                do="Switch off at the isolator, unless the controller shows a climb of its own and the kiln stops "
                   f"climbing when you stop it there: contacts can weld. {ELECTRIC} {CLOSED}",
            )
        return Text(
            what=what,
            meaning="The controller may wait in a step, or the power may not switch off. Above the anneal the glass "
                    "goes on flowing and hazing.",
            do=f"Look at the controller's step and target; advance it if it waits. {ELECTRIC}",
        )

    def firing_stopped(self, finding: Finding) -> Text:
        """Return the words for a kiln that falls freely before its plan is done."""
        facts = finding.facts
        back = "climbing" if facts["climbing"] else "holding"
        anneal = facts["anneal_c"]
        mending = self._mending(facts)
        return Text(
            what=f"Falling from {self.temp(facts['from_c'])} to {self.temp(facts['temp_c'])}, "
                 f"{self.rate(facts['fall_c_per_h'])}, although it should be {back}.",
            meaning="Power, breaker or controller may be off, or the lid stands open. "
                    + (broke_off(mending, self.temp) if mending else "The firing is not done."),
            do=f"Look at breaker, controller and lid. {ELECTRIC} With power back: {_lower(self._key_in(mending))} "
               f"{CLOSED} Broken or unsure: isolator off, closed, wait.",
            time_left_s=_until_s(anneal, facts),
        )

    def _mending(self, facts: dict[str, float]) -> Mending | None:
        if self._mender is None or "undone" not in facts:
            return None
        fell_c = facts["temp_c"] - facts["lowest_c"] if "lowest_c" in facts else 0.0
        return self._mender.mend(int(facts["undone"]), facts["held_s"], facts["here_c"],
                                 lowest_c=facts["here_c"] - max(0.0, fell_c), from_c=facts.get("from_c"))

    def _key_in(self, mending: Mending | None) -> str:
        if mending is None:
            return "Go on with the plan's step, slowly while the glass is brittle."
        return key_in(mending, self.temp, self.rate)

    def hold_cut_short(self, finding: Finding) -> Text:
        """Return the words for a hold that ended early or never began."""
        facts = finding.facts
        held, asked = facts["held_s"] / 60, facts["asked_s"] / 60
        name = "anneal hold" if facts["anneal"] else "hold"
        held_text = "was skipped" if held < 1 else f"ended after {held:.0f} of {asked:.0f} min"
        what = f"The {name} at {self.temp(facts['hold_c'])} {held_text}; now {self.temp(facts['temp_c'])}."
        if not facts["anneal"]:
            return Text(what, "The step did only part of its work. If you advanced it yourself, all is well.",
                        "Nothing at once; note it, and look at the controller when you're up.")
        mending = self._mending(facts)
        again = self._key_in(mending) if mending else (
            f"Key in the anneal again: {self.temp(facts['hold_c'])}, hold {asked:.0f} min, then the planned cooling.")
        return Text(
            what=what,
            meaning="The glass isn't annealed: it cools with its stress in it.",
            do=f"{again} Look from a distance whether the kiln has power and its lid is shut. {CLOSED} {ELECTRIC}",
            time_left_s=None,
        )

    def hold_overrun(self, finding: Finding) -> Text:
        """Return the words for a hold that goes on."""
        facts = finding.facts
        return Text(
            what=f"The hold at {self.temp(facts['hold_c'])} goes on: {facts['over_s'] / 60:.0f} min over its "
                 f"{facts['asked_s'] / 60:.0f}, at {self.temp(facts['temp_c'])}.",
            meaning="At the top the glass flows and hazes longer than planned; at the anneal it does no harm.",
            do=f"Look at the controller; advance the step if it waits. {ELECTRIC}",
        )

    def sudden_drop(self, finding: Finding) -> Text:
        """Return the words for a step down that may be a lid, a probe, or power."""
        facts = finding.facts
        stays = ", and it stays down" if facts["stays"] else ""
        if facts.get("leapt"):
            return Text(
                what=f"The probe leapt from {self.temp(facts['from_c'])} to {self.temp(facts['temp_c'])}{stays}.",
                meaning="No kiln cools so in seconds: the probe or its wires failed, or it was pulled out. Nothing "
                        "watches the firing while it reads this.",
                do=f"Read the kiln's own display. If that is steady, the firing goes on, and the probe can wait "
                   f"until the kiln is cold. {ELECTRIC}",
            )
        return Text(
            what=f"Dropped {self.difference(facts['drop_c'])}, from {self.temp(facts['from_c'])} to "
                 f"{self.temp(facts['temp_c'])}, within a minute or two{stays}.",
            meaning="An opened lid, a probe that fell or was moved, or power gone: one probe can't tell yet.",
            do=f"Look from a distance whether the lid is shut. {LID} Compare with the kiln's own display: if that is "
               f"steady, the probe moved. {ELECTRIC}",
        )

    def restarted(self, finding: Finding) -> Text:
        """Return the words for power that is back: found colder than it was left, or climbing again."""
        facts = finding.facts
        lost, mending = facts["from_c"] - facts["lowest_c"], self._mending(facts)
        fell = f"from {self.temp(facts['from_c'])} to {self.temp(facts['lowest_c'])}"
        if facts["dark"]:
            what = f"Power was off: the kiln fell {fell}, now {self.temp(facts['temp_c'])}."
        elif lost > 10:
            what = f"It climbs again, now {self.temp(facts['temp_c'])}, after falling {fell}."
        else:
            what = f"It climbs again, now {self.temp(facts['temp_c'])}, from the plan's first step."
        if facts.get("beyond"):
            return self._climbs_beyond(what, mending)
        return Text(
            what=what,
            meaning=broke_off(mending, self.temp) if mending else
                    "Power came back, or the controller began again. What was reached before may be fired twice.",
            do=f"{self._key_in(mending)} {CLOSED} {ELECTRIC}",
            time_left_s=_until_s(facts["anneal_c"], facts) if facts.get("fall_c_per_h") else None,
        )

    def _climbs_beyond(self, what: str, mending: Mending | None) -> Text:
        """Return the words for a climb where the plan only falls, and a program may or may not be behind it."""
        return Text(
            what=f"{what[:-1]}; from here the plan only falls.",
            meaning="The power may not switch off, or the controller began again: then what is done is fired twice.",
            do="Switch off at the isolator, unless the controller shows a climb of its own and the kiln stops "
               f"climbing when you stop it there: contacts can weld. {ELECTRIC} If it obeys: "
               f"{_lower(self._key_in(mending))} {CLOSED}",
        )

    def not_started(self, finding: Finding) -> Text:
        """Return the words for a firing that was started here but climbs nowhere."""
        facts = finding.facts
        return Text(
            what=f"Start was pressed {facts['waited_s'] / 60:.0f} min ago and nothing climbs: "
                 f"{self.temp(facts['temp_c'])}.",
            meaning="The controller may be on a delayed start, not started, or without power.",
            do=f"Look at the controller. If the start is delayed, all is well. {ELECTRIC}",
        )

    def not_climbing(self, finding: Finding) -> Text:
        """Return the words for a climb that stands still, or fades."""
        facts = finding.facts
        what = (f"The climb has slowed to {self.rate(facts['rate_c_per_h'])}, planned "
                f"{self.rate(facts['planned_c_per_h'])}, at {self.temp(facts['temp_c'])}."
                if "fades" in facts else
                f"The climb stands still at {self.temp(facts['temp_c'])} for {facts['flat_s'] / 60:.0f} min; the "
                f"plan goes on to {self.temp(facts['to_c'])}.")
        return Text(
            what=what,
            meaning="The controller may wait, power or an element may be out, or the kiln can go no further. Time at "
                    "heat goes on counting for the glass.",
            do="Look at the controller's step and at the kiln's display. Extend, advance or end it safely. "
               f"{ELECTRIC}",
        )

    def heating_too_fast(self, finding: Finding) -> Text:
        """Return the words for a climb that is faster than planned while glass is brittle."""
        facts = finding.facts
        return Text(
            what=f"Climbing {self.rate(facts['rate_c_per_h'])}, planned {self.rate(facts['planned_c_per_h'])}, now "
                 f"{self.temp(facts['temp_c'])}.",
            meaning=f"Below {self.temp(facts['brittle_below_c'])} a fast climb can crack the piece; a fused plate of "
                    f"{self._thickness_mm:g} mm more easily than loose layers.",
            do=f"Look at the rate keyed in and slow it to the plan. {CLOSED} {ELECTRIC}",
        )

    def hold_off_target(self, finding: Finding) -> Text:
        """Return the words for a hold that stands off its target."""
        facts = finding.facts
        off = facts["off_c"]
        side = "above" if off > 0 else "below"
        name = "anneal hold" if facts["anneal"] else "hold"
        if facts["anneal"]:
            meaning = "Above its target the glass relaxes faster, but the cooling begins too hot." if off > 0 else \
                "So far below its target the anneal does little: stress relaxes several times slower."
        else:
            meaning = "The step does more than planned." if off > 0 else "The step does less than planned."
        return Text(
            what=f"The {name} at {self.temp(facts['hold_c'])} stands {self.difference(abs(off))} {side} plan, more "
                 "than this probe's usual difference.",
            meaning=meaning,
            do="Compare with the kiln's own display. If it agrees, correct the target or lengthen the hold at the "
               f"controller; if not, the probe may have moved. {ELECTRIC}",
        )

    def wrong_plan(self, finding: Finding) -> Text:
        """Return the words for a trace that fits another plan better, or this one read wrongly."""
        facts, temp = finding.facts, self.temp
        keys = ("first", "last") if facts["stops"] > 1 else ("first",)
        stopped = f"It stopped at {_and(temp(facts[f'{key}_c']) for key in keys)}"
        if "type" in facts:
            return self._wrong_type(finding, stopped, _and(temp(facts[f"{key}_true_c"]) for key in keys))
        asked = [facts[f"{key}_asked_c"] for key in keys]
        if not finding.name:
            read = "F" if facts["in_f"] else "C"
            return Text(
                what=f"{stopped}: this plan's {_and(str(round(to_unit(c, read))) for c in asked)}, taken for the "
                     "other unit.",
                meaning="The controller seems to read its figures in the other unit, so that it "
                        "misses every temperature of the plan. What is said of steps here may be wrong.",
                do=f"Look at the controller's unit. Stop the firing there and let the kiln cool. {CLOSED} {ELECTRIC}",
            )
        return Text(
            what=f"{stopped}, as another plan asks, not the chosen one: {finding.name}, "
                 f"{_and(temp(c) for c in asked)}.",
            meaning="The controller may run another program than the plan chosen here. Then what is said of steps "
                    "here is wrong.",
            do="Look which program the controller runs. If it is the right one, choose its plan here; if not, decide "
               f"whether to go on or to let the kiln cool. {CLOSED} {ELECTRIC}",
        )

    def _wrong_type(self, finding: Finding, stopped: str, true: str) -> Text:
        """Return the words for a probe of another type than the chip is set to."""
        probe, shown = TYPES[int(finding.facts["type"])]
        probe = "S or R" if probe == "S" else probe
        return Text(
            what=f"{stopped}: this plan's {true}, as a type {probe} probe reads when it is set to type {shown}.",
            meaning="The kiln may run its plan as it should, and only what is read here is wrong: every temperature, "
                    "and what is said of steps and glass.",
            do="Read the kiln's own display and judge the firing by it. When you're up, compare the probe's mark "
               f"with the type set for it in Lehrling; touch nothing at a hot kiln. {ELECTRIC}",
        )

    def haze_range(self, finding: Finding) -> Text:
        """Return the words for a load that was long in the haze range."""
        facts = finding.facts
        return Text(
            what=f"{facts['haze_s'] / 60:.0f} min between {self.temp(facts['low_c'])} and "
                 f"{self.temp(facts['high_c'])}, planned about {facts['planned_s'] / 60:.0f}.",
            meaning="Haze forms there, first on dirt and ground edges.",
            do="Nothing now; look at the surface when the piece is out and note it.",
        )

    def sensor_fault(self, finding: Finding) -> Text:
        """Return the words for a thermocouple that gives no temperature, or one that can't be."""
        if "swapped_c" in finding.facts:
            return Text(
                what=f"The probe reads {self.temp(finding.facts['swapped_c'])}, colder than any studio.",
                meaning="Its two wires are most likely swapped, so that it falls as the kiln climbs. Nothing watches "
                        "the firing.",
                do="Read the kiln's own display and judge the firing by it. Swap the two wires at the plug outside "
                   f"the kiln, once it is cold and unplugged. {ELECTRIC}",
            )
        return self._blind(finding, "The thermocouple gives nothing",
                           "A broken or loose thermocouple, not a cold kiln.")

    def readings_missing(self, finding: Finding) -> Text:
        """Return the words for a probe that does not answer."""
        return self._blind(finding, "No reading from the probe",
                           "The probe's chip doesn't answer, or the monitor was off; not a cold kiln.")

    def _blind(self, finding: Finding, what: str, why: str) -> Text:
        facts = finding.facts
        last = f"; the last was {self.temp(facts['last_c'])}" if "last_c" in facts else ""
        minutes = facts["blind_s"] / 60
        since = f"{minutes:.0f} min" if minutes >= 2 else f"{facts['blind_s']:.0f} s"
        return Text(
            what=f"{what} for {since}{last}.",
            meaning=why + " Nothing watches the firing until it is back.",
            do="Read the kiln's own display and judge the firing by it. Look at the probe's plug and wires outside "
               f"the kiln only; don't touch the probe in a hot kiln. {ELECTRIC}",
        )


def _until_s(to_c: float, facts: dict[str, float]) -> float | None:
    """Return how long the fall to ``to_c`` takes [s]; None where it is not above it."""
    if not to_c or facts["temp_c"] <= to_c:
        return None
    return (facts["temp_c"] - to_c) / max(facts["fall_c_per_h"], 1.0) * 3600


def _and(words: Iterable[str]) -> str:
    """Return one or two words as a sentence names them."""
    return " and ".join(words)


def _lower(sentence: str) -> str:
    """Return ``sentence`` to stand behind a colon."""
    return sentence[:1].lower() + sentence[1:]


_TEXTS: dict[str, Callable[[Wording, Finding], Text]] = {
    "over-temperature": Wording.over_temperature,
    "cooling-too-fast": Wording.cooling_too_fast,
    "not-cooling": Wording.not_cooling,
    "firing-stopped": Wording.firing_stopped,
    "hold-cut-short": Wording.hold_cut_short,
    "hold-overrun": Wording.hold_overrun,
    "hold-off-target": Wording.hold_off_target,
    "heating-too-fast": Wording.heating_too_fast,
    "not-climbing": Wording.not_climbing,
    "not-started": Wording.not_started,
    "restarted": Wording.restarted,
    "sudden-drop": Wording.sudden_drop,
    "haze-range": Wording.haze_range,
    "wrong-plan": Wording.wrong_plan,
    "sensor-fault": Wording.sensor_fault,
    "readings-missing": Wording.readings_missing,
}
KINDS: tuple[str, ...] = tuple(_TEXTS)
