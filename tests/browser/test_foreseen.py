"""What the kiln will do with a plan, and what if, on a phone and on a desk."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import pytest

from simulations.studio.seed import PAST, seed_studio

PHONE = {"width": 360, "height": 740}
DESKTOP = {"width": 1280, "height": 900}
ASKED = "start=21:00+23:00&hotter=10&longer=10&anneal=12"
FAST = "title=Fast&unit=C&first=rate&steps=600+670+20%0A600+800+15%0AAFAP+516+60%0A80+400%0AAFAP+40"


@pytest.fixture(scope="module")
def address(studio_on: Any, serve_on: Any) -> str:
    """A kiln whose record shows the most it can do, and a hazy piece fired again."""
    studio_on.open_store().close()
    studio_on.store(lambda db: seed_studio(db, datetime(2026, 5, 20, 12, tzinfo=UTC), (*PAST[1:3], PAST[4])))
    studio_on.store(lambda db: db.execute("UPDATE kiln SET name = 'small kiln'"))
    return serve_on(studio_on, open_house=True)


@pytest.mark.parametrize(("size", "theme"), [(PHONE, "dark"), (DESKTOP, "light")])
def test_what_if_fits_and_says_all(address, open_page, assert_accessible, size, theme):
    page = open_page(f"{address}/plans/1/foreseen?{ASKED}", size, theme)
    said = page.locator("main").inner_text().replace("\u00a0", " ")
    for name in ("start 21:00", "start 23:00", "10 °C hotter", "10 min longer", "anneal 12 mm"):
        assert name in said
    assert page.locator("table.what-if").is_visible() == (size == DESKTOP)
    assert page.locator(".card-if").first.is_visible() == (size == PHONE)
    # Every curve has its whole name in the drawing, on the phone as on the desk.
    drawing = page.locator("#answer svg.trace:visible")
    assert sorted(" ".join(label.split()) for label in drawing.locator("text.label").all_text_contents()) == [
        "A start 21:00", "B start 23:00", "C 10 °C hotter", "D 10 min longer", "E anneal 12 mm"]
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    assert_accessible(page, theme)
    assert page.overheard.ours() == []


@pytest.mark.parametrize("asked", ["", ASKED, f"{ASKED}&done_by=8:00", "done_by=8:00&done=open"])
def test_on_a_phone_it_is_short_and_what_is_asked_first_stands_first(address, open_page, asked):
    page = open_page(f"{address}/plans/1/foreseen?{asked}", PHONE, "light")
    assert page.evaluate("document.documentElement.scrollHeight") < 3500
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    show = page.get_by_role("button", name="Show").bounding_box()
    answer = page.locator("#answer").bounding_box()
    assert show["y"] + show["height"] < answer["y"] < 740  # one sees that there is an answer
    assert not page.get_by_text("When each part ends").locator("xpath=ancestor::details").get_attribute("open")


def test_the_fields_of_the_latest_start_lead_to_it(address, open_page):
    page = open_page(f"{address}/plans/1/foreseen", PHONE, "dark")
    page.get_by_label("Or done by").fill("8 am")
    page.get_by_label("Done means").select_option("open")
    page.get_by_role("button", name="Show").click()
    page.locator("p.verdict").wait_for()
    assert " at the latest." in page.locator("p.verdict").inner_text()
    assert page.get_by_label("Or done by").input_value() == "8 am"


def test_a_plan_as_it_is_typed_leads_to_one_that_can_be_followed_and_saved(address, open_page):
    page = open_page(f"{address}/plans/new?{FAST}", PHONE, "light")
    page.locator("#title").fill("Fast")
    page.locator("#steps").fill("600 670 20\n600 800 15\nAFAP 516 60\n80 400\nAFAP 40")
    page.get_by_role("button", name="What this kiln will do with it").click()
    page.get_by_text("This plan is not saved.").wait_for()
    page.get_by_text("A plan that this kiln can follow").click()
    assert "This kiln can follow a plan that climbs more slowly" in page.locator("main").inner_text()
    page.get_by_role("button", name="Look at it, change it, save it").click()
    page.locator("#steps").wait_for()
    assert page.locator("#title").input_value() == "Fast, as this kiln climbs"
    assert page.locator("#steps").input_value().splitlines()[-1] == "free / 40"
    page.go_back()
    page.get_by_text("What the glass goes through").click()
    page.get_by_role("link", name="as a picture").click()
    page.locator("svg.dots path.here:visible").first.wait_for()
