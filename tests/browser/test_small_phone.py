"""A small phone, 360 by 740: the caution beside its acts, nothing left under the bar, no target too small to hit."""

from __future__ import annotations

import pytest

SMALL = {"width": 360, "height": 740}
NOW_S = 24_000.0
LEAST_PX = 24
"""The smallest target, but for links inside sentences [px]. [source: WCAG 2.2, 2.5.8]"""
IN_SENTENCES = "docs/install.md", "Set up"


def test_woken_the_caution_stands_straight_after_the_acts_and_before_all_that_is_folded(
        open_page, serve, studio, wake):
    number = studio.fill(until_s=NOW_S)
    wake(studio, number, 500.0)
    page = open_page(serve(studio), SMALL, "dark")
    deeds, caution, why = (page.locator(f".woken {one}").first.bounding_box()
                           for one in (".deeds", ".caution", "details"))
    assert 0 <= caution["y"] - (deeds["y"] + deeds["height"]) < 16
    assert caution["y"] + caution["height"] <= why["y"]
    assert "Smoke" in page.inner_text(".woken .caution")


def test_woken_all_acts_stand_above_the_bar_and_the_foot_of_the_page_can_be_read(open_page, serve, studio, wake):
    number = studio.fill(until_s=NOW_S)
    wake(studio, number, 500.0)
    page = open_page(serve(studio), SMALL, "dark")
    bar = page.locator(".answer").bounding_box()
    deeds = page.locator(".woken .deeds").bounding_box()
    assert deeds["y"] + deeds["height"] <= bar["y"]
    page.evaluate("window.scrollTo(0, document.body.scrollHeight)")
    foot = page.locator(".foot").bounding_box()
    assert foot["y"] + foot["height"] <= bar["y"]


@pytest.mark.parametrize("width", [360, 390])
def test_the_card_shows_its_whole_drawing_without_scrolling_sideways(open_page, serve, studio, width):
    number = studio.fill(until_s=30_000.0, ended=True)
    page = open_page(f"{serve(studio)}/firings/{number}/card", {"width": width, "height": 740})
    shown = page.locator("main svg:visible")
    assert shown.count() == 1
    box = shown.bounding_box()
    assert box["x"] >= 0
    assert box["x"] + box["width"] <= width
    assert box["width"] > 300
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert page.pdf(prefer_css_page_size=True)  # and paper has the wide one
    page.emulate_media(media="print")
    assert page.locator("main svg:visible").get_attribute("width") == "760"


@pytest.mark.parametrize("path", [
    "/", "/firings", "/firings/1", "/pieces", "/plans", "/kiln", "/reach", "/compare?firing=1&firing=2", "/rehearse"])
def test_what_leads_on_is_big_enough_to_be_hit(open_page, serve, studio, path):
    for _ in range(2):
        studio.fill(until_s=31_000.0, ended=True)
    studio.say(None)
    page = open_page(serve(studio) + path, SMALL)
    small = page.evaluate("""[...document.querySelectorAll('a, button, summary')]
      .filter((e) => e.checkVisibility() && !e.classList.contains('skip'))
      .map((e) => [e.textContent.trim(), e.getBoundingClientRect().height])""")
    assert [(words, high) for words, high in small if high < LEAST_PX and words not in IN_SENTENCES] == []
