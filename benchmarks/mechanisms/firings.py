"""The mechanisms, and the firings that show them.

They are named firings of the studies, or kilns of theirs with another plan or fault. Each is made by its name and its
seed alone, so that it is the same on every machine. They were looked for among some two hundred: what is shown is a
fault of the older watcher, not how often there is one.
"""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

from benchmarks.mechanisms.shown import OLDER, Shown
from simulations.cases import Case
from simulations.generator import clean_case
from simulations.plant.builds import PRESETS
from simulations.random_plans import on_paper
from simulations.studies.study import case_named


class Mechanism(NamedTuple):
    """How a watcher comes to err; ``meaning`` is a sentence or two."""

    title: str
    meaning: str


MECHANISMS: dict[int, Mechanism] = {
    1: Mechanism(
        "The dip at the anneal",
        "After a free fall the elements have been off, and our probe reads 3 to 17 K below the plan for 5 to 30 "
        "minutes. That was taken for a hold cut short, a hold off its target, a firing that stopped, or a fall "
        "that is too fast."),
    2: Mechanism(
        "A difference carried from elsewhere",
        "How far the probe reads from the plan was learned in a hot hold of the climb, and used at the anneal as "
        "if it were exact there."),
    3: Mechanism(
        "A top that is crept up to",
        "A weak kiln comes to its top late. By our count the controller leaves it some minutes early. Then comes "
        "the free fall of the plan, which was taken for a power cut."),
    4: Mechanism(
        "Vents of some minutes",
        "Under a vent the air falls far below the glass. That was taken for a power cut. When the vent is shut "
        "the air comes back, which was taken for a kiln that heats where the plan falls."),
    5: Mechanism(
        "Elements silent as the cooling begins",
        "Where a planned fall begins, the elements switch off and the probe no longer sees them. 8 K in three "
        "minutes look like 160 °C/h."),
    6: Mechanism(
        "On/off saw-teeth",
        "A controller that only switches makes the reading rise and fall by several kelvins. Each tooth was told "
        "as a sudden drop."),
    7: Mechanism(
        "Rules that swallow",
        "A true fault is filed under an older finding, or gets the name of what follows from it. It is told late, "
        "or never."),
    8: Mechanism(
        "Holds that the follower does not see",
        "A long hold after a free climb, holds within a fall, and first holds near 100 °C were not found. What "
        "came next was judged by the wrong part."),
    9: Mechanism(
        "Blindness",
        "A contact that comes and goes, a reading that stands still, a while without any reading, and readings "
        "coded as 0.0."),
    10: Mechanism(
        "One cause, several alerts",
        "One thing goes wrong, and somebody is woken once for each of its consequences."),
    11: Mechanism(
        "One wild reading of a slow logger",
        "A single reading, 138 K too high, of a logger that writes one a minute woke as an anneal cut short."),
}

NOT_SHOWN: dict[int, tuple[str, ...]] = {
    7: ("Looked for and not found: power lost at 600 °C on a logger of one reading a minute that never wakes. Six "
        "such firings (`power-gone-coarse-1` to `-6`) and three plain ones each woke within 8 min, before and "
        "today.",),
    8: ("Looked for and not found: a hold that the older watcher missed and today's finds. Three such plans were "
        "fired in eight kilns of the bench each. Where a hold was missed it still is.",),
    11: ("Looked for and not found. The wild reading was put into two plain firings at some thirty moments each, "
         "into three kilns of the bench at some fifty each, and into five firings of the second plant at six "
         "each, with one reading a minute. Nowhere did it make the older watcher wake.",),
}
"""What was looked for on our bench and not found, by mechanism."""

_LONG_ANNEAL = on_paper("a thick plate, ten hours of anneal",
                        "150/670/30 squeeze, 250/800/10 top, free/516/600 anneal, 20/430, 60/370, free/40")
_FREE_CLIMB = on_paper("a free climb to a long hold", "free/650/320 top, free/516/60 anneal, 60/430, free/40")
_COLD_HOLDS = on_paper("two holds near 100 °C",
                       "100/95/60, 100/120/45, 200/650/15 top, free/516/60 anneal, 60/430, free/40")
_FULL_FUSE = on_paper("full fuse",
                      "220/620, 50/670/30 squeeze, 250/800/10 top, free/516/60 anneal, 55/430, 150/370, free/40")


def _like(name: str, seed: int, **changed: object) -> Case:
    """Return the clean firing of a seed under another name, with no habits, and what else is changed."""
    return replace(clean_case(seed), name=name, habits=(), **changed)  # type: ignore[arg-type]


def _power_lost_under_a_look() -> Case:
    """Return a firing whose power goes at 600 °C in the second climb."""
    case = case_named("clean-501000171")
    assert isinstance(case, Case)
    return replace(case, name="clean-501000171, power lost at 600 °C", faults=("power-cut@above600",))


_FIND = "Find every hold; wake nobody."


def firings() -> list[Shown]:
    """Return the firings, in the order of their mechanisms."""
    return [*_false_wakes(), *_swallowed(), *_unseen(), *_many()]


def _false_wakes() -> list[Shown]:
    """Return those of mechanisms 1 to 6, in which nothing is wrong."""
    return [
        _quiet(1, "a", "clean-501000079", (9.3, 11.0),
               "The hold begins after a fall without power; the probe dips by some kelvins and comes back."),
        _quiet(1, "b", "second-clean-31000006", (4.0, 7.0),
               "The same on the second plant: the probe reads above the plan in the climb's holds, and below it "
               "here."),
        _quiet(2, "", "clean-501000055", (6.2, 9.8),
               "The probe reads 9 to 12 K high in the hot holds and less at the anneal; the controller swings "
               "there."),
        _quiet(3, "", "clean-501000127", (3.0, 6.2), "The kiln is hardly strong enough for its top."),
        _quiet(4, "a", "clean-501000054", (13.5, 16.3), "The vent is opened for six minutes as the fall begins."),
        _quiet(4, "b", "clean-501000074", (5.2, 6.6), "The vent is opened for five minutes in the fall."),
        _quiet(5, "", "clean-501000019", (5.8, 7.2), "Two ramps of the cooling begin."),
        _quiet(6, "a", "clean-501000010", None, "A switch with wide hysteresis, in the climb and in the anneal."),
        _quiet(6, "b", "second-clean-31000011", (0.3, 6.6), "The same on the second plant."),
    ]


def _quiet(mechanism: int, letter: str, name: str, window_h: tuple[float, float] | None, happens: str) -> Shown:
    """Return a named firing in which nothing is wrong."""
    return Shown(mechanism, letter, case_named(name), happens, "Nothing is wrong: wake nobody.", window_h)


def _swallowed() -> list[Shown]:
    """Return those of mechanism 7: something is wrong, and another finding has taken it."""
    begun_again = _like("clean 1, begun again", 1,
                        faults=("stuck=1h@step4:ramp+20min", "restart=2s@step4:ramp+85min"))
    return [
        Shown(7, "a", _power_lost_under_a_look(),
              "The power goes at 600 °C. The thin probe falls so fast that it looks like an opened lid.",
              "Wake within ten minutes, and say that the kiln does not heat.", (1.8, 5.0), "power-cut",
              ("firing-stopped",), within_s=600.0, near=("sudden-drop",)),
        Shown(7, "b", case_named("ajar-top-3"), "A lid stays ajar at the top.",
              "Tell within five minutes that the kiln falls.", (5.0, 7.5), "ajar", ("firing-stopped", "sudden-drop"),
              must_wake=False, within_s=300.0),
        Shown(7, "c", begun_again,
              "The controller stands for an hour in the cooling, and then begins again at step 1.",
              "Wake within half an hour: the piece is being fired again.", (9.0, 15.0), "restart", ("restarted",),
              within_s=1800.0),
        Shown(7, "d", case_named("welded-falling-4"), "The contact welds in the fall, and opens an hour later.",
              "Wake for the runaway by its own name, and for none of its consequences.", (5.0, 9.0), "runaway",
              ("over-temperature", "firing-stopped")),
    ]


def _unseen() -> list[Shown]:
    """Return those of mechanisms 8 and 9: what the follower, or the probe, does not see."""
    return [
        Shown(8, "a", _like("clean 1, free climb", 1, plan=_FREE_CLIMB, glass="90", thickness_mm=6.0, start_s=120.0),
              "A free climb, a hold of 320 minutes, a free fall.", _FIND, (9.0, 13.5), looks_at="parts"),
        Shown(8, "b", _like("clean 3, cold holds", 3, plan=_COLD_HOLDS, glass="90", thickness_mm=6.0, start_s=120.0),
              "Two holds near 100 °C begin the plan. At the top the probe reads 14 K low.", _FIND, (0.0, 9.0),
              looks_at="parts"),
        *_blind(),
    ]


def _blind() -> list[Shown]:
    """Return those of mechanism 9."""
    kiln = PRESETS["top-loader"]
    flickers = Case("flickering all night", "mechanism", _FULL_FUSE, kiln=kiln,
                    faults=("flickers=20@step1:ramp+60min",))
    frozen = Case("frozen in the anneal", "mechanism", _LONG_ANNEAL, thickness_mm=19.0, kiln=kiln,
                  faults=("frozen@step3:hold+3min",))
    blind = _like("clean 8, blind at the top", 8, faults=("open=20min@step2:hold+60s",))
    lost = ("reading-flickers", "sensor-fault", "readings-missing")
    return [
        Shown(9, "a", flickers, "The contact is lost twenty times an hour, for some seconds each.",
              "Tell it once, as one thing that stands.", None, "flickers", ("reading-flickers",), must_wake=False,
              before=OLDER),
        Shown(9, "b", frozen, "Three minutes into an anneal of ten hours the reading stands still.",
              "Wake, and do not praise the hold: nobody saw it.", None, "frozen", ("reading-frozen",),
              looks_at="anneal", before=OLDER),
        Shown(9, "c", case_named("flickers-1"), "The contact comes and goes.",
              "Tell the contact; conclude nothing from it.", (4.0, 7.0), "flickers", lost, must_wake=False),
        Shown(9, "d", case_named("second-zeros-1"), "From the anneal on, some of the readings are 0.0.",
              "Say that readings are lost.", (7.0, 9.0), "zeros", lost, must_wake=False),
        Shown(9, "e", blind, "A logger of one reading a minute is blind for twenty minutes from the top on.",
              "Wake for the blindness, and for no power cut.", (9.0, 11.5), "open", lost),
    ]


def _many() -> list[Shown]:
    """Return that of mechanism 10: one cause, and more than one alert that wakes."""
    return [
        Shown(10, "", case_named("ajar-top-1"),
              "A lid stays ajar from the middle of the top on, and the kiln falls past its anneal.",
              "Wake once: the anneal is missed.", (5.0, 8.0), "ajar", ("hold-cut-short",)),
    ]
