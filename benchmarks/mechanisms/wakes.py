"""Three wakes that were withheld and three that were kept, in pairs of one finding, argued as a maker would.

The arguments were written by hand; every figure in them is measured on the firing when the page is made.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from benchmarks.mechanisms.page import on_paper, wrapped
from benchmarks.mechanisms.shown import Shown
from benchmarks.mechanisms.watchers import Judged, Told
from daemon.firing.durations import firing_clock, whole_minutes
from simulations.cases import Case, ToJudge
from simulations.firing import Simulated
from simulations.plant.builds import PRESETS
from simulations.random_plans import on_paper as plan_of
from simulations.studies.consequences import relaxation_times
from simulations.studies.onsets import Course
from simulations.studies.study import case_named
from simulations.truth import TruePart

_DECISION = "../develop/decisions/048-what-follows-decides-the-rank.md"
_FULL_FUSE = "220/620, 50/670/30 squeeze, 250/800/10 top, free/516/60 anneal, 55/430, 150/370, free/40"
_THICK = "70/670/60 squeeze, 200/800/15 top, free/{}/120 anneal, 22/430, 45/370, 150/40"


@dataclass(frozen=True)
class Argued:
    """A finding that woke, or did not, and why that is right.

    Attributes
    ----------
    case
        The firing.
    kind
        The alert that is argued; the first one of that kind.
    title
        What a maker would call it.
    why
        The argument, with the names of ``figures`` in braces.
    step
        The step of the plan whose hold counts.
    is_kept
        Whether it wakes.
    window_h
        The hours that are drawn.
    """

    case: ToJudge
    kind: str
    title: str
    why: str
    step: int
    is_kept: bool
    window_h: tuple[float, float]

    def shown(self) -> Shown:
        """Return it as a firing of which a picture can be drawn."""
        return Shown(0, "kept" if self.is_kept else "withheld", self.case, "", "", self.window_h,
                     next((fault.partition("=")[0].partition("@")[0] for fault in self.case.faults), ""))


def argued() -> list[Argued]:
    """Return the six, in pairs of one finding: withheld, then kept."""
    kiln, large = PRESETS["top-loader"], PRESETS["front-loader"]
    low = Case("anneal 12 K low at 516 °C", "argued", plan_of("full fuse", _FULL_FUSE), kiln=kiln,
               faults=("hold-off=-12@step4",))
    too_low = Case("12 mm, anneal 20 K low at 490 °C", "argued", plan_of("thick, annealed low", _THICK.format(490)),
                   thickness_mm=12.0, kiln=large, faults=("hold-off=-20@step3",))
    brisk = Case("12 mm, cooled 2.5 times too fast", "argued", plan_of("thick", _THICK.format(512)),
                 thickness_mm=12.0, kiln=large, faults=("cooling=2.5@step4:ramp+20min",))
    return [
        Argued(low, "hold-off-target", "An anneal hold that reads too cold, in 6 mm", _LOW, 4, False, (4.7, 8.0)),
        Argued(too_low, "hold-off-target", "An anneal hold that reads too cold, near the strain point", _TOO_LOW, 3,
               True, (10.8, 17.5)),
        Argued(case_named("clean-501000127"), "firing-stopped", "A fall from a top that was hardly reached", _TOP, 2,
               False, (4.0, 7.0)),
        Argued(case_named("power-lost-in-the-anneal"), "firing-stopped", "A fall in the middle of the anneal hold",
               _POWER, 4, True, (4.7, 8.0)),
        Argued(case_named("clean-501000019"), "cooling-too-fast", "A fall that begins too fast, in 6 mm", _BEGINS, 3,
               False, (4.9, 7.4)),
        Argued(brisk, "cooling-too-fast", "A fall that goes on too fast, in 12 mm", _BRISK, 3, True, (12.0, 17.5)),
    ]


_LOW = """The hold was planned at {planned_c} °C for {planned_min}, and {now_c} °C is read. The controller truly
holds too low; it is no error of the probe. But {now_c} °C is still hot enough for this glass. Three relaxation
times leave a twentieth of a stress, and in truth the glass spent {times} of them in this hold. {stress} MPa stays
by estimate. If I get up, I correct a target, and the piece is the same in the morning. It is told for the morning
because the next piece may be thicker."""
_TOO_LOW = """The same finding, in 12 mm. This plan anneals at {planned_c} °C, near the strain point, where stress
takes hours to relax, and the kiln holds still lower: {now_c} °C. In truth the glass spent {times} relaxation times
in the hold, and three are wanted. So the {planned_min} do next to nothing. {stress} MPa stays by estimate, which is
doubtful. When it wakes, {left_min} of the hold are left. To key in a higher target and a longer hold takes a
minute, as the kiln's manual says, with the lid shut. In the morning the glass is stiff, and only a second anneal
mends it."""
_TOP = """{now_c} °C and falling, and by the readings the top of {planned_c} °C was never reached. It looks like a
power cut. But the kiln is weak, and the probe reads {low_k} K low at the top. The controller had held for its
{held_min}, and what comes next in the plan is a fall with the power off. Suppose it were a power cut: the top is
done but for minutes. Getting up gives none of them back, and to climb again adds haze. What could still be lost is
the anneal, and the kiln has not come to that yet. If it falls through the anneal, that wakes. Here it stopped there
by itself, and held."""
_POWER = """{now_c} °C and falling, after {held_min} of the {planned_min}. This time nothing in the plan falls here.
The anneal decides whether the piece lasts: {stress} MPa stays by estimate if nobody comes, which is doubtful for 6
mm. The kiln is still warm. There are {time_left} to find out why it has no power. With the power back, the lines to
key in stand in the message. Switch only what is yours to switch: a breaker that trips again is for an electrician,
and the local code comes first. In the morning the piece is cold, with most of its anneal missing, and only a second
firing mends that."""
_BEGINS = """{rate} are read where {planned_rate} are planned, {since_min} after the fall began. The elements have
just switched off, and the probe no longer sees them. The glass does not follow so fast: over the whole step it
truly fell by {true_rate}. Even if it went on so, 6 mm would keep {stress_if} MPa by estimate, and up to 1 MPa
counts as well annealed. Who stood before the kiln now would find nothing to do. If the fall goes on, it wakes."""
_BRISK = """{rate} are read where {planned_rate} are planned, and it goes on: over the whole step the glass truly
fell by {true_rate}. 12 mm on a shelf cool through one face, and stress grows with the square of the thickness. If
it goes on so, {stress_if} MPa stays by estimate; as planned it would be {stress_planned} MPa. There are {time_left}
until the glass is stiff and keeps what it has. A vent that was left open is shut in a minute, from outside, with
gloves on. A rate that was keyed in wrongly is put right with the lines in the message. That is worth getting up
for."""


def figures(one: Argued, fired: Simulated, judged: Judged) -> dict[str, str]:
    """Return the figures that an argument may name, measured on its firing."""
    told = first_told(one, judged)
    truth, step = fired.truth, one.case.plan.steps[one.step - 1]
    hold = next(part for part in truth.parts if (part.step, part.part) == (one.step, "hold"))
    held_to_s = min(told.at_s, truth.times_s[-1] if hold.end_s is None else hold.end_s)
    after = next((part for part in truth.parts if part.step == one.step + 1 and part.part == "ramp"), None)
    now_c = next(s.temp_c for s in fired.samples if s.t_s >= told.at_s and s.temp_c is not None)
    low_k = step.to_c - _read_in(hold, fired)
    true_rate = None if after is None else truth.rate_c_per_h(after)
    if_so, planned = _stresses(told.meaning)
    stayed = next((answer for question, answer in judged.answers.items() if "stress" in question), "")
    return {
        "now_c": _found(r"(\d+) °C and falling", told.what) or f"{now_c:.0f}", "low_k": f"{low_k:.0f}",
        "since_min": whole_minutes(max(0.0, told.at_s - after.start_s) if after else 0.0),
        "planned_c": f"{step.to_c:.0f}", "planned_min": whole_minutes(step.hold_s),
        "held_min": whole_minutes(max(0.0, held_to_s - hold.start_s)),
        "left_min": whole_minutes(max(0.0, (hold.end_s or told.at_s) - told.at_s)),
        "times": f"{relaxation_times(Course(one.case, fired), one.step):.1f}",
        "stress": _stresses(stayed)[0],
        "stress_if": if_so, "stress_planned": planned,
        "rate": _found(r"(\d+) °C/h, planned", told.what) + " °C/h",
        "planned_rate": _found(r"planned (\d+) °C/h", told.what) + " °C/h",
        "true_rate": "an unknown rate" if true_rate is None else f"{-true_rate:.0f} °C/h",
        "time_left": "no minutes" if told.time_left_s is None else whole_minutes(told.time_left_s),
    }


def first_told(one: Argued, judged: Judged) -> Told:
    """Return the alert that is argued; ValueError where the watcher did not tell it at the rank that is argued."""
    told = next((told for told in judged.heard if told.kind == one.kind), None)
    if told is None or told.woke != one.is_kept:
        raise ValueError(f"{one.case.name}: {one.kind} was {'not told' if told is None else f'a {told.rank}'}, "
                         f"but is argued as {'a wake' if one.is_kept else 'a look'}. Write the argument anew.")
    return told


def _read_in(hold: TruePart, fired: Simulated) -> float:
    """Return what the probe read on the mean of a true hold [°C]."""
    temps_c = [s.temp_c for s in fired.samples
               if s.temp_c is not None and hold.start_s <= s.t_s <= (s.t_s if hold.end_s is None else hold.end_s)]
    return sum(temps_c) / len(temps_c)


def _stresses(meaning: str) -> tuple[str, str]:
    """Return the range of stress if it goes on so, and as planned [MPa], as an alert's words have them."""
    ranges = [f"{low} to {high}" for low, high in re.findall(r"(\d\.\d) to (\d\.\d) MPa", meaning)]
    if_so, planned, *_ = *ranges, "not told", "not told"
    return if_so, planned


def _found(pattern: str, text: str) -> str:
    """Return what the pattern finds in the text; empty where it is not there."""
    found = re.search(pattern, text)
    return found[1] if found else ""


def page(rows: Sequence[tuple[Argued, Simulated, Judged]], today: str, day: str, command: str, picture: str) -> str:
    """Return the page; ``today`` is the commit of the watcher, ``picture`` the link to the drawing."""
    found = [
        f"# Wakes argued, {day}", "", f"`{command}`", "",
        *wrapped("Three findings, each told twice: once for the morning, once as a wake. The watcher is that of "
                 f"commit {today}; the kilns are simulated. What a finding is worth is decided by what follows if "
                 f"nobody gets up, and by whether an act now still changes that ([048]({_DECISION})). A relaxation "
                 "time is that of Maxwell's model at the true temperature of the glass. Stress is an estimate for "
                 "flat, even glass, from two cooled faces to one; edges and uneven work are weaker. Times are h:mm "
                 "from the start press."), "",
        *wrapped("Lehrling is no safety device. The kiln's manual, the data sheet of the glass and the local code "
                 "come before anything that is said here."), "",
        f"![Three findings: withheld at the left, kept at the right]({picture})",
    ]
    for one, fired, judged in rows:
        found += _section(one, fired, judged)
    return "\n".join(found) + "\n"


def _section(one: Argued, fired: Simulated, judged: Judged) -> Iterator[str]:
    """Yield the section of one finding: what was told, of which firing, and the argument."""
    told, case = first_told(one, judged), one.case
    yield from ("", f"## {'Kept' if one.is_kept else 'Withheld'}: {one.title[0].lower()}{one.title[1:]}", "")
    yield from wrapped(f"“{told.what}” {'Get up' if one.is_kept else 'Look in the morning'}, "
                       f"{firing_clock(told.at_s)}. Firing `{case.name}`, {case.kiln.name}, {case.thickness_mm:g} "
                       f"mm of {case.glass}; plan {on_paper(case.plan)}.")
    yield ""
    yield from wrapped(" ".join(one.why.split()).format(**figures(one, fired, judged)))
