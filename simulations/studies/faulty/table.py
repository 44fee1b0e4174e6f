"""Every row of a study by name, in the order of its table."""

from __future__ import annotations

from simulations.studies.faulty import controller, kiln, probe
from simulations.studies.faulty.draft import Row

ROWS: dict[str, Row] = {
    "cooling-1.3": controller.cooling(1.3),
    "cooling-1.6": controller.cooling(1.6),
    "cooling-2.5": controller.cooling(2.5),
    "cooling-4": controller.cooling(4),
    "brisk-1.3": controller.cooling(1.3),
    "brisk-1.6": controller.cooling(1.6),
    "brisk-2.5": controller.cooling(2.5),
    "brisk-4": controller.cooling(4),
    "lid": kiln.lid,
    "open": probe.blind("open"),
    "power-gone": kiln.power_gone,
    "runaway": kiln.runaway,
    "stall": controller.stall,
    "anneal-low": controller.anneal_low,
    "anneal-skipped": controller.anneal_skipped,
    "lid-stays-open": kiln.lid_stays_open,
    "lid-ajar": kiln.lid_ajar,
    "short": probe.blind("short"),
    "silent": probe.blind("silent"),
    "open-cold": probe.open_cold,
    "power-gone-climbing": kiln.power_gone_climbing,
    "power-gone-cold": kiln.power_gone_cold,
    "power-back": kiln.power_back,
    "restart": controller.restart,
    "element-out": kiln.element_out,
    "anneal-warm": controller.anneal_warm,
    "top-low": controller.top_low,
    "anneal-short": controller.anneal_short,
    "top-overrun": controller.top_overrun,
    "stuck-falling": controller.stuck_falling,
    "welded-falling": kiln.welded_falling,
    "heating": controller.heating,
    "never-started": controller.never_started,
    "probe-fallen": probe.probe_fallen,
    "probe-pulled": probe.probe_pulled,
    "probe-moved": probe.probe_moved,
    "wall-short": probe.wall_short,
    "top-short": controller.top_short,
    "restart-falling": controller.restart_falling,
    "power-gone-coarse": kiln.power_gone_coarse,
    "ajar-top": kiln.ajar_top,
    "blind-top": probe.blind_top,
    "coded-zeros": probe.coded_zeros,
    "flickers-all-night": probe.flickers_all_night,
    "frozen-anneal": probe.frozen_anneal,
    "rows-missing": probe.rows_missing,
    "frozen": probe.frozen,
    "flickers": probe.flickers,
    "wrong-plan": controller.wrong_plan,
    "wrong-unit": controller.wrong_plan,
    "reversed": probe.wired("reversed", "sensor-fault"),
    # A chip set to N or S shows a K probe far above the plan's top, which wakes whatever the truth.
    "set-to-n": probe.wired("set-to-n", "wrong-plan", "hold-off-target", "over-temperature", rank="wake"),
    "set-to-s": probe.wired("set-to-s", "sensor-fault", "wrong-plan", "over-temperature", rank="wake"),
    "n-set-to-k": probe.wired("n-set-to-k", "wrong-plan", "hold-off-target"),
    # Before a hold is over, one probe can't tell a hold that it reads 50 K low from a kiln that stalls 50 K short of
    # it. That it does not climb is then the right name: its first act is to compare it with the kiln's own display.
    "copper-lead": probe.wired("copper-lead", "hold-off-target", "wrong-plan", "not-climbing"),
}
"""The plans of "brisk" rows cool at about 110 °C/h, those of "cooling" rows at about 55 (see ``case.py``)."""
