"""A plan typed in °F is drawn, checked and listed in °F, whatever the reader reads elsewhere: one unit a screen."""

from __future__ import annotations

import re

from daemon.store import plans

FAHRENHEIT = """
title = "Full fuse from paper"
unit = "F"

[[step]]
rate = 900
to = 1480
hold_min = 10

[[step]]
rate = "free"
to = 960
hold_min = 5
purpose = "anneal"

[[step]]
rate = 600
to = 700
"""


def test_a_plan_typed_in_fahrenheit_is_drawn_checked_and_listed_in_fahrenheit(client, studio):
    studio.open_store().close()
    plan_id = studio.store(lambda db: plans.add_plan(db, FAHRENHEIT, studio.clock.wall))
    page = client.get(f"/plans/{plan_id}").text.split("<main")[1].split("</main")[0]
    assert "1480" in page
    assert "°F" in page
    assert "°C" not in page
    assert re.search(r"Doubtful for", page), "a plan that is doubtful in °C is so in °F"
    listed = client.get("/plans").text
    assert "900 / 1480 / 0:10" in listed
    assert "in °F" in listed
    assert "°C" not in listed.split("<main")[1].split("</main")[0]
    same = {"Origin": "http://localhost", "Sec-Fetch-Site": "same-origin"}
    typed = client.post("/plans/drawing.json", headers=same, data={
        "unit": "F", "first": "rate", "steps": "900 / 1480 / 0:10\nfree / 960 / 0:05\n600 / 700"}).json["html"]
    assert "°F" in typed
    assert "°C" not in typed
