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
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    assert_accessible(page, theme)
    assert page.overheard.ours() == []


def test_a_plan_as_it_is_typed_leads_to_one_that_can_be_followed_and_saved(address, open_page):
    page = open_page(f"{address}/plans/new?{FAST}", PHONE, "light")
    page.locator("#title").fill("Fast")
    page.locator("#steps").fill("600 670 20\n600 800 15\nAFAP 516 60\n80 400\nAFAP 40")
    page.get_by_role("button", name="What this kiln will do with it").click()
    page.get_by_text("This plan is not saved.").wait_for()
    assert "This kiln can follow a plan that climbs more slowly" in page.locator("main").inner_text()
    page.get_by_role("button", name="Look at it, change it, save it").click()
    page.locator("#steps").wait_for()
    assert page.locator("#title").input_value() == "Fast, as this kiln climbs"
    assert page.locator("#steps").input_value().splitlines()[-1] == "free / 40"
    page.go_back()
    page.get_by_role("link", name="as a picture").click()
    page.locator("svg.dots path.here:visible").first.wait_for()
