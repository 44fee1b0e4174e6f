"""The questions' drawings: a mark that is pointed at or tapped is told below, with the way to its firing."""

from __future__ import annotations

from typing import Any

import pytest

PHONE = {"width": 360, "height": 740}
DESKTOP = {"width": 1280, "height": 900}
FIRED = ((800.0, "haze", 20), (801.0, "haze", 20), (815.0, "clear", 20), (790.0, "haze", 40))


@pytest.fixture(scope="module")
def address(studio_on: Any, serve_on: Any) -> str:
    """Tiles fired four times; the two firings in the middle differ in their peak only."""
    from daemon.store import judgements, outcomes

    for number, (peak_c, word, above_min) in enumerate(FIRED):
        firing = studio_on.fill(until_s=45_000.0 - 600.0 * number, ended=True, title=f"Tiles, try {number + 1}")
        told = {"peak_c": peak_c, "finished": True, "glass": {"time_above_s": {"760": 60.0 * above_min}}}
        studio_on.store(lambda db, firing=firing, told=told: judgements.add_judgement(
            db, firing, told, "0", studio_on.clock.wall))
        studio_on.store(lambda db: db.execute("UPDATE firing_piece SET piece_id = 1"))
        studio_on.store(lambda db, firing=firing, word=word: outcomes.add_outcome(
            db, firing_id=firing, piece_id=1, words=[word], place="", note="", now_utc=studio_on.clock.wall))
    studio_on.say(None)
    return serve_on(studio_on)


@pytest.mark.parametrize("size", [PHONE, DESKTOP])
def test_the_mark_nearest_in_both_directions_is_told_with_the_way_to_its_firing(address, open_page, size):
    page = open_page(f"{address}/questions", size, "light")
    figure = page.locator("[data-dots=both]")
    for number, (firing, said) in enumerate(((2, "Stayed: peak 801"), (3, "Cleared: peak 815"))):
        mark = figure.locator(f"svg.dots:visible [data-dot='{number}']")
        mark.scroll_into_view_if_needed()
        box = mark.bounding_box()
        page.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
        read = figure.locator("[data-read]")
        assert said in read.inner_text().replace("\u00a0", " ")
        assert read.locator("a").get_attribute("href") == f"/firings/{firing}"
        assert figure.locator("svg.dots:visible .looked").get_attribute("data-dot") == str(number)


def test_the_arrow_keys_go_through_the_last_ten(address, open_page):
    page = open_page(f"{address}/questions", DESKTOP, "dark")
    figure = page.locator("[data-dots][aria-labelledby=hot-head]")
    figure.locator("[data-dot-plot]").focus()
    page.keyboard.press("Home")
    for firing in (1, 2, 3, 4):
        assert figure.locator("[data-read] a").get_attribute("href") == f"/firings/{firing}"
        page.keyboard.press("ArrowRight")
    assert page.overheard.ours() == []


@pytest.mark.parametrize("size", [PHONE, {"width": 320, "height": 640}])
def test_the_page_fits_a_phone_with_all_unfolded_and_no_letter_is_under_12_px(
        address, open_page, assert_accessible, size):
    page = open_page(f"{address}/questions", size, "dark")
    closed = page.locator("details:not([open]) > summary")
    while closed.count():
        closed.first.click()
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    least = page.evaluate("""Math.min(...[...document.querySelectorAll("svg.dots text")].map((t) => {
        const svg = t.closest("svg"), wide = svg.getBoundingClientRect().width;
        return wide ? 13 * wide / svg.viewBox.baseVal.width : 99;
    }))""")
    assert least >= 12 or size["width"] < 360
    assert_accessible(page, "dark")
