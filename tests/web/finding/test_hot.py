from __future__ import annotations

import re

from daemon.store import bin


def _answered(page):
    return [line.replace("\xa0", " ") for line in re.findall(r'<p class="answered">(.*?)</p>', page)]


def test_without_a_firing_the_questions_say_what_will_stand_there(client, studio):
    studio.open_store().close()
    page = client.get("/questions").text
    assert "No firing by a plan has ended yet." in page
    assert "No piece came out with haze so far." in page
    assert "There is no kiln yet." in page


def test_of_the_plan_fired_most_the_hot_ones_of_the_last_ten_are_counted(client, judged):
    judged(690.0, day=-50)  # the eleventh: not one of the last ten
    for day, peak_c in enumerate((649.0, 659.4, 659.6, 663.0, 651.0, 650.0, 648.0, 650.0, 652.0, 651.0)):
        judged(peak_c, day=day - 40)
    judged(900.0, plan="Fuse", top_c=800.0, day=-1)
    page = client.get("/questions").text
    assert _answered(page)[0] == "2 of the last 10 firings by “Slump” went 10 °C or more over the plan’s top."
    assert page.count("<strong>Hot: ") == 2
    assert "<strong>Hot: 10\xa0°C over (peak 660, top 650\xa0°C)</strong>" in page
    drawings = page.split("data-dot-plot>")[1].split("</div></div>")[0]
    assert drawings.count('class="tip open"') == 2 * 8  # a drawing for the desk, one for the phone
    assert drawings.count('<circle class="tip"') == 2 * 2


def test_the_figure_may_be_typed_and_a_wrong_one_is_told(client, judged):
    for peak_c in (653.0, 655.0):
        judged(peak_c)
    assert "None of the last 2 firings by “Slump” went 10 °C" in _answered(client.get("/questions").text)[0]
    assert "One of the last 2 firings by “Slump” went 5 °C" in _answered(client.get("/questions?over=5").text)[0]
    assert "All of the last 2 firings by “Slump” went 2.5 °C" in _answered(client.get("/questions?over=2,5").text)[0]
    for typed in ("0", "hot", "1e9"):
        page = client.get(f"/questions?over={typed}").text
        assert 'id="wrong-over"' in page
        assert f'value="{typed}"' in page
        assert "10 °C or more" in _answered(page)[0]


def test_all_plans_of_a_kind_count_each_against_its_own_top(client, judged):
    judged(670.0, plan="Deep slump", top_c=640.0)
    judged(671.0, plan="Slump", top_c=670.0)
    judged(830.0, plan="Fuse", top_c=800.0)
    said = _answered(client.get("/questions?plan=slumps").text)[0]
    assert said == "One of the last 2 slumps went 10 °C or more over the plan’s top."
    assert "The only fuse went 10 °C" in _answered(client.get("/questions?plan=fuses").text)[0]
    assert "top 600 to 700 °C" in client.get("/questions").text


def test_one_that_did_not_reach_its_top_or_was_not_judged_is_left_out_and_said(client, judged):
    judged(651.0)
    judged(652.0)
    judged(400.0)
    judged(None)
    judged(0.0, judge=False)
    page = client.get("/questions").text
    assert _answered(page)[0] == ("None of the last 2 firings by “Slump” went 10 °C or more over the plan’s top. "
                                  "3 more did not reach the top, or was not judged.")
    assert "did not reach it" in page
    assert page.count("peak not known") == 2


def test_what_was_deleted_is_not_counted(client, judged, studio):
    judged(651.0)
    hot = judged(680.0)
    judged(650.0)
    assert "One of the last 3" in _answered(client.get("/questions").text)[0]
    studio.store(lambda db: bin.put_into_bin(db, hot, studio.clock.wall))
    assert "None of the last 2" in _answered(client.get("/questions").text)[0]


def test_the_usual_difference_is_taken_off_where_it_is_known(client, judged):
    for _ in range(3):
        judged(656.0, hold_c=655.0)
    judged(664.0, hold_c=655.0)
    page = client.get("/questions").text.replace("\xa0", " ")
    assert "This thermocouple usually reads 5 °C above plan at such temperatures. That is taken off." in page
    assert "None of the last 4" in _answered(page)[0]
    assert "One of the last 4" in _answered(client.get("/questions?over=9").text)[0]
    assert "9 °C over (peak 664 less the usual 5, top 650 °C)" in page


def test_where_it_is_not_known_that_is_said(client, judged):
    judged(664.0)
    assert "is not known yet. The peaks are as it read them." in client.get("/questions").text


def test_in_fahrenheit_all_is_in_fahrenheit(studio, judged):
    for peak_c in (650.0, 661.0):
        judged(peak_c)
    studio.unit = "F"
    page = studio.app().test_client().get("/questions").text.replace("\xa0", " ")
    assert _answered(page)[0] == "One of the last 2 firings by “Slump” went 18 °F or more over the plan’s top."
    assert "20 °F over (peak 1222, top 1202 °F)" in page
    assert "°C" not in page
