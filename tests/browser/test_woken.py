"""Woken, on a phone in the dark: acts above the thumb, buttons big enough, and nothing that jumps under it."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any

import pytest

from daemon.firing import example_firing
from daemon.firing.alerts.registry import KINDS
from daemon.firing.events import Rank
from daemon.firing.kind import Finding
from daemon.firing.text_json import text_json

PHONE = {"width": 390, "height": 844}
SMALL = {"width": 360, "height": 740}
"""As small a screen as the newer small phones have."""
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


@pytest.mark.parametrize(("unit", "key_unit", "acknowledged_s"), [
    ("C", "C", None), ("F", "F", None), ("F", "C", None), ("F", "C", NOW_S - 30.0),
])
def test_on_a_small_phone_each_waking_text_has_its_acts_and_its_caution_on_the_first_screen(
        open_page, serve, studio, unit, key_unit, acknowledged_s):
    """Also beside a controller in the other unit, which is said above the lines, and after "I am up"."""
    studio.unit = unit
    quiet_until_s = None if acknowledged_s is None else NOW_S + 900.0
    number = studio.fill(until_s=NOW_S)
    page, seen = open_page(serve(studio), SMALL, "dark", scripts=False), 0
    for kind in KINDS:
        for example in kind.examples:
            if example.rank is not Rank.WAKE:
                continue
            finding = Finding(kind, Rank.WAKE, 0.0, example.facts, 4)
            text = kind.words(finding, example_firing.speaker(unit, key_unit=key_unit))
            if text.time_left_s is not None:
                text = replace(text, before_s=NOW_S + text.time_left_s)
            studio.say(number, NOW_S, temp_c=503.0, rate_c_per_h=-300.0, alerts=[{
                "no": 1, "kind": kind.name, "rank": "wake", "since_s": 23_000.0, "raised_s": 23_100.0,
                "woke_s": 23_200.0, "cleared_s": None, "acknowledged_s": acknowledged_s,
                "quiet_until_s": quiet_until_s, "step": 4, "under": None, "text": text_json(text)}])
            page.reload()
            bar = page.query_selector(".answer").bounding_box() or {"y": SMALL["height"]}
            for what in (".lead h1", ".temp", ".woken :is(.deeds, .do)", ".woken .caution"):
                box = page.query_selector(what).bounding_box()
                assert box["y"] >= 0, (kind.name, what)
                assert box["y"] + box["height"] <= bar["y"], (kind.name, example.phase, what)
            seen += 1
    assert seen > 20


@pytest.mark.parametrize(("size", "button"), [(SMALL, "#ack-thumb"), ({"width": 1280, "height": 900}, "#ack-1")])
def test_what_became_of_a_tap_is_said_in_sight_of_the_button_and_moves_nothing(
        open_page, serve, studio, wake, size, button):
    number = studio.fill(until_s=NOW_S)
    wake(studio, number, 500.0)
    page = open_page(serve(studio), size, "dark")
    acts = page.query_selector(".woken .deeds").bounding_box()
    page.click(button)
    _until(page, "location.search.startsWith('?asked=')")
    page.wait_for_load_state()  # the address changes before the page is there
    said = page.query_selector(".asked .what")
    assert said.inner_text() == "Asked. The watch takes it in a moment."
    box = said.bounding_box()
    tapped = page.query_selector(button).bounding_box()
    assert box["y"] >= 0
    assert box["y"] + box["height"] <= tapped["y"] < size["height"]
    if size is SMALL:
        assert page.query_selector(".woken .deeds").bounding_box() == acts
        assert tapped["y"] - box["y"] < 60


def _until(page: Any, script: str, seconds: float = 60.0) -> None:
    for _ in range(int(seconds * 20)):
        if page.evaluate(script):
            return
        page.wait_for_timeout(50)
    raise AssertionError(f"not within {seconds:g} s: {script}")
