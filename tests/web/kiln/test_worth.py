"""What a reading is worth, on the kiln's page and on a firing's: as new, and as it was compared."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta

import pytest

from daemon.settings.config import Config, Probe
from daemon.store import kilns
from daemon.store.wear import calibrations, part_changes
from daemon.store.wear.calibrations import Calibration


def _plain(text: str) -> str:
    return text.replace("\u00a0", " ").replace("&nbsp;", " ")


def _compare(studio, off_k: float, reference_c: float = 0.0, method: str = "ice", *, utc: datetime | None = None,
             said: str = "") -> Calibration:
    def keep(db):
        kiln = kilns.find(db, "small kiln")
        return calibrations.add(db, Calibration(
            0, kiln, None, "K", None, method, said, reference_c, reference_c + off_k, 24.0, 60, 0.4, 0.2, 0.0, 0.0,
            0.0, utc or studio.clock.wall, False), studio.settings().zone)

    found: Calibration = studio.store(keep)
    return found


def _new_thermocouple(studio, day: date) -> None:
    studio.store(lambda db: part_changes.add_change(
        db, kilns.find(db, "small kiln"), "thermocouple", day, "", studio.clock.wall))


def test_the_kiln_s_page_states_this_reading_and_hot_ones_and_how_to_compare(client, studio):
    studio.fill(until_s=40_000.0, ended=True)
    studio.say(None, cold_junction_c=25.0)
    page = _plain(client.get("/kiln").text)
    assert ("This reading: ± 3.2 °C (thermocouple 2.5, converter 1.0, cold end 0.7 at most; "
            "together 1.15 times the root of the sum of their squares) with new, sound parts, "
            "type K, taken as class 2.") in page
    assert "As new, with the box warm: ± 6 °C at 516 °C, ± 8 °C at 800 °C. Ageing comes on top" in page
    assert "lehrling sensor calibrate ice" in page


def test_comparisons_stand_there_the_latest_first_and_those_out_of_use_below(client, studio):
    studio.fill(until_s=40_000.0, ended=True)
    studio.say(None)
    _compare(studio, 1.2, utc=studio.clock.wall - timedelta(days=40))
    _compare(studio, -0.5, 98.4, "boiling", said="at 450 m, any weather")
    wrong = _compare(studio, 5.0)
    studio.store(lambda db: calibrations.remove(db, wrong.calibration_id, studio.clock.wall))
    page = _plain(client.get("/kiln").text)
    boiling = "Wed 4 Mar 2026, boiling water (at 450 m, any weather): 0.5 °C too low, ± 0.4 °C"
    ice = "Fri 23 Jan 2026, ice slush: 1.2 °C too high, ± 0.4 °C"
    out = "Wed 4 Mar 2026, ice slush: 5.0 °C too high, ± 0.4 °C; out of use"
    assert page.index(boiling) < page.index(ice) < page.index("Earlier comparisons") < page.index(out)
    assert "By ice slush on Fri 23 Jan 2026 it reads 1.2 °C too high" in page, "the room is near 0 °C"
    assert "Not compared with anything yet" not in page


def test_a_new_thermocouple_leaves_the_comparisons_of_the_old_one_behind(client, studio):
    studio.fill(until_s=40_000.0, ended=True)
    _compare(studio, 1.2, utc=studio.clock.wall - timedelta(days=40))
    _new_thermocouple(studio, date(2026, 3, 1))
    page = _plain(client.get("/kiln").text)
    assert "Not compared with anything yet" in page
    assert page.index("Earlier comparisons") < page.index("ice slush: 1.2 °C too high")


def test_before_the_first_firing_what_was_compared_at_the_table_is_shown_too(client, studio):
    db = studio.open_store()
    kilns.kiln_id(db, "small kiln")
    db.close()
    _compare(studio, 0.6)
    studio.say(None)
    assert "Wed 4 Mar 2026, ice slush: 0.6 °C too high, ± 0.4 °C" in _plain(client.get("/kiln").text)


def test_a_firing_says_beside_its_highest_reading_how_far_off_that_may_be(client, studio):
    number = studio.fill(until_s=40_000.0, ended=True)
    page = _plain(client.get(f"/firings/{number}").text)
    # Class 2 at 800 °C, a converter of any warmth: 2/√3 · √(6.0² + 2.9² + 0.7²) = 7.7.
    assert 'highest 800 °C <span class="grey">(± 8 °C as new, with the box warm)</span>' in page


def test_a_comparison_near_the_top_is_told_there_of_the_thermocouple_of_that_day(client, studio):
    number = studio.fill(until_s=40_000.0, ended=True)
    _compare(studio, 3.0, 795.0, "hold")
    told = "By another instrument in a hold on Wed 4 Mar 2026 it reads 3.0 °C too high"
    assert told in _plain(client.get(f"/firings/{number}").text)
    _new_thermocouple(studio, date(2026, 3, 4))
    assert told not in _plain(client.get(f"/firings/{number}").text), "it was made with the new one"


@pytest.mark.parametrize(("tolerance_class", "unit", "words"), [
    (1, "C", "± 5 °C as new, with the box warm"), (None, "F", "± 14 °F as new, with the box warm")])
def test_the_class_that_is_set_counts_and_degrees_are_the_owner_s(studio, tolerance_class, unit, words):
    number = studio.fill(until_s=40_000.0, ended=True)
    studio.unit = unit
    config = replace(Config(), probe=Probe(tolerance_class=tolerance_class))
    page = studio.app(config=config).test_client().get(f"/firings/{number}").text
    assert words in _plain(page)


def test_of_a_recorded_trace_nothing_is_stated(client, studio):
    number = studio.fill(until_s=40_000.0, ended=True)
    studio.say(None)
    studio.store(lambda db: db.execute("UPDATE probe SET name = 'recorded'"))
    assert "as new" not in client.get(f"/firings/{number}").text
    assert "as new" not in client.get("/kiln").text
