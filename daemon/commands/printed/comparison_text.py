"""A comparison of the thermocouple as text and as JSON, for ``lehrling sensor calibrate``."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from daemon.settings.config import Config
    from daemon.store.wear.calibrations import Calibration
    from hw.accuracy import Accuracy

CAUTIONS = {
    "ice": "Kiln cold, and unplugged or its isolator off. Keep water away from the Pi and its power supply. No "
           "ceramic sheath: it takes up water and can crack.",
    "boiling": "Boiling water and steam burn: wear a long glove, and hold the thermocouple far from its tip. Use a "
               "kettle or pan on a stove, never a metal sheath in an electric kettle. Kiln cold, and unplugged or "
               "its isolator off. No ceramic sheath.",
    "hold": "Put a thermocouple in only with the kiln cold, and unplugged or its isolator off, never into a hot "
            "kiln. A sheath that touches an element carries mains voltage. Now only read the display.",
}
PREPARED = {
    "ice": "Crushed ice in a mug, clean water up to its top. The tip in the middle, 5 cm deep, off wall and bottom. "
           "Stir.",
    "boiling": "Plain water that goes on boiling. The tip 5 cm deep, off the bottom.",
    "hold": "In the anneal hold, after its first half hour.",
}


FIRST_MIN = 30.0
"""So long a hold goes on before it is compared in [min]. [common practice]"""


def write_found(kept: Calibration, here: Accuracy | None, config: Config, *, within: bool | None,
                held_s: float | None = None) -> None:
    """Write what a comparison came to, and what it proves.

    Parameters
    ----------
    kept
        As it was kept.
    here
        What is stated of such a reading as new; None where nothing is.
    config
        The settings.
    within
        Whether sound new parts can be so far off; None where that is not known.
    held_s
        For how long the kiln had been in this hold [s]; None where that is not known.
    """
    from daemon.firing.plan.plan import rate_to_unit
    from daemon.sensor import stated
    from daemon.sensor.reference import Method
    from hw.accuracy import COVERAGE

    found = stated.Thermocouple(kept.thermocouple_type, kept.tolerance_class)
    unit, row = config.unit, stated.table_row(kept, config.unit, None)
    sure = ", ".join(f"{name} {rate_to_unit(COVERAGE * part, unit):.1f}" for name, part in (
        ("reference", kept.reference_k), ("noise", kept.noise_k), ("steadiness", kept.steadiness_k),
        ("converter's step", kept.step_k)))
    asked = "The other instrument shows" if kept.method == Method.HOLD else "It should read"
    sys.stdout.write(f"\nSteady at {row['read']}, by {kept.readings} readings. {asked} {row['should']}.\n"
                     f"It reads {row['off']} (k = 2: {sure}).\n")
    if held_s is not None:
        early = "" if held_s >= 60 * FIRST_MIN else f" Repeat it after {FIRST_MIN:.0f} min: the two may still differ."
        sys.stdout.write(f"The kiln had been in this hold for {held_s / 60:.0f} min.{early}\n")
    if here is not None:
        judged = stated.TOO_VAGUE if within is None else "good." if within else (
            "MEND. Repeat it; if it stays, see what lehrling sensor check says.")
        sys.stdout.write(f"Sound new parts ({stated.class_words(found)}) may be off by {stated.short(here, unit)}: "
                         f"{judged}\n")
    sys.stdout.write(f"Kept as number {kept.calibration_id}. It changes no reading, past or to come.\n\n"
                     f"{stated.proof(Method(kept.method), found, unit)}\n")


def as_json(found: Calibration, *, of_present: bool) -> dict[str, Any]:
    """Return a comparison as ``--json`` prints it; ``of_present``: in use, of the thermocouple that is in now."""
    from daemon.store.stamps import stamp

    return {
        "number": found.calibration_id, "utc": stamp(found.wall_utc), "method": found.method,
        "by": found.said or None, "thermocouple_type": found.thermocouple_type,
        "tolerance_class": found.tolerance_class, "reference_c": found.reference_c,
        "reading_c": found.reading_c, "off_k": found.off_k, "plus_minus_k": found.plus_minus_k,
        "readings": found.readings, "cold_junction_c": found.cold_junction_c,
        "standard_k": {"reference": found.reference_k, "noise": found.noise_k, "steadiness": found.steadiness_k,
                       "step": found.step_k},
        "out_of_use": found.is_removed, "of_present_thermocouple": of_present,
    }
