"""The kiln's page: drift against figures made up with a known drift, cooling against Newton's law."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from math import exp, log

import pytest

from daemon.delivery.publishing import trouble_file
from daemon.firing.plan.schedule import PlannedPart
from daemon.firing.tracking.offset_history import HoldOffset
from daemon.settings.config import Config
from daemon.settings.mqtt import Mqtt
from daemon.store import firings, judgements, kilns, plans
from daemon.store.wear import heat, told_wear
from daemon.store.wear.told_wear import ToldWear
from tests.web.conftest import PLAN_TOML
from web.kiln.drift import Run, cooling, differences, fall_minutes, moved, stretched

STARTS = datetime(2026, 3, 1, 20, 0, tzinfo=UTC)


def _run(number, off_k=0.0, slower=1.0):
    climb = PlannedPart(0, 1, "ramp", 20.0, 800.0, 200.0, 14_040.0, direction=1)
    hold = PlannedPart(1, 1, "hold", 800.0, 800.0, 0.0, 600.0)
    short = PlannedPart(2, 2, "hold", 700.0, 700.0, 0.0, 300.0)
    return Run(number, STARTS + timedelta(days=number), [
        (climb, 0.0, 14_040.0 * slower, None), (hold, 15_000.0, 15_600.0, 800.0 + off_k),
        (short, 16_000.0, 16_300.0, 660.0)], [HoldOffset(800.0, off_k, 600.0), HoldOffset(700.0, -40.0, 300.0)])


def test_the_usual_difference_is_that_of_settled_holds_by_band():
    found = differences([_run(n, off_k=3.0) for n in range(3)])
    assert [p.value for p in found[(720.0, 2000.0)]] == [pytest.approx(3.0)] * 3
    assert found[(600.0, 720.0)] == []  # five minutes settle nothing


def test_a_drift_is_the_latest_third_against_the_earliest():
    points = differences([_run(n, off_k=float(n)) for n in range(9)])[(720.0, 2000.0)]
    assert moved(points) == pytest.approx(6.0)  # medians of 0 1 2 and of 6 7 8
    assert moved(points[:5]) is None


def test_tired_elements_show_as_climbs_that_take_longer():
    points = stretched([_run(n, slower=1.0 + 0.02 * n) for n in range(6)])
    assert points[-1].value == pytest.approx(1.10)
    assert moved(points) == pytest.approx(0.08)


def test_a_closed_kiln_s_fall_is_found_where_it_fell_by_newton_s_law():
    # T = 20 + 480 e^(-t/2.5 h): from 400 to 300 °C takes 2.5 h · ln(380/280), by the law itself.
    trace = [(float(t), 20.0 + 480.0 * exp(-t / 9000.0)) for t in range(0, 60_000, 60)]
    [row] = [row for row in cooling([fall_minutes(trace, 0.0)] * 2) if row[:2] == (400.0, 300.0)]
    assert row[2] == pytest.approx(150.0 * log(380 / 280), rel=1e-3)
    assert row[3] == 2
    assert cooling([fall_minutes(trace, 30_000.0)]) == []  # it was at 37 °C already


def test_the_page_tells_of_probe_drift_record_and_clock(client, studio):
    for _ in range(7):
        number = studio.fill(until_s=40_000.0, ended=True)
        studio.store(lambda db, number=number: heat.put_heat(db, number, heat.Heat(7200.0, why="no-fall"), 1))
    studio.say(None, cold_junction_c=31.0)
    page = client.get("/kiln").text.replace("\u00a0", " ").replace("&nbsp;", " ")
    assert "The sensor answers, and its reading is plausible." in page
    assert "its cold end at 31 °C" in page
    assert "Thermocouple: no change is noted. 7 firings recorded, 14 h above 600 °C." in page
    assert "3 °C below plan" in page  # the invented parts' holds stand 3 K low
    assert "It has moved by less than 4 °C" in page
    assert "No copy yet" in page


FREE_END = PLAN_TOML.replace("rate = 150\nto = 60", 'rate = "free"\nto = 60')


def _judge(studio, number, **told):
    studio.store(lambda db: judgements.add_judgement(db, number, told, "1", studio.clock.wall))


def test_a_firing_that_broke_off_is_in_no_figure_of_the_kiln_and_the_page_says_so(client, studio):
    whole = [studio.fill(until_s=60_000.0, ended=True, plan_toml=FREE_END) for _ in range(3)]
    for number in whole:
        _judge(studio, number, finished=True, peak_c=800.0)
    before = client.get("/kiln").text
    assert "left out" not in before
    for _ in range(2):
        broken = studio.fill(until_s=60_000.0, ended=True, plan_toml=FREE_END)
        _judge(studio, broken, finished=False, peak_c=410.0)
    page = client.get("/kiln").text.replace("\u00a0", " ")
    assert "2 firings are left out of these figures: stopped on the way, or begun anew." in page
    for drawn in ("band-1", "climb"):
        rows = page.split(f'id="{drawn}"')[1].split("</table>")[0]
        assert re.findall(r'href="/firings/(\d+)"', rows.split("<tbody>")[1]) == [str(n) for n in reversed(whole)]
    cooled = [re.findall(r"<td>(\d+)</td></tr>", text.split('id="falls"')[1]) for text in (before, page)]
    assert set(cooled[0]) == set(cooled[1]) == {"3"}  # firings behind each row


def test_only_the_chart_of_the_anneal_and_one_with_news_are_not_folded_on_a_phone(client, studio):
    for _ in range(6):
        studio.fill(until_s=60_000.0, ended=True, plan_toml=FREE_END)
    page = client.get("/kiln").text
    folded = re.findall(r'<details class="fold" data-fold open><summary><span><h\d id="([^"]+)"', page)
    assert "band-1" in re.findall(r'<h3 id="(band-\d)"', page)
    assert "band-1" not in folded
    assert {"climb", "falls"} <= set(folded)


@pytest.mark.parametrize("kind", ["sensor-fault", "readings-missing", "reading-frozen", "reading-flickers"])
def test_an_alert_of_the_probe_that_stands_is_told_of_the_probe(client, studio, kind):
    alert = {"no": 1, "kind": kind, "rank": "look", "raised_s": 0.0, "cleared_s": None, "text": {"what": "It fails."}}
    firing_id = studio.fill()
    studio.say(firing_id, alerts=[alert])
    assert "It fails." in client.get("/kiln").text
    studio.say(firing_id, alerts=[alert | {"cleared_s": 60.0}])
    assert "It fails." not in client.get("/kiln").text
    studio.say(firing_id, alerts=[alert | {"kind": "hold-overrun"}])
    assert "It fails." not in client.get("/kiln").text


def test_before_any_firing_the_page_says_what_will_stand_there(client, studio):
    studio.open_store().close()
    assert "After the first firings stand here" in client.get("/kiln").text


def test_a_probe_that_answers_is_not_called_unknown(client, studio):
    studio.open_store().close()
    studio.say(None)
    page = client.get("/kiln").text
    assert "The sensor answers" in page
    assert "The daemon has met none yet" not in page


def test_the_trace_of_a_firing_that_has_ended_is_read_for_its_cooling_once(client, studio, monkeypatch):
    from web.kiln import page as kiln_page

    number = studio.fill(until_s=60_000.0, ended=True)
    stored = studio.store(lambda db: plans.plan(db, 1))
    plan = stored.toml.replace("rate = 150\nto = 60", 'rate = "free"\nto = 60')
    studio.store(lambda db: firings.name_firing(db, number, {"plan_id": plans.add_plan(db, plan, studio.clock.wall)}))
    asked = []
    whole = kiln_page.readings.buckets
    monkeypatch.setattr(kiln_page.readings, "buckets", lambda *told: asked.append(told) or whole(*told))
    for _ in range(3):
        assert "How it cools by itself" in client.get("/kiln").text
    assert len(asked) == 1


NO_BUS = "[probe] bus = “/dev/spidev0.0” does not exist."


@pytest.mark.parametrize("fired", [False, True])
def test_where_there_is_no_probe_the_reason_stands_under_its_heading(client, studio, fired):
    as_logged = "[probe] bus = '/dev/spidev0.0' does not exist."
    studio.open_store().close()
    if fired:
        studio.fill(until_s=600.0, ended=True)
    studio.say(None, temp_c=None, fault="silent", trouble=[{"ailing": "probe", "text": as_logged}])
    text = client.get("/kiln").text.replace("\u00a0", " ").replace("&nbsp;", " ")
    section = text.split('<h2 id="probe">The probe</h2>')[1].split("</section>")[0]
    assert NO_BUS in section
    assert "– °C now" not in section
    assert ("Elements and thermocouple" in text) is fired  # no heading with nothing under it
    studio.say(None, temp_c=21.0, trouble=[{"ailing": "delivery", "text": NO_BUS}])
    assert NO_BUS not in client.get("/kiln").text


def test_a_probe_that_is_there_and_gives_nothing_leaves_no_empty_heading(client, studio):
    studio.open_store().close()
    studio.say(None, temp_c=None, fault="open")
    section = client.get("/kiln").text.split('<h2 id="probe">The probe</h2>')[1].split("</section>")[0]
    assert "It gives no temperature just now." in section


def test_what_was_found_of_its_wear_stands_above_the_parts(client, studio):
    studio.fill(until_s=40_000.0, ended=True)
    lines = ["Since 10 March 2026 the elements give about 11 % less power than before (7 to 15 %).", "Look."]
    found = ToldWear("1; ", lines, True, ["elements"])
    studio.store(lambda db: told_wear.put(db, kilns.find(db, "small kiln"), found))
    page = client.get("/kiln").text.replace("\u00a0", " ").replace("&nbsp;", " ")
    assert page.index("Elements and thermocouple") < page.index(lines[0]) < page.index("Elements: ")


def test_a_broker_that_refuses_or_is_away_for_an_hour_is_told_in_a_sentence(studio):
    studio.say(studio.fill())
    config = Config(mqtt=Mqtt("broker", 1883, "lehrling/k"))
    client = studio.app(config=config).test_client()
    assert "MQTT" not in client.get("/kiln").text
    for hours, refused, told in ((0.5, False, False), (1.5, False, True), (0.0, True, True)):
        since = studio.clock.wall - timedelta(hours=hours)
        trouble_file.write(studio.folder, trouble_file.Trouble(since, "not <authorised>", refused))
        page = client.get("/kiln").text
        assert ("Other programs have not heard of this kiln since" in page) is told
        if told:
            assert f"the MQTT broker {'refuses' if refused else 'is not reached'} (not &lt;authorised&gt;)." in page
    assert "MQTT" not in studio.app().test_client().get("/kiln").text
