"""Firings by name: a plan, a kiln, what happens, and what a watcher must say and must not.

Plans are written as on paper, ``rate/target/hold``: °C/h (or °F/h), "free" as fast as it goes, minutes of
hold, and what the step is for. Everything is invented; figures are common practice.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from functools import partial
from typing import Any

from daemon.firing.events import Saying
from simulations.cases import Case, Expected
from simulations.plant.builds import PRESETS
from simulations.plant.power_loop import Tuning
from simulations.plant.surroundings import Surroundings
from simulations.random_plans import in_the_other_unit, on_paper

PLANS = {plan.title: plan for plan in (
    on_paper("full fuse", "220/620, 50/670/30 squeeze, 250/800/10 top, free/516/60 anneal, 55/430, 150/370, free/40"),
    on_paper("refire", "120/540, 300/785/8 top, free/516/45 anneal, 80/461, 150/406, free/40"),
    on_paper("slump", "120/650/15 top, free/516/45 anneal, 80/461, 150/406, free/40"),
    on_paper("tack", "160/620/20 squeeze, 180/730/12 top, free/512/90 anneal, 40/440, 80/370, free/40"),
    on_paper("thick", "70/670/60 squeeze, 200/800/15 top, free/512/120 anneal, 22/430, 45/370, 150/40"),
    on_paper("decal", "270/1100 burn-off, 270/1380/10 top, free/960/45 anneal, 144/861, 270/762, free/104", "F"),
    on_paper("casting", "50/150/120, 80/640/60 squeeze, 150/820/90 top, free/512/360 anneal, 9/455, 18/370, 35/40"),
    on_paper("like slopes", "150/300, 150/540/20, 150/680/30 squeeze, 150/790/10 top, free/516/60, 80/440, free/40"),
    on_paper("no holds", "150/540, 250/780, free/600, 60/430, 120/300, free/40"),
)}
"""The plans of the scenarios by title; what each is for is its title."""


@dataclass(frozen=True, slots=True)
class Scenario:
    """A named firing.

    Attributes
    ----------
    case
        The firing, with what a watcher must say of it.
    tells
        What it is about, in a line.
    may_look
        Kinds that may be said, at the rank of a look, though nothing asks for them. No wake is ever right
        but those that must be.
    """

    case: Case
    tells: str
    may_look: tuple[str, ...] = ()


def _scenario(
    name: str, tells: str, plan: str, kiln: str = "top-loader", faults: tuple[str, ...] = (),
    must: tuple[Expected, ...] = (), may_look: tuple[str, ...] = (), **more: Any,
) -> Scenario:
    """Return a scenario; ``more`` are fields of Case, or of Surroundings, by name."""
    around = {field: more.pop(field) for field in tuple(more) if field in _AROUND}
    thick = {"tack": 9.0, "thick": 12.0, "casting": 25.0}.get(plan, 6.0)
    case = Case(
        name, "scenario", PLANS[plan], thickness_mm=thick, kiln=PRESETS[kiln], faults=faults, expected=must,
        around=Surroundings(**around), **more,
    )
    return Scenario(case, tells, may_look)


_AROUND = {field.name for field in fields(Surroundings)}
_wake = partial(Expected, rank="wake")
_look = partial(Expected, rank="look")
_FALLS = ("firing-stopped", "sudden-drop", "cooling-too-fast", "hold-cut-short", "hold-off-target")
_LONE = ("sudden-drop",)
s = _scenario

SCENARIOS: dict[str, Scenario] = {scenario.case.name: scenario for scenario in (
    # Nothing is wrong.
    s("plain", "an ordinary full fuse", "full fuse"),
    s("slump-in-fibre", "an ordinary slump in a fibre kiln", "slump", "fibre-top-loader"),
    s("small-and-quick", "a small quick kiln", "refire", "tabletop"),
    s("six-kilowatts", "a big top loader", "tack", "long-top-loader"),
    s("thick-plate", "12 mm, a day and more", "thick", "front-loader"),
    s("casting-of-forty-hours", "a casting", "casting", "front-loader"),
    s("decal-vented", "°F, a vent open until 593 °C while paper film burns off", "decal", "brick-front",
      habits=("vent=0.1,3.5h@step1:ramp",)),
    s("start-pressed-late", "the kiln runs 20 min before start is pressed", "slump", start_s=-1200.0),
    s("start-pressed-early", "the kiln starts 20 min after start is pressed", "slump", start_s=1200.0),
    s("delayed-three-hours", "a delayed start", "refire", start_s=3 * 3600.0, may_look=("not-started",)),
    s("started-hot", "from 210 °C", "refire", start_c=210.0),
    s("controller-that-waits", "climbs take 80 % longer than asked", "full fuse", tuning=Tuning(stretch=1.8)),
    s("tired-elements", "three quarters of the power", "full fuse", mains_share=0.75),
    s("crash-cooled", "the lid propped for three minutes above the anneal", "full fuse",
      habits=("ajar=0.1,3min@step4:ramp+30s",), may_look=_LONE),
    s("vented-cool", "opened at 180 °C, as one may", "refire", habits=("ajar=0.2@below180",), may_look=_LONE),
    s("top-held-longer", "four minutes added at the top", "full fuse", habits=("hold-long=1.4@step3",)),
    s("anneal-held-longer", "the anneal hold lengthened by half", "full fuse", habits=("hold-long=1.5@step4",)),
    s("anneal-lengthened-and-said", "doubled, and the maker says so", "full fuse",
      habits=("hold-long=2@step4",), says=((Saying.LENGTHENED, "hold-long=2@step4"),)),
    s("peeked", "two looks at a slump", "slump", habits=("lid=12s@step1:hold+2min", "lid=15s@step1:hold+6min"),
      may_look=_LONE),
    s("blink", "the mains away for 20 s", "full fuse", habits=("power-cut=20s@step3:hold+3min",), may_look=_LONE),
    s("probe-12-high", "a probe that always reads 12 °C high", "full fuse", offset_k=12.0),
    s("probe-12-low", "a probe that always reads 12 °C low", "full fuse", offset_k=-12.0),
    s("thick-sheath", "a 6 mm sheath, three minutes late", "full fuse", sheath_mm=6.0),
    s("used-type-k", "a used probe, 4 °C high between 250 and 550 °C", "refire", hysteresis_k=4.0),
    s("type-n", "a type N probe, set as one", "refire", kind="N"),
    s("one-minute-trace", "another logger's rows, one a minute", "full fuse", interval_s=60),
    s("one-second-trace", "every second", "refire", interval_s=1),
    s("rows-missing", "ten minutes without a row in a climb", "full fuse", habits=("gap=10min@2h",),
      may_look=("readings-missing",)),
    s("noisy", "a wretched probe: noise, hum and spikes", "full fuse", noise_k=3.0, wander_k=0.9,
      habits=("hum=1.5", "spikes=20"), may_look=_LONE),
    s("like-slopes", "three climbs at one rate", "like slopes"),
    s("no-holds", "a plan without a hold", "no holds"),
    # The kiln, its supply and its lid.
    s("runaway", "a welded relay above the top", "full fuse", faults=("runaway=2h@step3:ramp+15min",),
      must=(_wake(("over-temperature",), fault="runaway", onset="crossing", within_s=300),)),
    s("power-lost-climbing", "for good, in the last climb", "full fuse", faults=("power-cut@step3:ramp+10min",),
      must=(_wake(("firing-stopped",), fault="power-cut", near=_FALLS, within_s=900),)),
    s("power-lost-at-the-top", "for good", "full fuse", faults=("power-cut@step3:hold+4min",),
      must=(_wake(("firing-stopped",), fault="power-cut", near=_FALLS, within_s=900),)),
    s("power-lost-in-the-anneal", "for good", "full fuse", faults=("power-cut@step4:hold+20min",),
      must=(_wake(("firing-stopped",), fault="power-cut", near=_FALLS, within_s=900),)),
    s("power-lost-late", "below the band, where nothing can be spoilt", "refire",
      faults=("power-cut@step5:ramp+15min",)),
    s("power-back", "away for 40 min in the anneal", "full fuse", faults=("power-cut=40min@step4:hold+15min",),
      must=(_wake(("firing-stopped",), fault="power-cut", near=_FALLS, within_s=900),
            _wake(("restarted",), fault="power-cut", onset="end"))),
    s("cut-of-two-minutes", "in the anneal", "full fuse", faults=("power-cut=2min@step4:hold+15min",),
      may_look=("firing-stopped", "sudden-drop", "restarted")),
    s("restarted", "a blink sends the controller back to step 1", "refire", faults=("restart@step3:hold+15min",),
      must=(_wake(("restarted",), fault="restart", near=(*_FALLS, "not-cooling"), onset="end"),)),
    s("lid-opened", "for half a minute in the anneal", "full fuse", faults=("lid=30s@step4:hold+20min",),
      must=(_look(("sudden-drop",), fault="lid", near=_FALLS, within_s=600),)),
    s("lid-left-ajar", "from the middle of the cooling on", "full fuse", faults=("ajar=0.3@step5:ramp+30min",),
      must=(_wake(("sudden-drop", "cooling-too-fast"), fault="ajar", near=_FALLS),)),
    s("element-out", "half the power from the last climb on", "refire", "front-loader",
      faults=("sag=0.3@step2:ramp+10min",),
      must=(_look(("not-climbing",), fault="sag", onset="slow", is_wake_fine=True),)),
    s("leaky-seal", "a seal burnt through", "full fuse", faults=("vent=0.2@step2:hold",)),
    # The controller and who keys it in.
    s("cooling-too-fast", "two and a half times the planned fall", "full fuse",
      faults=("cooling=2.5@step5:ramp+5min",), must=(_wake(("cooling-too-fast",), fault="cooling", within_s=1200),)),
    s("cooling-a-little-fast", "1.3 times the planned fall", "full fuse", faults=("cooling=1.3@step5:ramp",),
      must=(_look(("cooling-too-fast",), fault="cooling"),)),
    s("anneal-skipped", "the hold left at once", "full fuse", faults=("skip-hold@step4",),
      must=(_wake(("hold-cut-short",), fault="skip-hold", near=("cooling-too-fast", "firing-stopped")),)),
    s("anneal-short", "a third of it", "full fuse", faults=("hold-short=0.33@step4",),
      must=(_wake(("hold-cut-short",), fault="hold-short", near=("cooling-too-fast",), onset="part-end"),)),
    s("squeeze-missed", "its hold left at once", "full fuse", faults=("skip-hold@step2",),
      must=(_look(("hold-cut-short",), fault="skip-hold"),)),
    s("anneal-15-low", "all the others are right", "full fuse", faults=("hold-off=-15@step4",),
      must=(_wake(("hold-off-target",), fault="hold-off", near=("hold-cut-short", "cooling-too-fast")),)),
    s("anneal-15-high", "all the others are right", "full fuse", faults=("hold-off=15@step4",),
      must=(_look(("hold-off-target",), fault="hold-off", near=("hold-cut-short", "not-cooling")),)),
    s("slump-overfired", "12 °C hot at the top of a slump", "full fuse", faults=("hold-off=12@step3",),
      must=(_look(("hold-off-target",), fault="hold-off", near=("over-temperature",)),)),
    s("hold-swings", "8 °C up and down in the anneal", "full fuse", faults=("swing=8@step4",),
      may_look=("hold-off-target",)),
    s("stuck-at-the-top", "it goes on and on", "full fuse", faults=("stuck=2h@step3:hold+5min",),
      must=(_wake(("hold-overrun",), fault="stuck", near=("not-cooling",), onset="hold-over", wake_after_s=900.0),)),
    s("stuck-climbing", "a plateau that was not planned", "full fuse", faults=("stuck=2h@step3:ramp+10min",),
      must=(_look(("not-climbing",), fault="stuck", near=("hold-overrun",), is_wake_fine=True),)),
    s("stuck-falling", "it stays at 480 °C", "full fuse", faults=("stuck=2h@step5:ramp+40min",),
      must=(_look(("not-cooling",), fault="stuck", near=("hold-overrun", "hold-off-target")),)),
    s("refired-too-fast", "twice the rate below 540 °C", "refire", faults=("heating=2.2@step1:ramp+30min",),
      must=(_look(("heating-too-fast",), fault="heating", onset="fast"),)),
    s("never-started", "start was pressed in Lehrling only", "refire", faults=("never-started",),
      must=(_look(("not-started",), fault="never-started", within_s=2.5 * 3600),)),
    s("wrong-plan", "the controller runs a slump, the maker chose a full fuse", "full fuse", keyed=PLANS["slump"],
      must=(_look(("wrong-plan",), fault="keyed", near=(*_FALLS, "not-climbing", "hold-overrun", "heating-too-fast"),
                  within_s=8 * 3600),)),
    s("wrong-unit", "figures in °C keyed into a °F controller", "full fuse",
      keyed=in_the_other_unit(PLANS["full fuse"]),
      must=(_look(("wrong-plan",), fault="keyed", near=(*_FALLS, "not-climbing", "hold-overrun"),
                  within_s=8 * 3600),)),
    s("manual-advance", "the maker skips the rest of the squeeze and says so", "full fuse",
      habits=("advance@step2:hold+15min",), says=((Saying.ADVANCED, "advance@step2:hold"),),
      may_look=("hold-cut-short",)),
    # Our own probe.
    s("probe-open", "in the anneal", "full fuse", faults=("open@step4:hold+20min",),
      must=(_wake(("sensor-fault",), fault="open", wake_after_s=60),)),
    s("probe-open-cold", "in the first climb", "full fuse", faults=("open=10min@step1:ramp+40min",),
      must=(_look(("sensor-fault",), fault="open"),)),
    s("chip-silent", "at the top", "full fuse", faults=("silent@step3:hold+3min",),
      must=(_wake(("readings-missing", "sensor-fault"), fault="silent", wake_after_s=60),)),
    s("reading-frozen", "at one value from the anneal on", "full fuse", faults=("frozen@step4:hold+20min",),
      must=(_wake(("reading-frozen",), fault="frozen", near=("hold-overrun", *_FALLS), wake_after_s=240),)),
    s("contact-loose", "comes and goes from the anneal on", "full fuse", faults=("flickers=40@step4:hold+5min",),
      must=(_look(("reading-flickers",), fault="flickers", near=("sensor-fault",), is_wake_fine=True),)),
    s("rows-missing-long", "half an hour without a row in the anneal", "full fuse",
      faults=("gap=30min@step4:hold+10min",),
      must=(_look(("readings-missing",), fault="gap", near=("sensor-fault",), onset="end", is_wake_fine=True),)),
    s("probe-shorted-in-the-wall", "low and sluggish", "full fuse", faults=("wall-short@step4:hold+20min",),
      must=(_wake(("sudden-drop", "firing-stopped", "sensor-fault"), fault="wall-short", near=_FALLS),)),
    s("probe-fell-out", "half way, at once", "full fuse", faults=("fallen=0.5@step4:hold+20min",),
      must=(_wake(("sudden-drop",), fault="fallen", near=_FALLS, wake_after_s=120),)),
    s("probe-slides-out", "within twenty minutes", "full fuse", faults=("pulled=0.4@step4:hold+20min",),
      must=(_look(("sudden-drop", "hold-off-target", "firing-stopped"), fault="pulled", near=_FALLS,
                  is_wake_fine=True),)),
    s("probe-knocked", "reads 20 °C less from the anneal on", "full fuse", faults=("moved=-20@step4:hold+20min",),
      must=(_look(("sudden-drop", "hold-off-target"), fault="moved", near=_FALLS, is_wake_fine=True),)),
    s("probe-drifts", "by 1 °C an hour", "full fuse", faults=("drift=1@step1:ramp",)),
    s("leads-reversed", "falls as the kiln heats", "refire", faults=("reversed",),
      must=(_look(("sensor-fault",), fault="reversed", near=("not-started", "not-climbing"), within_s=2 * 3600),)),
    s("k-set-to-n", "reads 120 °C high at the top", "full fuse", faults=("set-to-n",),
      must=(_look(("wrong-plan", "hold-off-target"), fault="set-to-n", within_s=6 * 3600,
                  near=("heating-too-fast", "over-temperature"), is_wake_fine=True),)),
    s("k-set-to-s", "beyond what type S has", "full fuse", faults=("set-to-s",),
      must=(_look(("sensor-fault", "wrong-plan"), fault="set-to-s", within_s=6 * 3600,
                  near=("heating-too-fast", "over-temperature"), is_wake_fine=True),)),
    s("copper-lead", "low by what the head is warmer than the box", "full fuse", faults=("copper-lead",),
      may_look=("hold-off-target", "not-climbing")),
)}
"""Every scenario by name."""
