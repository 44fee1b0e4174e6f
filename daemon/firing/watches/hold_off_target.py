"""A hold stands off its target by more than this probe's usual difference.

The controller may be set to another target, or the probe may have moved. An anneal that is too cool may wake: stress
relaxes more slowly there. It does so only where the glass will not be annealed in the time it has
(daemon/firing/consequence.py). Every other hold, and an anneal that is too hot, is a look.

It is not raised where the kiln is already on its way back to the target, as a controller that swings past it; where
the usual difference of probe and plan is not known, or only roughly and the hold lies within that doubt; nor where
the kiln moves. How a hold and its level are found, also where the follower missed it, stands in
daemon/firing/detection/hold_level.py.
"""

from __future__ import annotations

from dataclasses import dataclass

from daemon.firing.detection.hold_level import OFF_K, standing
from daemon.firing.events import Rank, Text
from daemon.firing.kind import AtBeats, Example, Family, Finding, Kind, Vaguer
from daemon.firing.situation.view import View
from daemon.firing.speaker import ELECTRIC, Speaker


@dataclass(frozen=True, slots=True)
class HoldOffTarget:
    """A settled hold that stands off its target."""

    off_k: float
    """What it differs by beyond the usual difference [K]."""
    hold_c: float
    is_anneal: bool
    is_enough: bool = False
    """Whether an anneal that is too cool will still do for this thickness, as it reads
    (daemon/firing/consequence.py)."""
    may_be_enough: bool = False
    """Whether it will do only if the probe reads as much too low as it may."""


def hold_off_target(view: View) -> Finding[HoldOffTarget] | None:
    """Return the finding where a settled hold stands off its target by more than the other holds do."""
    stands = standing(view)
    if stands is None or stands.comes_back or abs(stands.off_k) < OFF_K + stands.doubt_k:
        return None
    anneal = view.anneal is not None and stands.hold.index == view.anneal.index
    rank = Rank.WAKE if anneal and stands.off_k < 0 else Rank.LOOK
    return Finding(KIND, rank, stands.since_s, HoldOffTarget(stands.off_k, stands.hold.to_c, anneal),
                   stands.hold.step, severity_c=abs(stands.off_k))


_IF_TARGET_IS_RIGHT = {
    True: "Is it right? The controller's switch may stick: if the kiln climbs, switch off at the isolator, the "
          "kiln's main switch.",
    False: "Is it right? Make the hold longer.",
}
"""What to do for a hold that is too hot, or not, and whose target is the plan's."""


def _words(finding: Finding[HoldOffTarget], speaker: Speaker) -> Text:
    facts = finding.facts
    name = "Anneal hold" if facts.is_anneal else "Hold"
    off = f"{speaker.difference(abs(facts.off_k))} too {'hot' if facts.off_k > 0 else 'cold'}"
    plan = speaker.temp(facts.hold_c)
    if not facts.is_anneal:
        meaning = f"The step does {'more' if facts.off_k > 0 else 'less'} than planned."
    elif facts.off_k > 0:
        meaning = "The glass relaxes faster there, but its cooling begins too hot."
    elif facts.is_enough:
        meaning = "Stress relaxes more slowly there, but the hold still does its work in its time."
    elif facts.may_be_enough:
        meaning = "Stress relaxes more slowly there. If the sensor reads too low now, the hold may still do its work."
    else:
        meaning = "So far below its target the anneal does little: stress relaxes several times more slowly."
    return speaker.text(
        what=f"{name} {off}, plan {plan}. That is more than this sensor usually differs from the plan.",
        head=f"The {name.lower()} is {off}. The plan asks {plan}.", meaning=meaning,
        acts=("Read the kiln's own display.",
              "Does it show the same? Look at the controller's target. Is it not the plan's? Correct it. "
              f"{_IF_TARGET_IS_RIGHT[facts.off_k > 0]}",
              "If not, Lehrling's sensor may have moved. Leave it until the kiln is cold."),
        caution=ELECTRIC,
    )


KIND = Kind(
    name="hold-off-target",
    title="hold too hot or too cold",
    watch=AtBeats(lambda setup: hold_off_target),
    words=_words,
    examples=(
        Example(HoldOffTarget(-14.0, 516.0, True), "the anneal, low"),
        Example(HoldOffTarget(-14.0, 516.0, True, is_enough=True), "the anneal, low, and still enough", Rank.LOOK),
        Example(HoldOffTarget(-24.0, 516.0, True, may_be_enough=True), "the anneal, low, and perhaps still enough",
                Rank.LOOK),
        Example(HoldOffTarget(9.0, 516.0, True), "the anneal, high", Rank.LOOK),
        Example(HoldOffTarget(9.0, 670.0, False), "another hold", Rank.LOOK),
    ),
    on_delay_s=60.0, off_delay_s=300.0,
    family=Family.PLAN,
    may_stand_under=("sudden-drop", "over-temperature"),
    may_replace=(Vaguer("not-cooling"), Vaguer("hold-cut-short"), Vaguer("firing-stopped")),
)
