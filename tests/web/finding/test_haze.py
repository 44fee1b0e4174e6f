from __future__ import annotations

import re

from daemon.store import outcomes


def _answered(page):
    return re.findall(r'<p class="answered">(.*?)</p>', page)[-1].replace("\xa0", " ")


def _tiles(judged, fired):
    """Keep a hazy firing of the tiles, then those of (peak, word); each after "clear" is made hazy again first."""
    judged(800.0, words=("haze",))
    for peak_c, word in fired:
        judged(peak_c, words=(word,), above_s=(peak_c - 760.0) * 60)
        if word == "clear":
            judged(700.0, words=("haze",))


TEN = [(770.0, "haze"), (772.0, "haze"), (775.0, "haze"), (783.0, "clear"), (785.0, "haze"), (786.0, "clear"),
       (791.0, "clear"), (795.0, "clear"), (800.0, "clear"), (805.0, "clear")]


def test_a_few_are_counted_and_no_more_is_said(client, judged):
    _tiles(judged, [(790.0, "haze"), (800.0, "clear")])
    page = client.get("/questions").text
    assert _answered(page) == ("So far hazy pieces of this glass were fired again in this kiln 2 times; the haze "
                               "cleared in 1. From 10 firings on, the hotter ones are compared with the cooler ones "
                               "here.")
    assert "peak 800\xa0°C, 40\xa0min above 760\xa0°C" in page
    assert "not why" not in page


def test_from_ten_on_the_hotter_third_is_told_from_the_cooler_one(client, judged):
    _tiles(judged, TEN)
    assert _answered(client.get("/questions").text) == (
        "The haze cleared in 3 of 3 with a peak of 795 °C or more (35 to 45 min above 760 °C), and in 0 of 3 with "
        "775 °C or less (10 to 15 min). In between, 783 to 791 °C, it cleared in 3 of 4. So few firings leave much "
        "open: in the long run it may be 29 to 100 % of the hotter ones and 0 to 71 % of the cooler ones. That is "
        "what went together, not why.")


def test_nine_are_too_few(client, judged):
    _tiles(judged, TEN[:9])
    assert "9 times; the haze cleared in 5." in _answered(client.get("/questions").text)


def test_the_lines_are_drawn_between_different_peaks_whatever_came_of_them(client, judged):
    _tiles(judged, [(780.0, "haze")] + [(800.0, "haze"), (800.2, "clear"), (799.8, "clear")] * 3)
    said = _answered(client.get("/questions").text)
    assert said.startswith("The haze cleared in 6 of 9 with a peak of 800 °C or more")
    assert "0 of 1 with 780 °C or less" in said
    assert "In between" not in said


def test_where_all_peaked_alike_that_is_said(client, judged):
    _tiles(judged, [(800.0, "haze")] * 9 + [(800.0, "clear")])
    assert _answered(client.get("/questions").text) == "All 10 peaked at 800 °C; the haze cleared in 1."


def test_a_firing_in_another_kiln_does_not_count_but_its_haze_does(client, judged, studio):
    first = judged(800.0, words=("haze",))
    judged(805.0, words=("clear",))
    judged(806.0, words=("haze",))
    other = judged(807.0, words=("clear",))
    studio.store(lambda db: db.execute("INSERT INTO kiln (kiln_id, name) VALUES (99, 'another kiln')"))
    studio.store(lambda db: db.execute("UPDATE firing SET kiln_id = 99 WHERE firing_id IN (?, ?)", [first, other]))
    assert "in this kiln once; the haze cleared." in _answered(client.get("/questions").text)


def test_a_plan_that_is_foreseen_is_said_and_drawn_where_it_lies(client, judged):
    _tiles(judged, TEN)
    page = client.get("/questions?glass=90&peak=812&minutes=17").text
    assert _answered(page).endswith(
        "As foreseen, this plan peaks at 812 °C, with 17 min above 760 °C. It lies with the hotter ones, where the "
        "haze cleared in 3 of 3. It is hotter than all of them.")
    assert page.count('class="here"') == 2
    assert "broken lines: the plan, as foreseen" in page
    assert 'class="here"' not in client.get("/questions?glass=90").text
    assert "in between, where the haze cleared in 3 of 4" in _answered(
        client.get("/questions?peak=780&minutes=17").text)
    assert "It lies with the cooler ones" in _answered(client.get("/questions?peak=774&minutes=17").text)


def test_a_first_haze_or_a_clear_piece_that_never_had_haze_is_not_counted(client, judged):
    judged(800.0, piece="Plate", words=("clear",))
    judged(800.0, piece="Bowl", words=("haze",))
    assert "No hazy piece of this glass was fired again in this kiln yet" in _answered(client.get("/questions").text)


def test_one_after_which_neither_was_noted_is_left_out_and_said(client, judged):
    judged(800.0, words=("haze",))
    judged(805.0, words=("stuck",))
    judged(806.0, words=("clear",))  # whether it was hazy then is not known
    page = client.get("/questions").text
    assert "No hazy piece" in _answered(page)
    assert "Not counted: 1 after which neither “clear” nor “haze” was noted." in page


def test_what_was_said_of_the_whole_load_counts_for_its_pieces_and_their_own_words_come_first(client, judged):
    judged(800.0, whole=("haze",))
    judged(805.0, whole=("haze",), words=("clear",))
    assert "once; the haze cleared." in _answered(client.get("/questions").text)


def test_an_outcome_that_was_corrected_counts_as_it_stands(client, judged, studio):
    judged(800.0, words=("haze",))
    number = judged(805.0, words=("haze",))
    assert "once; the haze stayed." in _answered(client.get("/questions").text)
    studio.store(lambda db: outcomes.add_outcome(db, firing_id=number, piece_id=1, words=["clear"], place="", note="",
                                                 now_utc=studio.clock.wall))
    assert "once; the haze cleared." in _answered(client.get("/questions").text)


def test_another_glass_and_another_temperature_can_be_asked_for(client, judged):
    _tiles(judged, [(790.0, "haze")])
    for word in ("haze", "clear"):
        judged(820.0, piece="Dish", glass="96", words=(word,))
    assert "once; the haze stayed." in _answered(client.get("/questions?glass=90").text)
    assert "once; the haze cleared." in _answered(client.get("/questions?glass=96").text)
    assert "15\xa0min above 620\xa0°C" in client.get("/questions?above=620").text
    page = client.get("/questions?above=760.5&glass=33").text
    assert 'id="wrong-above"' in page
    assert 'id="wrong-glass"' in page


def test_one_without_a_known_peak_is_left_out_and_said(client, judged):
    judged(800.0, words=("haze",))
    judged(None, words=("haze",))
    judged(800.0, words=("clear",), above_s=None)
    page = client.get("/questions").text
    assert "Not counted: 2 without a known peak or time." in page


def test_the_drawing_tells_cleared_from_stayed_by_shape(client, judged):
    _tiles(judged, [(790.0, "haze"), (800.0, "clear"), (780.0, "haze")])
    page = client.get("/questions?plan=fuses").text
    drawing = page.split('data-dots="both"')[1].split("</figure>")[0]
    narrow = drawing.split('class="narrow"')[1]
    assert narrow.count('<circle class="tip" cx') == 1
    assert narrow.count('<rect class="tip open"') == 2
    for number in range(3):
        assert f'data-row="{number}"' in page
        assert f'data-dot="{number}"' in narrow
    highest = re.search(r'<circle class="tip" cx="([\d.]+)" cy="([\d.]+)"', narrow)
    others = re.findall(r'<rect class="tip open" x="([\d.]+)" y="([\d.]+)"', narrow)
    assert all(float(highest[2]) < float(y) + 4 for _, y in others)  # hotter is higher
    assert all(float(highest[1]) > float(x) + 4 for x, _ in others)  # longer is further right
