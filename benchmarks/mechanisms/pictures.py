"""The pictures of a mechanism: a row a firing, the older watcher's alerts at the left, today's at the right."""

from __future__ import annotations

from collections.abc import Sequence

from benchmarks.mechanisms.shown import Shown, not_found
from benchmarks.mechanisms.watchers import Judged
from simulations.firing import Simulated
from simulations.studies.small_picture import Level, Picture, Tick, sheet

_BELOW_K = 20.0
"""A stretch of a firing is drawn from so far below its lowest reading [K]. [chosen: the line stays off the edge]"""


def pictures(title: str, rows: Sequence[tuple[Shown, Simulated, Judged, Judged]]) -> str:
    """Return one SVG with a row a firing."""
    cells = []
    for shown, fired, before, today in rows:
        cells += [picture(shown, fired, judged, f"{shown.name}, {when}")
                  for judged, when in ((before, "before"), (today, "today"))]
    return sheet(cells, title, 2)


def picture(shown: Shown, fired: Simulated, judged: Judged, heading: str) -> str:
    """Return one firing, or the stretch of it that is shown, with what one watcher told by itself."""
    samples = fired.samples
    if shown.window_h is not None:
        from_s, to_s = (hours * 3600 for hours in shown.window_h)
        samples = [sample for sample in samples if from_s <= sample.t_s <= to_s]
    first_s, last_s = samples[0].t_s, samples[-1].t_s
    temps_c = [sample.temp_c for sample in samples if sample.temp_c is not None]
    steps, parts = shown.case.plan.steps, fired.truth.parts
    missing = not_found(parts, judged) if shown.looks_at == "parts" else ()
    return "".join(Picture(
        heading=heading, samples=samples, has_axes=True,
        note=f"{shown.case.kiln.name}, {shown.case.thickness_mm:g} mm",
        ticks=[Tick(told.kind, told.at_s, told.woke) for told in sorted(judged.heard, key=lambda told: told.at_s)
               if first_s <= told.at_s <= last_s],
        begins_s=[part.start_s for part in parts if first_s < part.start_s < last_s],
        wrong_s=[h.at_s for h in fired.truth.faults if first_s < h.at_s < last_s and h.name == shown.fault]
        + [part.start_s for part in missing],
        levels=[Level(part.start_s, last_s if part.end_s is None else part.end_s, steps[part.step - 1].to_c)
                for part in parts if part.part == "hold" and shown.case.keyed is None],
        lowest_c=0.0 if shown.window_h is None else max(0.0, min(temps_c, default=0.0) - _BELOW_K),
    ).svg())
