"""Deleting on the page: asked of the daemon, listed, taken back; a real firing only with a word."""

from __future__ import annotations

import re

from daemon.store import bin, judgements

SAME = {"Origin": "http://localhost", "Sec-Fetch-Site": "same-origin"}


def test_a_real_firing_asks_for_a_word_and_a_short_one_does_not(client, studio):
    real, short = studio.fill(ended=True), studio.fill(until_s=600.0, ended=True)
    assert "It was only a test" in client.get(f"/firings/{real}").text
    assert "It was only a test" not in client.get(f"/firings/{short}").text
    assert client.post(f"/firings/{real}/delete", headers=SAME).status_code == 409
    assert studio.asked() == []
    client.post(f"/firings/{real}/delete", headers=SAME, data={"test": "yes"})
    client.post(f"/firings/{short}/delete", headers=SAME)
    assert studio.asked() == [("delete", {"firing_id": real, "is_test": True}),
                              ("delete", {"firing_id": short, "is_test": False})]


def test_a_firing_that_runs_offers_no_deleting_and_takes_none(client, studio):
    number = studio.fill()
    assert "Delete this firing" not in client.get(f"/firings/{number}").text
    answer = client.post(f"/firings/{number}/delete", headers=SAME, data={"test": "yes"})
    assert (answer.status_code, studio.asked()) == (409, [])
    assert "never deleted" in answer.text


def test_a_deleted_firing_is_out_of_the_lists_and_says_until_when_it_is_kept(client, studio):
    number = studio.fill(ended=True, title="Test of the probe")
    studio.store(lambda db: bin.put_into_bin(db, number, studio.clock.wall))
    page = client.get("/firings").text
    assert "Test of the probe" not in page
    assert "Deleted firings: 1" in page
    assert "Test of the probe" not in client.get("/pieces/1").text
    listed = client.get("/firings/deleted").text
    assert "Test of the probe" in listed
    assert "Kept until Fri 3 Apr" in listed  # 4 March, 02:00 in Berlin, and thirty days
    assert "can be taken back until Fri 3 Apr" in client.get(f"/firings/{number}").text
    client.post(f"/firings/{number}/take-back", headers=SAME)
    assert studio.asked() == [("take-back", {"firing_id": number})]


def test_the_bin_says_the_same_peak_as_the_list(client, studio):
    number = studio.fill(ended=True, title="Test of the probe")
    studio.store(lambda db: judgements.add_judgement(db, number, {"peak_c": 799.6}, "0.1", studio.clock.wall))
    studio.store(lambda db: db.execute("UPDATE reading SET temp_128 = 801 * 128 WHERE firing_id = ? AND t_s = 5",
                                       [number]))
    peak = re.search(r"(\d{3})\s*°C", client.get("/firings").text)[1]
    studio.store(lambda db: bin.put_into_bin(db, number, studio.clock.wall))
    assert re.search(r"(\d{3})\s*°C", client.get("/firings/deleted").text)[1] == peak == "800"


def test_of_one_that_was_removed_for_good_the_page_says_so(client, studio):
    number = studio.fill(ended=True)

    def remove(db):
        bin.put_into_bin(db, number, studio.clock.wall)
        bin.empty(db, number, studio.clock.wall, [])

    studio.store(remove)
    answer = client.get(f"/firings/{number}")
    assert (answer.status_code, "was deleted over 30 days ago" in answer.text) == (404, True)
