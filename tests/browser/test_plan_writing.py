"""A plan from paper in a real browser: said again while it is typed, and without script by a button."""

from __future__ import annotations

PHONE = {"width": 390, "height": 844}
PAPER = "Bowl (°F)\n1. 300 1225 :30\n2. AFAP 1490 10\n3. warm\n"


def _until(page, script):
    for _ in range(1200):
        if page.evaluate(script):
            return
        page.wait_for_timeout(50)
    raise AssertionError(f"not within 60 s: {script}")


def test_what_is_typed_is_said_again_beside_it_and_drawn_once_it_is_whole(studio, serve, open_page):
    studio.open_store().close()
    page = open_page(serve(studio) + "/plans/new")
    page.fill("#steps", PAPER)
    _until(page, "document.querySelector('[data-read]').innerText.includes('Line 4')")
    said = page.inner_text("[data-read]").replace("\u00a0", " ")
    assert "Step 1: climb 300 °F/h to 1225 °F, hold 30 min" in said
    assert "Line 4: “3. warm” is no step" in said
    assert page.get_attribute("#steps", "aria-invalid") is not None
    # Beside the typing on a desk.
    typed, read = page.locator("#steps").bounding_box(), page.locator("[data-read]").bounding_box()
    assert read["x"] > typed["x"] + typed["width"]
    assert read["y"] < typed["y"] + typed["height"]
    page.fill("#steps", PAPER.replace("3. warm", "3. 9999 960 1h"))
    _until(page, "document.querySelector('[data-drawn] svg') !== null")
    assert page.get_attribute("#steps", "aria-invalid") is None
    assert page.overheard.ours() == []


def test_a_paper_is_read_on_a_phone_without_script(studio, serve, open_page):
    studio.open_store().close()
    page = open_page(serve(studio) + "/plans/new", PHONE, scripts=False)
    typed = page.locator("#steps").bounding_box()
    assert typed["x"] + typed["width"] <= PHONE["width"] - 8  # the example below it is wider, and scrolls
    page.fill("#steps", PAPER)
    page.click("text=Read it")
    assert "Line 4: “3. warm” is no step" in page.inner_text("main").replace("\u00a0", " ")
    assert page.input_value("#steps").strip() == PAPER.strip()
    page.fill("#steps", PAPER.replace("3. warm", "3. 9999 960 1h"))
    page.click("text=Save the plan")
    assert page.inner_text("h1") == "Bowl (°F)"
