"""Woken, on a phone in the dark: acts above the thumb, buttons big enough, and nothing that jumps under it."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any

from daemon.firing import example_firing
from daemon.firing.events import Rank
from daemon.firing.kind import Finding
from daemon.firing.text_json import text_json
from daemon.firing.watches import firing_stopped

PHONE = {"width": 390, "height": 844}
NOW_S = 24_000.0


def wake(studio: Any, number: int, fall_to_c: float) -> None:
    """Say that the kiln fell out of its anneal, to ``fall_to_c`` [°C]."""
    facts = replace(firing_stopped.KIND.examples[2].facts, temp_c=fall_to_c)
    text = firing_stopped.KIND.words(Finding(firing_stopped.KIND, Rank.WAKE, 0.0, facts, 4), example_firing.speaker())
    studio.say(number, NOW_S, temp_c=fall_to_c, rate_c_per_h=-300.0, alerts=[{
        "no": 1, "kind": "firing-stopped", "rank": "wake", "since_s": 23_000.0, "raised_s": 23_100.0,
        "woke_s": 23_200.0, "cleared_s": None, "acknowledged_s": None, "quiet_until_s": None, "step": 4,
        "under": None, "text": text_json(text)}])


def test_one_hand_on_a_phone_in_the_dark(open_page, serve, studio):
    number = studio.fill(until_s=NOW_S)
    wake(studio, number, 500.0)
    page = open_page(serve(studio), PHONE, "dark")
    # All that is to be done stands above the thumb's buttons, without scrolling.
    bar = page.query_selector(".answer").bounding_box()
    acts = page.query_selector(".woken .deeds").bounding_box()
    assert acts["y"] + acts["height"] <= bar["y"]
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    small = page.evaluate("""[...document.querySelectorAll('.woken button, .woken a, .woken summary, .answer button')]
      .filter((e) => e.checkVisibility() && !e.classList.contains('plain'))
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


def test_without_a_script_the_same_is_done(open_page, serve, studio):
    number = studio.fill(until_s=NOW_S)
    wake(studio, number, 500.0)
    page = open_page(serve(studio), PHONE, "dark", scripts=False)
    assert "150 °C/h" in re.sub("\u00a0", " ", page.inner_text(".keys"))
    page.click("#ack-thumb")
    assert studio.asked() == [("acknowledge", {"firing_id": number, "alert_no": 1})]


def _until(page: Any, script: str, seconds: float = 20.0) -> None:
    for _ in range(int(seconds * 20)):
        if page.evaluate(script):
            return
        page.wait_for_timeout(50)
    raise AssertionError(f"not within {seconds:g} s: {script}")
