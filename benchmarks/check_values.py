"""Our figures beside published and derived ones: ``python -m benchmarks.check_values``. The tests hold the same."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from typing import NamedTuple

from daemon.glass.advice import anneal, heating_limit, staying_rate_c_per_h
from daemon.glass.load import Load, Suffered
from daemon.glass.materials import FAMILIES, Glass
from daemon.glass.relaxation import minutes_to_relax, relaxation_time_s
from daemon.glass.stress import STRUCTURAL_FACTOR
from daemon.glass.viscosity import Viscosity

DGG = Glass("DGG standard glass I", Viscosity(-2.5835, 4331.63, 247.6), 9.0e-6, 70.0, 0.22, 4.5e-7, "from memory")
SRM_710, SRM_711 = Viscosity(-2.626, 4239.0, 265.7), Viscosity(-2.621, 4254.649, 152.1)
FLUEGEL = "Fluegel 2007, measured (second-hand)"
SLAB = "Carslaw & Jaeger, ch. III"
PARABOLA = "closed form after Adams & Williamson 1920"
TWENTY = "τ = 6(1−ν)η/E, closed form"


class Row(NamedTuple):
    """One figure: what, theirs, ours, unit, whose."""

    what: str
    theirs: float
    ours: float
    unit: str
    source: str


def cooled(thickness_mm: float, faces: int, rate_c_per_h: float, from_c: float = 560.0,
           to_c: float = 20.0) -> Suffered:
    """Return what a slab of DGG goes through that is cooled at a steady rate."""
    load, steps = Load(DGG, (thickness_mm,), faces), round((from_c - to_c) / rate_c_per_h * 720)
    for k in range(steps + 1):
        load.offer(5.0 * k, from_c + (to_c - from_c) * k / steps)
    found = load.figures()
    if found is None:
        raise RuntimeError("no reading was taken")
    return found.slabs[0]


def rows() -> Iterator[Row]:
    """Yield the figures."""
    for curve, name, temps in ((SRM_710, "SRM 710", (1293, 725, 556)), (SRM_711, "SRM 711", (1185, 614, 443))):
        for log10, temp_c in zip((1.5, 6.6, 12.0), temps, strict=True):
            yield Row(f"{name}, 10^{log10:g} Pa·s", temp_c, curve.temp_c(log10), "°C", FLUEGEL)
    for thickness_mm, faces, rate, theirs in (
            (12.0, 2, 60.0, 0.6667), (12.0, 1, 60.0, 2.6667), (19.0, 2, 100.0, 2.785), (38.0, 2, 40.0, 4.457),
            (38.0, 1, 40.0, 17.827)):
        ours = cooled(thickness_mm, faces, rate).difference_last_passage_k
        yield Row(f"core − face, {thickness_mm:g} mm, {faces} f., {rate:g} K/h", theirs, ours, "K", SLAB)
    for thickness_mm, faces, rate, theirs in ((38.0, 2, 40.0, 1.200), (12.0, 1, 60.0, 0.718), (12.0, 2, 60.0, 0.179)):
        ours = cooled(thickness_mm, faces, rate).maxwell_core_mpa
        yield Row(f"core stress, {thickness_mm:g} mm, {faces} f., {rate:g} K/h", theirs, ours, "MPa", PARABOLA)
    yield Row("face : core stress, 38 mm", -2.0, _ratio(cooled(38.0, 2, 40.0)), "", PARABOLA)
    yield Row("share of volume relaxation", 0.40, 1 - 1 / STRUCTURAL_FACTOR, "",
              "Gardon & Narayanaswamy 1970, abstract")
    yield Row("τ at the annealing point", 66.9, relaxation_time_s(DGG, DGG.annealing_point_c), "s", TWENTY)
    for temp_c, theirs in ((545.0, 192.0), (517.0, 6265.0)):
        yield Row(f"to a twentieth at {temp_c:g} °C", theirs, minutes_to_relax(DGG, temp_c) * 60, "s", TWENTY)
    for thickness_mm, faces, theirs in ((12.7, 1, 18.0), (12.7, 2, 60.0), (6.4, 2, 240.0)):
        ours = staying_rate_c_per_h(FAMILIES["90"], thickness_mm, faces, 0.35)
        yield Row(f"rate to the strain point, {thickness_mm:g} mm, {faces} f.", theirs, ours, "K/h",
                  "Shand 1958, from memory; ours for 0.35 MPa")


def _ratio(slab: Suffered) -> float:
    return slab.maxwell_surface_mpa / slab.maxwell_core_mpa


def needs() -> Iterator[str]:
    """Yield what four thicknesses of class 90 need, by one cooled face and by two."""
    yield "class 90       climb cold  hold at 515 °C   first 55 °C  next 55 °C  to room   in all"
    for thickness_mm in (6.0, 12.0, 19.0, 38.0):
        for faces in (1, 2):
            asks = anneal(FAMILIES["90"], thickness_mm, faces)
            climb, _ = heating_limit(FAMILIES["90"], thickness_mm, faces)
            first, second, last = (f"{stage.rate_c_per_h:g} °C/h" for stage in asks.stages)
            yield (f"{thickness_mm:>2g} mm, {faces} face{'s' if faces == 2 else ' '} {climb:>6.0f} °C/h  "
                   f"{asks.hold_min:>8.0f} min  {first:>12} {second:>11} {last:>9} {asks.total_h:>6.0f} h"
                   f"  {asks.stages[0].ruled_by}")


def main() -> int:
    """Print both tables."""
    say = sys.stdout.write
    say(f"{'':<42} {'theirs':>9} {'ours':>9}        source\n")
    for row in rows():
        say(f"{row.what:<42} {row.theirs:>9.4g} {row.ours:>9.4g} {row.unit:<6} {row.source}\n")
    say("\n")
    say("".join(line + "\n" for line in needs()))
    return 0


if __name__ == "__main__":
    sys.exit(main())
