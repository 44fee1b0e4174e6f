"""Woken, on a phone in the dark: acts above the thumb, buttons big enough, and nothing that jumps under it."""

from __future__ import annotations

import re
from typing import Any

PHONE = {"width": 390, "height": 844}
NOW_S = 24_000.0


def test_one_hand_on_a_phone_in_the_dark(open_page, serve, studio, wake):
    number = studio.fill(until_s=NOW_S)
    wake(studio, number, 500.0)
    page = open_page(serve(studio), PHONE, "dark")
    # All that is to be done stands above the thumb's buttons, without scrolling.
    bar = page.query_selector(".answer").bounding_box()
    acts = page.query_selector(".woken .deeds").bounding_box()
    assert acts["y"] + acts["height"] <= bar["y"]
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    small = page.evaluate("""[...document.querySelectorAll('.woken button, .woken a, .woken summary, .answer button')]
      .filter((e) => e.checkVisibility())
      .map((e) => [e.textContent.trim(), e.getBoundingClientRect().height]).filter(([, high]) => high < 44)""")
    assert small == []
    # What was unfolded stays so when the page takes fresh words.
    page.click("text=Why")
    wake(studio, number, 490.0)
    _until(page, "document.querySelector('[data-text=temp]').textContent === '490'")
    assert page.evaluate("document.querySelector('.woken details').open")
    page.click("#keyed-thumb")
    _until(page, "location.search.startsWith('?asked=')")
    assert [kind for kind, _ in studio.asked()] == ["keyed-in"]
    assert page.overheard.ours() == []


def test_without_a_script_the_same_is_done(open_page, serve, studio, wake):
    number = studio.fill(until_s=NOW_S)
    wake(studio, number, 500.0)
    page = open_page(serve(studio), PHONE, "dark", scripts=False)
    assert "150 °C/h" in re.sub("\u00a0", " ", page.inner_text(".keys"))
    page.click("#ack-thumb")
    assert studio.asked() == [("acknowledge", {"firing_id": number, "alert_no": 1})]


def _until(page: Any, script: str, seconds: float = 60.0) -> None:
    for _ in range(int(seconds * 20)):
        if page.evaluate(script):
            return
        page.wait_for_timeout(50)
    raise AssertionError(f"not within {seconds:g} s: {script}")
