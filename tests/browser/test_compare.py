"""Comparing on a phone and on a desk: nothing is wider than the screen, no name lies over another, all by keyboard.

KEEP_PICTURES=1 draws them in ci-output/screenshots/, to be looked at.
"""

from __future__ import annotations

from datetime import timedelta
from io import BytesIO
from typing import Any

import pytest

PHONE = {"width": 390, "height": 844}
DESKTOP = {"width": 1280, "height": 900}
SMALLEST = {"width": 320, "height": 640}
TABLET = {"width": 820, "height": 1000}
STEPS = """title = "{title}"
unit = "C"
[[step]]
rate = {rate}
to = 670
hold_min = 30
purpose = "squeeze"
[[step]]
rate = {fast}
to = {top}
hold_min = {hold}
purpose = "top"
[[step]]
rate = "free"
to = 516
hold_min = {anneal}
purpose = "anneal"
[[step]]
rate = 55
to = 370
[[step]]
rate = 150
to = 60
"""
FIRED = (
    ("Full fuse, river bowl blank", "clear", 220, 250, 800, 10, 60, "Cleaned twice; edges round all over."),
    ("Dune tiles, set of six", "haze", 220, 110, 788, 10, 60, "White film along the ground edges.\nWashed once."),
    ("Lamp shade panel", "as hoped", 220, 250, 801, 10, 60, ""),
    ("Full fuse, river bowl blank", "haze", 150, 100, 790, 25, 60, "A skim of powder, then this."),
    ("Twelve-millimetre casting with an unusually long name", "bubbles", 110, 200, 805, 12, 120, ""),
    ("Lamp shade panel", "clear", 221, 250, 800, 10, 61, "As the one before, to see whether it comes again."),
)
"""Invented firings: title, outcome, rates, top, holds [min] and a note."""
OVERLAPS = """(() => {
  const found = [];
  for (const svg of document.querySelectorAll('svg.trace')) {
    const boxes = [...svg.querySelectorAll(':scope > text')].map((t) => [t.textContent, t.getBoundingClientRect()])
      .filter(([, b]) => b.width > 0);
    for (const [i, [one, a]] of boxes.entries())
      for (const [other, b] of boxes.slice(i + 1))
        if (a.left < b.right && a.right > b.left && a.top < b.bottom - 1 && a.bottom > b.top + 1)
          found.push([one, other]);
  }
  return found;
})()"""
OUTSIDE = """[...document.querySelectorAll('main *')]
    .filter((e) => e.getBoundingClientRect().right > innerWidth + 0.5).map((e) => e.outerHTML.slice(0, 90))"""
FOCUSED = "(document.activeElement.innerText || '')"
NAMES = """[...document.querySelectorAll('svg.trace')].filter((s) => s.getBoundingClientRect().width)
    .map((s) => [...s.querySelectorAll('.label tspan[font-weight]')].map((t) => t.textContent).sort().join(''))"""
LEFTS = "[...document.querySelectorAll('{}')].map((e) => e.getBoundingClientRect().left)"


def fire(studio: Any) -> None:
    from PIL import Image

    from daemon.store import firings, notes, outcomes

    for days, (title, word, rate, fast, top, hold, anneal, note) in enumerate(FIRED):
        toml = STEPS.format(title="Full fuse" if anneal == 60 else title[:40], rate=rate, fast=fast, top=top,
                            hold=hold, anneal=anneal)
        number = studio.fill(until_s=44_000.0, ended=True, title=title, plan_toml=toml, name=title.split(",")[0],
                             separator="shelf wash, fresh" if word != "haze" else "fibre paper, used twice")
        studio.store(lambda db, n=number, word=word, note=note, days=days: (
            firings.date_firing(db, n, studio.clock.wall - timedelta(days=40 - days)),
            outcomes.add_outcome(db, firing_id=n, piece_id=n, words=[word], place="", note="",
                                 now_utc=studio.clock.wall),
            note and notes.add_note(db, n, note, studio.clock.wall)))
        body = BytesIO()
        Image.linear_gradient("L").convert("RGB").resize((640, 480)).save(body, "JPEG")
        if days % 2:
            studio.app().test_client().post(
                f"/firings/{number}/photographs", headers={"Origin": "http://localhost"},
                content_type="multipart/form-data",
                data={"photograph": (BytesIO(body.getvalue()), "a.jpg"), "caption": "From above, north light"})
    studio.say(None)


@pytest.fixture(scope="module")
def fired(studio_on, serve_on):
    """Return the address of a studio with six firings, filled once."""
    fire(studio_on)
    return serve_on(studio_on, open_house=True)


def of(count: int) -> str:
    return "/compare?" + "&".join(f"firing={number}" for number in range(1, count + 1))


@pytest.mark.parametrize("count", [2, 3, 6])
def test_names_lie_over_nothing_and_nothing_is_wider_than_the_screen(
        fired, open_page, keep_picture, assert_accessible, count):
    page = open_page(fired + of(count), PHONE, "dark")
    for size, theme in ((PHONE, "dark"), (SMALLEST, "light"), (TABLET, "light"), (DESKTOP, "light")):
        page.set_viewport_size(size)
        page.emulate_media(color_scheme=theme)
        page.wait_for_timeout(250)
        page.evaluate("document.querySelectorAll('details').forEach((e) => { e.open = true; })")
        keep_picture(page, f"compare-{count}-{size['width']}-{theme}")
        assert page.evaluate("document.documentElement.scrollWidth") <= size["width"]
        assert page.evaluate(OUTSIDE) == []
        assert page.evaluate(OVERLAPS) == []
        assert page.evaluate(NAMES) == ["ABCDEF"[:count]] * 2  # around the top, and the whole
        if size in (PHONE, DESKTOP):
            assert_accessible(page, theme)
    assert page.overheard.ours() == []
    assert page.overheard.hosts == {"127.0.0.1"}


def test_no_table_and_nothing_to_scroll_sideways_is_in_it(fired, open_page):
    page = open_page(fired + of(6), PHONE)
    assert page.locator("main table, main .scroll").count() == 0
    assert page.evaluate("""[...document.querySelectorAll('main *')].filter((e) =>
        ['auto', 'scroll'].includes(getComputedStyle(e).overflowX)).map((e) => e.tagName)""") == []


def test_on_a_phone_the_figures_of_three_stand_in_one_row_and_words_under_each_other(fired, open_page):
    page = open_page(fired + of(3), PHONE)
    tops = "[...document.querySelectorAll('{} li')].map((e) => Math.round(e.getBoundingClientRect().top))"
    row = page.evaluate(tops.format(".fact:has(.figures) .cells.figures"))[:3]
    assert len(set(row)) == 1
    assert len(set(page.evaluate(tops.format(".fact:has(.written) .cells.written"))[:3])) == 3


def test_on_a_desk_the_numbers_of_the_columns_stay_in_sight(fired, open_page):
    page = open_page(fired + of(3), DESKTOP)
    page.locator("h3 >> text=Notes").scroll_into_view_if_needed()
    page.evaluate("scrollBy(0, 200)")
    box = page.locator(".heads").bounding_box()
    assert box is not None
    assert 0 <= box["y"] < 10
    columns, notes = (page.evaluate(LEFTS.format(css)) for css in (".heads .cells p", ".fact .cells.written li"))
    assert all(abs(a - b) < 1 for a, b in zip(columns, notes[-3:], strict=True))


def test_firings_are_chosen_on_a_phone_without_a_script(fired, open_page):
    page = open_page(fired + "/firings", PHONE, scripts=False)
    page.get_by_role("link", name="Compare firings").tap()
    bar = page.get_by_role("button", name="Compare", exact=True)
    assert bar.bounding_box()["y"] + bar.bounding_box()["height"] <= PHONE["height"]  # in sight before any scrolling
    page.get_by_text("Dune tiles, set of six").tap()
    page.fill("#q", "Lamp shade")
    page.get_by_role("button", name="Find").tap()
    page.wait_for_url("**q=Lamp+shade**")
    assert page.get_by_role("checkbox", checked=True).count() == 1  # what was ticked is not lost by searching
    page.locator("li >> text=Lamp shade panel").first.tap()
    page.get_by_role("button", name="Compare", exact=True).tap()
    page.get_by_role("heading", name="What was different").wait_for()
    assert page.locator(".key li").count() == 2
    assert page.locator(".narrow path.measured").first.is_visible()
    page.get_by_text("The same in all").tap()
    assert page.locator(".same dl").is_visible()
    page.get_by_role("link", name="Add or leave out").tap()
    page.get_by_role("heading", name="Which firings?").wait_for()
    assert page.get_by_role("checkbox", checked=True).count() == 2


def test_all_of_it_goes_by_keyboard(fired, open_page):
    page = open_page(fired + "/compare?firing=1&page=1", DESKTOP)
    _tab_to(page, "document.activeElement.matches('input[name=firing]:not(:checked)')")
    page.keyboard.press("Space")
    _tab_to(page, f"{FOCUSED} === 'Compare'")
    page.keyboard.press("Enter")
    page.get_by_role("heading", name="What was different").wait_for()
    for words in ("Make another firing A", "Look closer", "Align", "The same in all"):
        _tab_to(page, f"{FOCUSED}.startsWith('{words}')")
        box = page.evaluate("document.activeElement.getBoundingClientRect().toJSON()")
        assert 0 <= box["top"] < DESKTOP["height"]
    page.keyboard.press("Enter")
    assert page.locator(".same dl").is_visible()


def _tab_to(page: Any, there: str) -> None:
    for _ in range(80):
        page.keyboard.press("Tab")
        if page.evaluate(there):
            return
    raise AssertionError(f"not to be reached by Tab: {there}")
