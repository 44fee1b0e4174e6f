"""Setting Lehrling up on the page: kiln, controller, probe, units, clock and quiet hours; asked of the daemon."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import time
from zoneinfo import available_timezones

from flask import Blueprint, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from daemon.errors import BadInput
from daemon.service.ask_settings import ask_settings
from daemon.settings.change import Changes
from daemon.settings.config import FILE_NAME, MOST_KW, MOST_PRICE, THERMOCOUPLE_TYPES, Config
from daemon.store import firings
from web import words
from web.request.context import daemon_state, database, kiln_id, settings
from web.request.form import Form
from web.request.thermocouple import why_missing
from web.security import access

BLUEPRINT = Blueprint("settings_form", __name__)

UNITS = {"C": "°C", "F": "°F"}
MAINS = {"50": "50 Hz", "60": "60 Hz"}
CLASSES = {"": "not known: as class 2", "1": "class 1", "2": "class 2"}
THICKNESSES = {"mm": "millimetres", "inch": "inches, as 1/4\""}
FIELDS = {
    "name": "kiln.name", "controller_unit": "kiln.controller_unit", "unit": "owner.unit",
    "thickness_unit": "owner.thickness_unit", "time_zone": "owner.time_zone", "whom_to_call": "owner.whom_to_call",
    "power_kw": "kiln.power_kw", "price_per_kwh": "kiln.price_per_kwh", "currency": "kiln.currency",
    "thermocouple_type": "probe.thermocouple_type", "tolerance_class": "probe.tolerance_class",
    "mains_hz": "probe.mains_hz",
    "quiet_from": "owner.quiet_from", "quiet_to": "owner.quiet_to", "awake_at": "owner.awake_at",
}
"""The form's fields, each with the setting it changes."""


@BLUEPRINT.get("/setup")
def show() -> str:
    """Show what is set."""
    return _page(Form(_set(settings().config)))


@BLUEPRINT.post("/setup")
def keep() -> Response | tuple[str, int]:
    """Keep what has changed."""
    form = Form(request.form)
    before = _set(settings().config)
    wanted = {
        "name": form.line("name", asked="Give the kiln a name."),
        "controller_unit": form.choice("controller_unit", UNITS, before["controller_unit"]),
        "unit": form.choice("unit", UNITS, before["unit"]),
        "thickness_unit": form.choice("thickness_unit", THICKNESSES, before["thickness_unit"]),
        "time_zone": form.line("time_zone"), "whom_to_call": form.line("whom_to_call"),
        "power_kw": _figure(form, "power_kw", MOST_KW, "kW"),
        "price_per_kwh": _figure(form, "price_per_kwh", MOST_PRICE, ""),
        "currency": form.line("currency"),
        "thermocouple_type": form.choice("thermocouple_type", THERMOCOUPLE_TYPES, before["thermocouple_type"]),
        "tolerance_class": form.choice("tolerance_class", CLASSES, before["tolerance_class"]),
        "mains_hz": form.choice("mains_hz", MAINS, before["mains_hz"]),
        **{name: form.clock_time(name) for name in ("quiet_from", "quiet_to", "awake_at")},
    }
    if not form.wrong and (wanted["quiet_from"] or wanted["quiet_to"]) and (
            not wanted["quiet_from"] or not wanted["quiet_to"] or wanted["quiet_from"] == wanted["quiet_to"]):
        form.wrong["quiet_to"] = "Quiet hours need two different times. Give both, or leave both empty."
    changes = {FIELDS[name]: value or None for name, value in wanted.items() if value != before[name]}
    if form.wrong:
        return _page(form), 400
    if not changes:
        return redirect(url_for("settings_form.show", kept="same"), code=303)
    try:
        heard = ask(changes)
    except BadInput as err:
        form.wrong |= beside(err, FIELDS)
        all_shown = len(form.wrong) >= max(1, err.text.count("\n"))  # a line for each setting
        return _page(form, trouble="" if all_shown else words.bound(err.text)), 409
    return redirect(url_for("settings_form.show", kept="yes" if heard else "later"), code=303)


def _figure(form: Form, name: str, most: float, unit: str) -> str:
    """Return a number as it is set, empty where none was typed."""
    return _typed(form.number(name, 0.0, most, unit))


def ask(changes: Changes) -> bool:
    """Change settings, by way of the daemon where it runs; return whether it did.

    Raises
    ------
    BadInput
        Saying what can't be used and the remedy.
    """
    mine = settings()
    return ask_settings(mine.config.file or mine.data_dir / FILE_NAME, mine.run_dir, changes)


def beside(err: BadInput, fields: Mapping[str, str]) -> dict[str, str]:
    """Return what is wrong with each field of a form, of what the settings file would be refused for.

    Parameters
    ----------
    err
        What ``ask`` raised: a line for each setting, such as ``[owner] time_zone: …``.
    fields
        The form's fields, each with the setting it changes.
    """
    lines = re.findall(r"^\s*\[(\w+)\] (\w+): (.+)$", err.text, re.MULTILINE)
    found = {f"{section}.{key}": words.capital(words.bound(words.quoted(told))) for section, key, told in lines}
    return {name: found[key] for name, key in fields.items() if key in found}


def _set(config: Config) -> dict[str, str]:
    """Return the form's fields as they are set."""
    begin, end = config.quiet_hours or (None, None)
    return {
        "name": config.kiln_name, "controller_unit": config.controller_unit or config.unit, "unit": config.unit,
        "thickness_unit": config.thickness_unit, "time_zone": config.time_zone or "",
        "whom_to_call": config.whom_to_call,
        "power_kw": _typed(config.energy.power_kw), "price_per_kwh": _typed(config.energy.price_per_kwh),
        "currency": config.energy.currency, "thermocouple_type": config.probe.thermocouple_type,
        "tolerance_class": str(config.probe.tolerance_class or ""),
        "mains_hz": str(config.probe.settings.get("mains_hz", 50)),
        "quiet_from": _as_typed(begin), "quiet_to": _as_typed(end), "awake_at": _as_typed(config.awake_at),
    }


def _typed(value: float | None) -> str:
    """Return a number as one types it; empty for none."""
    return "" if value is None else f"{value:.10g}"


def _as_typed(moment: time | None) -> str:
    return f"{moment:%H:%M}" if moment else ""


_KEPT = {
    "yes": "Saved. Lehrling works with it from now on.", "same": "Nothing was changed.",
    "later": "Saved. The watch does not run just now; it works with it from its next start on.",
}


def _page(form: Form, trouble: str = "") -> str:
    kiln = kiln_id()
    said = daemon_state()
    heard = said is not None and not said.stale
    temp_c = said.number("temp_c") if said is not None and heard else None
    return render_template(
        "settings_form.html", form=form, units=UNITS, mains=MAINS, thicknesses=THICKNESSES, classes=CLASSES,
        type_pairs=[(letter, letter) for letter in THERMOCOUPLE_TYPES],
        zones=sorted(available_timezones()),
        running=kiln is not None and firings.current(database(), kiln) is not None, trouble=trouble,
        kept=_KEPT.get(request.args.get("kept", ""), ""), may_change=access.may_change(settings()),
        reads=_reads(heard, temp_c), config_trouble=settings().config.trouble,
    )


def _reads(heard: bool, temp_c: float | None) -> str:
    """Return what the probe reads just now, as a sentence."""
    unit = settings().unit
    if not heard:
        return "Nothing is heard from the watch just now, so nothing is known of the thermocouple."
    if temp_c is None:
        return why_missing() or "It gives no temperature just now. Look at its plug, its leads and the board."
    return words.bound(f"It reads {words.temp(temp_c, unit)} °{unit} now. In a cold kiln that is the room.")
