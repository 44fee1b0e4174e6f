"""The kiln and its probe: sound or not, how they drift, where the record lies and what stands guard over it."""

from __future__ import annotations

import shutil
from collections.abc import Collection, Mapping, Sequence
from datetime import datetime, tzinfo
from functools import cache, lru_cache
from pathlib import Path

from flask import Blueprint, render_template, url_for

from daemon.delivery.publishing import trouble_file
from daemon.firing.alerts.registry import PROBE_KINDS
from daemon.firing.durations import duration
from daemon.firing.plan.plan import parse_plan, to_unit
from daemon.firing.plan.schedule import PlannedPart, planned_parts
from daemon.firing.tracking.offset_history import BANDS_C
from daemon.lifecycle.broke_off import broken_off
from daemon.lifecycle.setup_from_store import holds_of
from daemon.sensor.due import COMPARE_FIRINGS
from daemon.service.state_reader import alert_of
from daemon.store import firings, found_parts, kilns, plans, readings
from daemon.store.database import FILE_NAME
from daemon.store.firings import Firing
from daemon.store.own_facts import setting
from daemon.store.safety import elsewhere
from daemon.store.safety.copies import copies_of
from daemon.store.stamps import moment
from daemon.store.wear import part_changes, told_wear
from daemon.store.wear.past_energy import LOOKED_AT
from web import words
from web.kiln.changed_parts import NAMES, just_taken, parts_of
from web.kiln.charts import Chart, climb_chart, difference_chart
from web.kiln.drift import Run, band_words, cooling, differences, fall_minutes, stretched
from web.kiln.energy_chart import energy_view
from web.kiln.worth import worth_of
from web.request.context import daemon_state, database, kiln_id, settings
from web.request.form import Form
from web.request.thermocouple import why_missing
from web.security import access, calendar_address, passcode
from web.times import date_words, time_words

BLUEPRINT = Blueprint("kiln", __name__)

COOLED = 10
"""Firings behind the cooling curve, whose traces are read. [chosen: bounds the work of a page]"""
_ANNEAL_BAND = 1
"""Which of BANDS_C the anneal of most glasses lies in. [chosen: annealing points lie at 480 to 560 °C]"""
_CHECKED = "integrity_checked_utc"


@BLUEPRINT.get("/kiln")
def show() -> str:
    """Show the kiln."""
    db, unit = database(), settings().unit
    kiln = kiln_id()
    ended = [] if kiln is None else firings.latest_of_kiln(db, kiln, LOOKED_AT)
    broken = broken_off(db, ended)
    whole = [firing for firing in ended if firing.firing_id not in broken]
    runs = [_run(firing) for firing in reversed(whole) if firing.plan_id is not None]
    climbs = stretched(runs)
    said = daemon_state()
    changes = [] if kiln is None else part_changes.changes(db, kiln)
    probes = kilns.probes(db, kiln) if kiln is not None else []
    bands = [difference_chart(f"band-{number}", _band_title(band, unit), points, changes, unit)
             for number, (band, points) in enumerate(differences(runs).items()) if points]
    return render_template(
        "kiln.html", unit=unit, firings=len(ended), broken=_left_out(broken), probes=probes,
        worth=None if kiln is None else worth_of(kiln, probes[-1] if probes else _set_probe()),
        said=said, temp=words.temp(said.number("temp_c"), unit) if said else "–",
        cold=words.temp(said.number("cold_junction_c"), unit) if said else "–", sensor=_sensor(),
        why_missing=why_missing(),
        bands=bands, main=_main(bands),
        climbs=climb_chart(climbs, changes) if climbs else None, cooling=_cooling(whole, unit), record=_record(),
        parts=[] if kiln is None else parts_of(kiln), wear=[] if kiln is None else _wear(kiln), taken=just_taken(),
        names=NAMES, form=Form(),
        energy=None if kiln is None else energy_view(kiln, ended[::-1], changes),
        power_given=settings().config.energy.power_kw is not None, may_change=access.may_change(settings()),
        calendar=_calendar(), published=_published(), compare_firings=COMPARE_FIRINGS,
    )


def _wear(kiln: int) -> list[str]:
    """Return what was last found of a kiln's wear, in sentences."""
    found = told_wear.of_kiln(database(), kiln)
    return [] if found is None else [words.bound(line) for line in found.lines]


def _calendar() -> str:
    """Return the address of the reminders for who knows the passcode; empty for others, and in a rehearsal."""
    mine = settings()
    if mine.rehearsal or not access.may_change(mine):
        return ""
    key = passcode.page_key(mine.data_dir)
    secret = calendar_address.token(key, passcode.fingerprint(mine.passcode_path))
    return url_for("reminders.show", token=secret, _external=True)


def _published() -> str:
    """Return what keeps other programs from hearing of the kiln; empty where nothing does."""
    mine = settings()
    found = None if mine.config.mqtt is None else trouble_file.read(mine.run_dir)
    if found is None or not found.is_told(mine.clock.utc()):
        return ""
    broker = "refuses" if found.refused else "is not reached"
    return (f"Other programs have not heard of this kiln since {_when(found.since_utc, mine.zone)}: the MQTT broker "
            f"{broker} ({found.text.rstrip('.')}).")


def _main(bands: Sequence[Chart]) -> str:
    """Return which band’s chart is looked at first: that of the anneal, else the lowest one; empty for none."""
    ids = [band.id for band in bands]
    return f"band-{_ANNEAL_BAND}" if f"band-{_ANNEAL_BAND}" in ids else ids[0] if ids else ""


def _left_out(broken: Collection[int]) -> str:
    """Return how many firings the figures leave out, in words; empty for none."""
    if not broken:
        return ""
    many = f"{len(broken)} firings are" if len(broken) > 1 else "One firing is"
    return words.bound(f"{many} left out of these figures: stopped on the way, or begun anew.")


def _set_probe() -> kilns.Probe:
    """Return the probe as it is set, for a kiln that has not been fired yet."""
    probe = settings().config.probe
    return kilns.Probe(0, probe.kind, probe.thermocouple_type)


def _band_title(band: tuple[float, float], unit: str) -> str:
    """Return the heading of a band: ``Held at 400 to 600 °C``."""
    shown = {c: f"{to_unit(c, unit):.0f}" for c in band}
    return words.bound(f"Held {'' if band[0] <= 0 or band[1] >= BANDS_C[-1][1] else 'at '}{band_words(band, shown)} "
                       f"°{unit}")


def _sensor() -> str:
    """Return how the probe stands now, in words."""
    said = daemon_state()
    if said is None or said.stale:
        return "Nothing is heard from the watch just now, so nothing is known of the probe."
    ailing = [a for a in map(alert_of, said.tables("alerts"))
             if a is not None and a.kind in PROBE_KINDS and a.cleared_s is None]
    if ailing:
        return words.bound(ailing[-1].text.what)
    if said.number("temp_c") is None:
        return "It gives no temperature. Read the kiln’s own display."
    return "The sensor answers, and its reading is plausible."


@cache
def _planned(toml_id: int, toml: str) -> tuple[PlannedPart, ...]:
    """Return the parts of a stored plan; its id is for the cache alone."""
    return planned_parts(parse_plan(toml, f"plan {toml_id}"))


def _run(firing: Firing) -> Run:
    """Return how a firing ran: the planned parts with their times and means, and the offsets of its holds."""
    stored = plans.plan(database(), firing.plan_id) if firing.plan_id is not None else None
    planned = _planned(stored.plan_id, stored.toml) if stored is not None else ()
    parts = [(planned[p.index], p.start_s, p.end_s if p.end_s is not None else p.start_s, p.mean_c)
             for p in found_parts.parts(database(), firing.firing_id) if 0 <= p.index < len(planned)]
    return Run(firing.firing_id, firing.started_utc.astimezone(settings().zone), parts,
               holds_of(database(), firing))


def _cooling(ended: list[Firing], unit: str) -> list[dict[str, str]]:
    """Return the closed kiln's own fall as rows; only what fell freely counts."""
    falls = []
    for firing in ended[:COOLED]:
        run = _run(firing)
        free = [start_s for planned, start_s, _, _ in run.parts
                if planned.direction < 0 and planned.rate_c_per_h is None]
        if free and run.parts and run.parts[-1][0].rate_c_per_h is None:
            falls.append(_fall(settings().data_dir, firing.firing_id, firing.ended_s or 0, free[-1]))
    return [{"from": f"{to_unit(high, unit):.0f}", "to": f"{to_unit(low, unit):.0f}",
             "took": duration(took * 60), "rate": words.rate((high - low) / took * 60, unit),
             "count": str(count)}
            for high, low, took, count in cooling(falls)]


@lru_cache(maxsize=4 * COOLED)
def _fall(_folder: Path, firing_id: int, ended_s: int, free_s: float) -> Mapping[tuple[float, float], float]:
    """Return how a firing that has ended fell by itself; its trace, which stays as it is, is read once.

    ``_folder`` tells the records of two kilns' pages apart.
    """
    minutes = [(float(b.t_s), b.mid_c) for b in readings.buckets(database(), firing_id, max(60, ended_s // 120))
               if b.mid_c is not None]
    return fall_minutes(minutes, free_s)


def _record() -> dict[str, str]:
    """Return where the record lies and what stands guard over it."""
    folder, zone = settings().data_dir, settings().zone
    checked = setting(database(), _CHECKED)
    copies = copies_of(folder / FILE_NAME)
    usage = shutil.disk_usage(folder)
    size = sum(path.stat().st_size for path in (folder / FILE_NAME, folder / f"{FILE_NAME}-wal") if path.exists())
    return {
        "size": _bytes(size), "free": _bytes(usage.free), "share": f"{usage.used / usage.total * 100:.0f} %",
        "checked": _when(moment(checked), zone) if checked else "",
        "elsewhere": _elsewhere(folder),
        "copied": _when(copies[-1].made_utc, zone) if copies else "", "copies": str(len(copies)),
        "clock": "set by the network or a clock chip" if settings().clock.synchronised() else
                 "not set by anything this computer trusts; durations are right all the same",
    }


def _elsewhere(folder: Path) -> str:
    """Return how old the newest copy elsewhere is, and why it is no newer; empty where no place is set."""
    places = [place.spelt for place in settings().config.copies]
    if not places:
        return ""
    newest, known = elsewhere.newest(folder, places), elsewhere.known(folder)
    why = " ".join(known[spelt].trouble for spelt in places if spelt in known and known[spelt].trouble)
    if newest is None or newest.made is None:
        return f"No copy elsewhere yet. {why}".strip()
    age = elsewhere.age_words(newest.made, settings().clock.utc())
    return f"Newest copy elsewhere: {age}, {newest.where}. {why}".strip()


def _when(utc: datetime, zone: tzinfo) -> str:
    there = utc.astimezone(zone)
    return f"{date_words(there)} {there.year}, {time_words(there)}"


def _bytes(size: float) -> str:
    """Return a size in the largest unit that leaves a figure before the point."""
    for name in ("bytes", "kB", "MB"):
        if size < 1000:
            return f"{size:.0f} {name}"
        size /= 1000
    return f"{size:.1f} GB"
