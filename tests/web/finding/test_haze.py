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


def test_a_few_are_counted_and_no_more_is_said(client, judged):
    _tiles(judged, [(790.0, "haze"), (800.0, "clear")])
    page = client.get("/questions").text
    assert _answered(page) == ("So far hazy pieces of this glass were fired again 2 times; the haze cleared in 1. "
                               "From 6 firings on, the hotter ones are compared with the cooler ones here.")
    assert "peak 800\xa0°C, 40\xa0min above 760\xa0°C" in page
    assert "not why" not in page


def test_from_six_on_the_hotter_half_is_told_from_the_cooler_one(client, judged):
    _tiles(judged, [(770.0, "haze"), (791.0, "clear"), (775.0, "haze"), (795.0, "clear"), (774.0, "haze"),
                    (800.0, "clear"), (805.0, "clear")])
    said = _answered(client.get("/questions").text)
    assert said == ("The haze cleared in 4 of 4 with a peak of 791 °C or more, and in 0 of 3 with 775 °C or less. "
                    "That is what went together, not why.")


def test_the_line_is_drawn_between_two_different_peaks_whatever_came_of_them(client, judged):
    _tiles(judged, [(780.0, "haze"), (800.0, "haze"), (800.2, "clear"), (799.8, "clear"), (800.0, "haze"),
                    (800.0, "clear")])
    said = _answered(client.get("/questions").text)
    assert said.startswith("The haze cleared in 3 of 5 with a peak of 800 °C or more, and in 0 of 1 with 780 °C or")


def test_where_all_peaked_alike_that_is_said(client, judged):
    _tiles(judged, [(800.0, "haze")] * 5 + [(800.0, "clear")])
    assert _answered(client.get("/questions").text) == "All 6 peaked at 800 °C; the haze cleared in 1."


def test_a_first_haze_or_a_clear_piece_that_never_had_haze_is_not_counted(client, judged):
    judged(800.0, piece="Plate", words=("clear",))
    judged(800.0, piece="Bowl", words=("haze",))
    assert "No hazy piece of this glass was fired again yet" in _answered(client.get("/questions").text)


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
