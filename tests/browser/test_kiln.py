"""The kiln's page after a year: its charts by keys, finger and pointer, on every screen, without script, in °F."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from daemon.settings.config import Config, Energy
from daemon.store import kilns
from daemon.store.wear import heat, part_changes

PHONE = {"width": 390, "height": 844}
DESKTOP = {"width": 1280, "height": 900}
FIRINGS = 9


@pytest.fixture(scope="module")
def address(studio_on: Any, serve_on: Any) -> str:
    """A studio of nine firings over a year, with new elements and thermocouple, rated power and price."""
    now = studio_on.clock.wall
    for number in range(FIRINGS):
        studio_on.clock.wall = now - timedelta(days=40 * (FIRINGS - number))
        firing = studio_on.fill(until_s=41_000.0, ended=True)
        one = heat.Heat(9000.0, 5800.0 + 40 * number, 1550.0, None if number % 2 else 1600.0)
        studio_on.store(lambda db, firing=firing, one=one: heat.put_heat(db, firing, one, 1))
    studio_on.clock.wall = now
    kiln = studio_on.store(lambda db: kilns.find(db, "small kiln"))
    for part, days in (("elements", 100), ("thermocouple", 170)):
        day = (now - timedelta(days=days)).date()
        studio_on.store(lambda db, part=part, day=day: part_changes.add_change(db, kiln, part, day, "invented", now))
    studio_on.say(None)
    return serve_on(studio_on, config=Config(energy=Energy(3.8, 0.3, "€")))


def _read(page: Any) -> str:
    return page.locator("[data-dots][aria-labelledby=climb] [data-read]").inner_text().replace("\u00a0", " ")


@pytest.mark.parametrize(("size", "theme"), [(PHONE, "dark"), (PHONE, "light"), (DESKTOP, "light"), (DESKTOP, "dark"),
                                             ({"width": 320, "height": 640}, "light")])
def test_the_page_has_no_fault_and_fits_every_screen(
        address, open_page, keep_picture, assert_accessible, size, theme):
    page = open_page(f"{address}/kiln", size, theme)
    keep_picture(page, f"kiln-charted-{size['width']}-{theme}")
    closed = page.locator("details:not([open]) > summary")
    while closed.count():
        closed.first.click()
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    assert_accessible(page, theme)
    assert page.overheard.ours() == []


def test_the_form_that_corrects_a_change_and_the_meter_s_form_have_no_fault(
        address, open_page, keep_picture, assert_accessible):
    for path in ("/kiln/parts/1", "/firings/9"):
        page = open_page(address + path, PHONE, "dark")
        if path.startswith("/firings"):
            page.get_by_text("Enter what a meter showed").click()
            assert page.locator("#kwh").bounding_box()["height"] >= 43.5
            keep_picture(page, "meter-390-dark", whole=False)
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
        assert_accessible(page, path)


def test_the_arrow_keys_go_from_firing_to_firing(address, open_page):
    page = open_page(f"{address}/kiln", DESKTOP)
    plot = page.locator("[data-dots][aria-labelledby=climb] [data-dot-plot]")
    plot.focus()
    latest = _read(page)
    page.keyboard.press("ArrowLeft")
    before = _read(page)
    page.keyboard.press("Home")
    first = _read(page)
    assert len({latest, before, first}) == 3
    assert plot.locator(".wide .looked").get_attribute("data-dot") == "0"
    page.keyboard.press("ArrowLeft")
    assert _read(page) == first
    page.keyboard.press("End")
    assert _read(page) == latest
    assert page.locator("#climb").bounding_box()["y"] > -5000  # the page did not run away under the keys


def test_a_finger_near_a_dot_is_told_its_firing(address, open_page):
    page = open_page(f"{address}/kiln", PHONE)
    page.locator("#climb").click()  # folded on a phone
    plot = page.locator("[data-dots][aria-labelledby=climb] [data-dot-plot]")
    plot.scroll_into_view_if_needed()
    dot = plot.locator(".narrow [data-dot='2']").bounding_box()
    page.touchscreen.tap(dot["x"] + dot["width"] / 2 + 6, dot["y"] + 30)  # a thumb is not exact
    assert plot.locator(".narrow .looked").get_attribute("data-dot") == "2"
    link = page.locator("[data-dots][aria-labelledby=climb] [data-read] a")
    assert link.get_attribute("href") == "/firings/3"


def test_a_phone_begins_with_what_is_read_often_and_a_desk_with_all_of_it(address, open_page):
    phone, desk = (open_page(f"{address}/kiln", size) for size in (PHONE, DESKTOP))
    assert phone.locator("details[data-fold]").count() >= 3
    assert phone.locator("details[data-fold][open]").count() == 0
    shown = "[...document.querySelectorAll('[data-dots]')].filter((e) => e.checkVisibility())"
    assert phone.evaluate(f"{shown}.map((e) => e.getAttribute('aria-labelledby'))") == ["band-1", "energy"]
    assert desk.locator("details[data-fold]:not([open])").count() == 0
    assert phone.evaluate("document.documentElement.scrollHeight") < 4 * PHONE["height"]
    linked = open_page(f"{address}/kiln#climb", PHONE)
    assert linked.locator("[data-dots][aria-labelledby=climb] svg:visible").count() == 1


def test_words_on_a_phone_are_large_enough_to_read(address, open_page):
    page = open_page(f"{address}/kiln", PHONE)
    scale = page.evaluate("document.querySelector('.narrow svg.dots').getBoundingClientRect().width / 360")
    assert 13 * scale >= 12


def test_without_script_every_firing_stands_in_the_table_and_nothing_promises_keys(address, open_page):
    page = open_page(f"{address}/kiln", PHONE, scripts=False)
    assert page.locator("[data-how]").is_visible() is False
    assert page.locator("[data-dots] svg:visible").count() >= 3
    assert page.locator("[data-dots][aria-labelledby=climb]").locator("xpath=..").locator(
        "[data-row]").count() == FIRINGS


def test_a_new_part_is_noted_with_the_keyboard_alone(studio, serve, open_page):
    studio.fill(until_s=41_000.0, ended=True)
    page = open_page(serve(studio) + "/kiln", PHONE)
    summary = page.get_by_text("Note a new part")
    summary.focus()
    page.keyboard.press("Enter")
    page.locator("#part").select_option("thermocouple")
    page.locator("#day").fill("2026-02-20")
    page.locator("#note").fill("type N")
    page.locator("#note").press("Enter")
    page.wait_for_load_state()
    assert "Changed Fri 20 Feb 2026, type N" in page.locator(".changes").inner_text()
