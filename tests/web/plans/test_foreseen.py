"""What the kiln will do with a plan, on the page."""

import re
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from daemon.store.database import create_database
from simulations.studio.seed import KILN_NAME, PAST, seed_studio
from web.app import create_app
from web.plans import foresee_process
from web.settings import Settings

NOW = datetime(2026, 5, 20, 12, tzinfo=UTC)
BERLIN = ZoneInfo("Europe/Berlin")


@pytest.fixture(scope="module")
def seeded(tmp_path_factory):
    folder = tmp_path_factory.mktemp("studio")
    db = create_database(folder / "lehrling.db")
    seed_studio(db, NOW, [PAST[0], PAST[3]])
    db.close()
    return create_app(Settings(data_dir=folder, run_dir=folder, kiln=KILN_NAME, open_house=True)).test_client()


def test_it_says_when_the_parts_end_and_draws_the_kiln_over_the_plan(seeded):
    page = seeded.get("/plans/1/foreseen").text
    assert "Learned from 2 firings of this kiln. These are few: the times are rough." in page
    assert "The anneal hold begins at about 5:4" in page
    assert " after the start (" in page
    assert "<th scope=\"row\">step 4, hold 1 h 00 min at 516 °C</th>" in page
    assert page.split('id="glass-head"')[0].count("<svg") == 2
    assert "Read the kiln’s own display before you open it, and use gloves." in page
    assert "no safety device" in page


def test_by_the_clock(seeded):
    page = seeded.get("/plans/1/foreseen?start=9:30").text
    assert "The anneal hold begins at about 15:1" in page
    page = seeded.get("/plans/1/foreseen?start=later").text
    assert "“later” is no time of day. Write it as 21:30 or 9:30 pm." in page
    assert "“9” could be morning or evening. Write 09:00 or 21:00." in seeded.get("/plans/1/foreseen?start=9").text
    nine = [seeded.get(f"/plans/1/foreseen?start={typed}").text.split('id="answer"')[1]
            for typed in ("21:00", "9pm", "9+pm", "21h")]
    assert len(set(nine)) == 1


class Fixed:
    """A clock that stands still."""

    def __init__(self, *moment):
        self.now = datetime(*moment, tzinfo=BERLIN).astimezone(UTC)

    def utc(self):
        return self.now


def seen_at(seeded, path, *moment):
    """Return what a page says at a moment by the clock of Berlin."""
    settings = replace(seeded.application.extensions["lehrling"], zone=BERLIN, clock=Fixed(*moment))
    return create_app(settings).test_client().get(path).text.replace("\xa0", " ")


def test_in_the_night_in_which_the_clock_is_changed_the_times_are_right(seeded):
    # 03:00 becomes 02:00 on 25 October 2026, 02:00 becomes 03:00 on 29 March (Directive 2000/84/EC).
    begins = []
    for month, day in ((10, 23), (10, 24), (3, 28)):
        page = seen_at(seeded, "/plans/1/foreseen?start=22:00", 2026, month, day, 12)
        begins.append(re.search(r"The anneal hold begins at about (\d\d):(\d\d)", page).groups())
    (hour, minute), *changed = begins
    assert changed == [(f"{int(hour) + by:02d}", minute) for by in (-1, 1)]


def test_the_latest_start_is_said_first_and_the_clock_is_that_of_it(seeded):
    page = seen_at(seeded, "/plans/1/foreseen?done_by=8:00", 2026, 6, 1, 18)
    answer = page.split('id="answer"')[1]
    start = re.search(r'<p class="verdict">Start at (\d\d:\d\d) tomorrow at the latest.</p>', answer)[1]
    assert "Then the anneal hold is over most likely at about 07:" in answer
    assert "as its manual and the rules where you live allow" in answer
    started = seen_at(seeded, f"/plans/1/foreseen?start={start}", 2026, 6, 1, 18)
    assert page.split('id="ends"')[1] == started.split('id="ends"')[1]
    page = seen_at(seeded, "/plans/1/foreseen?done_by=7am&done=open&longer=10", 2026, 6, 1, 18)
    assert "It is too late for 07:00 tomorrow. Start at " in page
    assert "Latest start, for Wed 07:00" in page
    assert "“12 am” could be noon or midnight." in seeded.get("/plans/1/foreseen?done_by=12+am").text


def test_an_empty_kilns_plan_says_that_there_is_no_glass(tmp_path):
    db = create_database(tmp_path / "lehrling.db")
    seed_studio(db, NOW, [PAST[0], PAST[4]])
    db.close()
    client = create_app(Settings(data_dir=tmp_path, run_dir=tmp_path, kiln=KILN_NAME, open_house=True)).test_client()
    page = client.get("/plans/2/foreseen").text
    shown = re.sub(r"<form.*?</form>|<[^>]*>", " ", page, flags=re.DOTALL)
    assert "There is no glass in the kiln, only shelves." in shown
    for word in ("MPa", "anneal hold", "haze range", "Doubtful", "anneal range"):
        assert word not in shown, word
    assert "Cool enough to open" in shown
    asked = client.get("/plans/2/foreseen?done=hold&done_by=8:00").text
    assert 'id="wrong-done">No glass is in the kiln, so nothing is annealed.' in asked
    assert "MPa" in client.get("/plans/2/foreseen?glass=90").text
    assert "No glass is in the kiln" in client.get("/plans/2").text
    assert "Doubtful" not in client.get("/plans/2").text
    assert "Doubtful" in client.get("/plans/2?glass=90").text


def test_limits_are_those_of_the_command_and_a_change_is_headed_by_what_was_asked(seeded):
    page = seeded.get("/plans/1/foreseen?anneal=300&hotter=10.5&longer=-2.5").text.replace("\xa0", " ")
    assert [name in page for name in ("anneal 300 mm", "10.5 °C hotter", "2.5 min shorter")] == [True] * 3
    assert "outside 0.5 to 300 mm" in seeded.get("/plans/1/foreseen?anneal=301").text.replace("\xa0", " ")
    assert "outside -200 to 200 °C" in seeded.get("/plans/1/foreseen?hotter=201").text.replace("\xa0", " ")
    page = seeded.get("/plans/1/foreseen?start=1:00+2:00+3:00+4:00+5:00+6:00").text
    assert re.findall(r"<b>([A-F])</b> start", page) == list("ABCDEF")


def test_a_change_that_is_doubtful_says_so_under_its_name(seeded):
    page = seeded.get("/plans/1/foreseen?hotter=180&anneal=38").text.replace("\xa0", " ")
    assert "180 °C hotter, doubtful: step 3 goes to 980 °C." in page
    assert "anneal 38 mm, doubtful if the glass is 38 mm thick: step 1 climbs 220 °C/h" in page


def test_what_if_stands_beside_the_plan_as_it_is_written(seeded):
    asked = "start=21:00+23:00&hotter=10&longer=10&anneal=12+mm"
    page = seeded.get(f"/plans/1/foreseen?{asked}").text.replace("\xa0", " ")
    names = ["start 21:00", "start 23:00", "10 °C hotter", "10 min longer", "anneal 12 mm"]
    wide = page.split('class="months what-if"')[1].split("</table>")[0]
    assert re.findall(r"<b>([A-E])</b> ([^<]+)<", wide) == list(zip("ABCDE", names, strict=True))
    assert [cell for row in re.findall(r"<tr>(.*?)</tr>", wide) if "Peak" in row
            for cell in re.findall(r"<td>(.*?)</td>", row)] == ["800 °C", "800 °C", "810 °C", "800 °C", "800 °C"]
    cards = page.split('class="card-if"')[1:]
    assert len(cards) == 5
    assert "Peak" in cards[2]
    assert "Peak" not in cards[3]  # a card has only what is not as in A
    assert "800 °C" in cards[0]
    dashes = set(re.findall(r"stroke-dasharray=\"[^\"]+\"", wide))
    assert len(dashes) == 4  # the first line is whole; no colour tells them apart
    titles = re.findall(r"<title>The foreseen curves beside each other: ([^<]+)</title>", page)
    assert titles == [", ".join(names)] * 2


def test_what_the_glass_goes_through_stands_there_also_without_a_change(seeded):
    page = seeded.get("/plans/1/foreseen?thickness=12").text.replace("\xa0", " ")
    table = page.split('id="glass-head"')[1].split("</table>")[0]
    assert "12 mm: stress that stays, about" in table
    assert "12 mm of " in page
    assert "700 to 760 °C, haze range" in table
    assert "1 MPa or less is well annealed" in page
    assert "<p>Doubtful: " in page
    assert "kWh" not in table  # no rated power was given
    assert "hotter=10&amp;longer=10&amp;anneal=12" in page


def test_a_change_that_does_not_fit_is_said_beside_the_fields(seeded):
    page = seeded.get("/plans/1/foreseen?hotter=-140&longer=10").text.replace("\xa0", " ")
    assert 'id="wrong-hotter">A top of 660 °C does not fit the plan. It must lie between 670 and 1400 °C.' in page
    assert "<details open><summary>What if" in page
    assert "</b> 10 min longer" in page
    assert 'id="wrong-hotter"' in seeded.get("/plans/1/foreseen?hotter=lots").text
    page = seeded.get("/plans/1/foreseen?hotter=10&start=1:00+2:00+3:00+4:00+5:00+6:00").text
    assert "7 forecasts are too many to stand beside each other. Ask for at most 5 besides" in page


TYPED = {"title": "Typed", "unit": "C", "first": "rate",
         "steps": "220 670 20\n250 800 15\nAFAP 516 60\n80 400\nAFAP 40"}


def test_a_plan_that_is_only_typed_is_foreseen_and_not_kept(seeded):
    before = seeded.get("/plans").text.count("Typed")
    page = seeded.get("/plans/foreseen", query_string=TYPED | {"longer": "10"}).text
    assert "This plan is not saved." in page
    assert "10\xa0min longer" in page
    assert seeded.get("/plans").text.count("Typed") == before == 0
    assert 'formaction="/plans/foreseen"' in seeded.get("/plans/new").text
    refused = seeded.get("/plans/foreseen", query_string=TYPED | {"steps": "banana"})
    assert refused.status_code == 400
    assert "can’t be read yet" in refused.text


def test_a_plan_the_kiln_can_follow_opens_where_plans_are_written(tmp_path):
    db = create_database(tmp_path / "lehrling.db")
    seed_studio(db, NOW, [PAST[0], PAST[4]])
    db.close()
    client = create_app(Settings(data_dir=tmp_path, run_dir=tmp_path, kiln=KILN_NAME, open_house=True)).test_client()
    fast = TYPED | {"steps": "600 670 20\n600 800 15\nAFAP 516 60\n80 400\nAFAP 40"}
    page = client.get("/plans/foreseen", query_string=fast).text
    assert "A plan that this kiln can follow" in page
    form = page.split('id="follow"')[1].split("</form>")[0]
    fields = dict(re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)">', form))
    fields["steps"] = re.search(r"<textarea[^>]*>(.*?)</textarea>", form, re.DOTALL)[1]
    assert fields["steps"].splitlines()[-3:] == ["free / 516 / 1:00", "80 / 400", "free / 40"]
    shown = client.post("/plans/new", data=fields | {"read": "yes"}, headers={"Origin": "http://localhost"})
    assert shown.status_code == 200
    assert "Typed, as this kiln climbs" in shown.text
    assert "as this kiln climbs" not in client.get("/plans").text


def test_where_a_refire_lies_among_those_that_were_is_said(seeded, tmp_path):
    assert "What went with a cleared haze" not in seeded.get("/plans/1/foreseen").text
    db = create_database(tmp_path / "lehrling.db")
    seed_studio(db, NOW, PAST[:3])
    db.close()
    client = create_app(Settings(data_dir=tmp_path, run_dir=tmp_path, kiln=KILN_NAME, open_house=True)).test_client()
    page = client.get("/plans/1/foreseen").text.replace("\xa0", " ")
    assert "in this kiln once; the haze cleared. From 10 firings on" in page
    assert "As foreseen, this plan peaks at 800 °C, with 2" in page
    client.set_cookie("lehrling-reads", "unit=F")
    said = client.get("/plans/1/foreseen").text.replace("\xa0", " ").split("<strong>Haze.")[1].split("</p>")[0]
    assert "this plan peaks at 1472 °F, with 2" in said
    assert "above 1400 °F" in said
    assert "°C" not in said
    client.delete_cookie("lehrling-reads")
    link = re.search(r'href="(/questions[^"]+)"', page)[1].replace("&amp;", "&")
    assert client.get(link).text.count('class="here"') == 2


def test_all_of_it_is_in_the_readers_unit_and_by_the_readers_clock(seeded):
    settings = replace(seeded.application.extensions["lehrling"], zone=BERLIN, clock=Fixed(2026, 6, 1, 18))
    client = create_app(settings).test_client()
    client.set_cookie("lehrling-reads", "unit=F&hours=12")
    page = client.get("/plans/1/foreseen?done_by=8:00&hotter=18&longer=10").text.replace("\xa0", " ")
    shown = re.sub(r"<form.*?</form>|<details class=\"whole\".*?</details>|<[^>]*>", " ", page.split("<main")[1],
                   flags=re.DOTALL)
    assert not re.findall(r".{20}°C.{20}", shown)
    assert not re.findall(r".{20}\b\d{1,2}:\d\d(?! [ap]m).{9}", shown)
    assert "18 °F hotter" in shown
    assert re.search(r"most likely at about 7:\d\d am\b", shown)
    assert "Latest start, for Tue 8:00 am" in shown
    assert "1472 °F" in shown
    refused = client.get("/plans/1/foreseen?hotter=-250").text.replace("\xa0", " ")
    assert "must lie between 1238 and 2552 °F" in refused


def test_the_plan_leads_to_it(seeded):
    assert "/plans/1/foreseen" in seeded.get("/plans/1").text
    assert seeded.get("/plans/99/foreseen").status_code == 404


def test_a_kiln_that_was_not_fired_by_a_plan_yet(tmp_path):
    db = create_database(tmp_path / "lehrling.db")
    seed_studio(db, NOW - timedelta(days=1), [PAST[0]])
    db.execute("UPDATE firing SET plan_id = NULL")
    db.close()
    client = create_app(Settings(data_dir=tmp_path, run_dir=tmp_path, kiln=KILN_NAME, open_house=True)).test_client()
    page = client.get("/plans/1/foreseen?done_by=8:00").text
    assert "has not fired by a plan yet" in page
    assert '<a class="button" href="/plans/1">To the plan</a>' in page


def test_without_a_time_zone_in_the_settings_it_is_the_computers_own(seeded):
    settings = seeded.application.extensions["lehrling"]
    with Path("/etc/localtime").open("rb") as file:
        own = ZoneInfo.from_file(file)
    app = create_app(replace(settings, zone=own))
    assert "Learned from 2 firings" in app.test_client().get("/plans/1/foreseen?start=9:30").text


def test_while_another_one_is_made_it_asks_to_wait(seeded):
    with foresee_process._PROCESS.busy:
        answer = seeded.get("/plans/1/foreseen")
    assert answer.status_code == 503
    assert "Wait a minute" in answer.text
