"""Annealing advice in words, as JSON and as the steps of a plan."""

from __future__ import annotations

from collections.abc import Iterator
from math import floor, log10
from typing import Any

from daemon.firing.durations import whole_minutes
from daemon.firing.plan.plan import Plan, Step, Unit, to_unit
from daemon.firing.plan.read_back import rate_in_both
from daemon.firing.units import NO_SAFETY_DEVICE
from daemon.glass.advice import (
    PRACTICE,
    STRESS,
    TARGET_MPA,
    TENSION,
    TRANSIENT_MPA,
    Anneal,
    anneal,
    heating_limit,
)
from daemon.glass.relaxation import minutes_to_relax, slower_times

OFF_K = (3.0, 6.0, 10.0)
"""How much a hold may be low: trivial, a note, more hold [K]. [common practice]"""
_SO_THAT = {
    STRESS: "so that little stress stays", TENSION: "so that the skin bears the pull while it cools",
}
_WHY = {
    PRACTICE: "rates of common practice rule: the ideal slab would bear more, real work does not",
    STRESS: f"the stress that stays rules: no more than about {TARGET_MPA:g} MPa in the core",
    TENSION: f"the tension while cooling rules: no more than about {TRANSIENT_MPA:g} MPa in the skin",
}


def advice_json(advice: Anneal, *, uneven: bool) -> dict[str, Any]:
    """Return the advice as plain values; ``other_faces`` is the other end of its range."""
    other = _other(advice)
    return {
        "hold_c": advice.hold_c, "hold_min": advice.hold_min,
        "stages": [{"to_c": s.to_c, "rate_c_per_h": s.rate_c_per_h, "ruled_by": s.ruled_by} for s in advice.stages],
        "ruled_by": advice.stages[0].ruled_by,
        "hold_ruled_by": advice.hold_ruled_by,
        "glass_relaxes_min": round(minutes_to_relax(advice.glass, advice.hold_c), 2),
        "slower_when_low_k": {f"{k:g}": round(slower_times(advice.glass, advice.hold_c, k), 2) for k in OFF_K},
        "other_faces": {
            "faces": other.faces, "hold_min": other.hold_min,
            "stages": [{"to_c": s.to_c, "rate_c_per_h": s.rate_c_per_h, "ruled_by": s.ruled_by}
                       for s in other.stages],
        },
        "assumes": {
            "glass": advice.glass.name, "source": advice.glass.source, "thickness_mm": advice.thickness_mm,
            "uneven": uneven, "faces": advice.faces, "flat_even_slab": True,
            "diffusivity_m2_s": advice.glass.diffusivity_m2_s, "expansion_per_k": advice.glass.expansion_per_k,
            "core_tension_mpa": TARGET_MPA, "skin_tension_mpa": TRANSIENT_MPA,
        },
    }


def as_plan(advice: Anneal, unit: Unit = "C", *, is_from_cold: bool = False) -> Plan:
    """Return the advice as steps in ``unit``: the way to the hold, the hold, the cooling.

    The way is a free fall from the top; from cold it is a climb no faster than a fused plate bears.

    In °F temperatures are whole degrees, and rates are rounded down to two figures: never looser.
    """
    bears, _ = heating_limit(advice.glass, advice.thickness_mm, advice.faces)
    climb = _no_faster(bears, unit) if is_from_cold else None
    hold = Step(climb, _whole(advice.hold_c, unit), advice.hold_min * 60, "anneal")
    cooling = [Step(_no_faster(stage.rate_c_per_h, unit), _whole(stage.to_c, unit)) for stage in advice.stages]
    return Plan(f"Anneal, {advice.thickness_mm:g} mm of {advice.glass.name}", unit, (hold, *cooling))


def _whole(temp_c: float, unit: Unit) -> float:
    """Return a temperature that is a whole number of °F where that is the unit [°C]."""
    return temp_c if unit == "C" else (round(temp_c * 9 / 5 + 32) - 32) * 5 / 9


def _no_faster(rate_c_per_h: float, unit: Unit) -> float:
    """Return a rate that has two figures in °F/h where that is the unit, and is no faster [°C/h]."""
    if unit == "C":
        return rate_c_per_h
    in_f = rate_c_per_h * 9 / 5
    grain = 10.0 ** (floor(log10(in_f)) - 1)
    return floor(in_f / grain + 1e-9) * grain * 5 / 9


def advice_lines(advice: Anneal, *, uneven: bool) -> Iterator[str]:
    """Yield the advice line by line, in °C and °F."""
    doubled = " (twice the thickness, as uneven work is)" if uneven else ""
    faces = "one cooled face, as on a shelf" if advice.faces == 1 else "two cooled faces"
    yield f"Anneal for {advice.thickness_mm:g} mm of glass {advice.glass.name}{doubled}, {faces}"
    yield f"  hold at {_temp(advice.hold_c)} for {whole_minutes(advice.hold_min * 60)}"
    for stage in advice.stages:
        yield f"  then {rate_in_both(stage.rate_c_per_h)} to {_temp(stage.to_c)}: {_rule(stage.ruled_by)}"
    yield f"  in all about {advice.total_h:.0f} h; at the end the kiln itself may be slower"
    yield f"Why: {_WHY[advice.stages[0].ruled_by]}."
    yield from _other_faces(advice)
    need = minutes_to_relax(advice.glass, advice.hold_c)
    slower = ", ".join(f"{k:g} °C low, {slower_times(advice.glass, advice.hold_c, k):.1f} times" for k in OFF_K)
    yield (f"The glass itself relaxes at {_temp(advice.hold_c)} in about {whole_minutes(need * 60)}; the hold is "
           f"longer so that piece, shelf and mould even out. Off its target the glass takes longer: {slower}.")
    yield (f"Assumes a flat, even slab ({advice.glass.source}). Diffusivity, expansion and stiffness are known to "
           "about 15 % together; one probe doesn't see how even the kiln is.")
    yield "Your glass's data sheet comes first. " + NO_SAFETY_DEVICE


def _rule(ruled_by: str) -> str:
    """Return the rule of a stage as the end of its line."""
    return _SO_THAT.get(ruled_by, ruled_by)


def _other(advice: Anneal) -> Anneal:
    """Return the advice for the other count of cooled faces."""
    return anneal(advice.glass, advice.thickness_mm, 2 if advice.faces == 1 else 1)


def _other_faces(advice: Anneal) -> Iterator[str]:
    """Yield what the other count of cooled faces would ask, where that is another rate."""
    other = _other(advice)
    if other.stages[0].rate_c_per_h == advice.stages[0].rate_c_per_h:
        return
    which = "both faces cooled alike" if other.faces == 2 else "it lay on a shelf, one face cooled"
    yield (f"If {which}, the first stage would be {rate_in_both(other.stages[0].rate_c_per_h)} "
           f"({_rule(other.stages[0].ruled_by)}). Real firings on a shelf lie between the two; take the slower.")


def _temp(temp_c: float) -> str:
    """Return a temperature in both units."""
    return f"{temp_c:.0f} °C ({to_unit(temp_c, 'F'):.0f} °F)"
