"""How the kinds of alert go together: how long each must stand, what follows from what, which name is the sharper."""

from __future__ import annotations

from dataclasses import dataclass

from daemon.firing.watches.wrong_plan import JUDGED_BY_PLAN

RUNAWAY = "over-temperature"


@dataclass(frozen=True, slots=True)
class Timing:
    """How long a finding must stand before it is told, and be gone before it is over [s]."""

    on_delay_s: float
    off_delay_s: float


TIMINGS: dict[str, Timing] = {
    "over-temperature": Timing(0.0, 120.0),
    "cooling-too-fast": Timing(20.0, 300.0),
    "not-cooling": Timing(60.0, 300.0),
    "firing-stopped": Timing(20.0, 480.0),
    "hold-cut-short": Timing(40.0, 300.0),
    "hold-overrun": Timing(20.0, 180.0),
    "hold-off-target": Timing(60.0, 300.0),
    "heating-too-fast": Timing(60.0, 300.0),
    "not-climbing": Timing(40.0, 600.0),
    "not-started": Timing(60.0, 60.0),
    "restarted": Timing(40.0, 600.0),
    "sudden-drop": Timing(0.0, 30.0),
    "haze-range": Timing(60.0, 600.0),
    "wrong-plan": Timing(0.0, 600.0),
    "sensor-fault": Timing(0.0, 60.0),
    "readings-missing": Timing(0.0, 60.0),
}
"""sensor-fault and readings-missing count their own seconds of blindness before they are seen."""

CONSEQUENCES: dict[str, tuple[str, ...]] = {
    "wrong-plan": JUDGED_BY_PLAN,
    "sudden-drop": ("firing-stopped", "cooling-too-fast", "hold-cut-short", "hold-off-target", "not-climbing",
                    "not-cooling", "restarted"),
    "firing-stopped": ("sudden-drop", "cooling-too-fast", "hold-cut-short", "not-climbing", "not-cooling"),
    "restarted": ("not-cooling", "not-climbing", "hold-cut-short", "heating-too-fast"),
    "hold-cut-short": ("cooling-too-fast", "not-cooling"),
    "over-temperature": ("not-cooling", "hold-overrun", "restarted"),
    "sensor-fault": ("readings-missing", "not-started", *JUDGED_BY_PLAN),
    "not-cooling": ("hold-overrun",),
}
"""What follows from what: a consequence stands under its cause and does not sound by itself."""

SHARPER: dict[str, tuple[str, ...]] = {
    "not-cooling": ("restarted", "hold-off-target"),
    "not-climbing": ("hold-off-target",),
    "hold-cut-short": ("firing-stopped", "hold-off-target", "restarted"),
    "hold-off-target": ("hold-cut-short",),
    "cooling-too-fast": ("firing-stopped", "hold-cut-short", "hold-off-target", "restarted"),
    "firing-stopped": ("restarted", "hold-off-target"),
}
"""Names that may replace a first, vaguer one while the trouble is the same."""
EXPLAINED_BY_PLAN = "wrong-plan"
"""A name that may replace any that compares with the chosen plan, for as long as the other plan explains it."""
ONCE = ("hold-cut-short",)
"""Kinds that tell of something past, which happens once: the same end of the same hold is not told again."""
