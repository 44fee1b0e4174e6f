"""A night rehearsed on the bench: the house dark at 02:10, and what the phone beside the bed shows when it is not.

``KEEP_PICTURES=1 .venv/bin/pytest tests/browser/test_night.py`` draws the phone in ci-output/screenshots/.
"""

from __future__ import annotations

import importlib.util
import sys
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import ModuleType
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from daemon.firing.plan.plan import parse_plan
from daemon.firing.units import NO_SAFETY_DEVICE
from daemon.notify.alert_messages import Channel
from hw.thermocouple import Fault
from simulations.firing import read_faults, simulate

ROOT = Path(__file__).parents[2]
PHONE = {"width": 390, "height": 844}
DARK = datetime(2026, 3, 2, 2, 10, tzinfo=UTC)
DARK_S = 25 * 60.0
PLAN = """title = "Full fuse, climbed fast: only its anneal matters here"
unit = "C"
step = [
    { rate = 400, to = 800, hold_min = 10, purpose = "top" },
    { rate = "free", to = 516, hold_min = 60, purpose = "anneal" },
    { rate = 80, to = 461 }, { rate = 150, to = 406 }, { rate = "free", to = 40 },
]
"""


def load(name: str, path: Path) -> ModuleType:
    spec = importlib.util.spec_from_file_location(name, path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[name] = module
    spec.loader.exec_module(module)
    return module


@dataclass
class Night:
    """The house as it stands shortly after the mains is back."""

    house: Any
    titles: list[str]
    bodies: list[str]


@pytest.fixture(scope="module")
def night(tmp_path_factory) -> Night:
    """Return a house whose mains, kiln and monitor alike, was away from 02:10 for 25 min, in the anneal hold."""
    parts = load("lehrling_tests_daemon_studio", ROOT / "tests" / "daemon" / "conftest.py")
    where = f"{DARK_S / 60:g}min@step2:hold+20min"
    plan = parse_plan(PLAN, "plan")
    fired = simulate(plan, faults=read_faults((f"power-cut={where}", f"gap={where}"), plan), seed=5)
    dark_s = fired.truth.faults[0].at_s
    temps = {round(sample.t_s / 5): sample.temp_c for sample in fired.samples}

    house = parts.Studio(tmp_path_factory.mktemp("night"))
    house.kill()
    house.config = replace(house.config, channels=(Channel("phone", Path("phone.url")),))
    house.start()
    plan_id = house.add_plan(PLAN)
    house.clock.wall = DARK - timedelta(seconds=dark_s)
    house.start_firing(title="Shallow bowl, river blue", plan_id=plan_id)
    began_s = house.clock.now_s()
    house.says = lambda s: temps.get(round((s - began_s) / 5)) or Fault.SILENT
    house.run(dark_s)
    assert abs((house.clock.wall - DARK).total_seconds()) < 5
    house.kill()
    boot_s = 20.5  # where reboot() puts the clock
    house.says = lambda s: temps.get(round((s - boot_s + dark_s + DARK_S) / 5)) or Fault.SILENT
    house.reboot(DARK_S)
    house.run(120)
    rows = house.see(lambda db: list(db.query("SELECT title, body FROM outbox ORDER BY outbox_id")))
    return Night(house, [row["title"] for row in rows], [row["body"] for row in rows])


def test_the_first_words_after_the_dark_are_the_temperatures_and_the_lines_to_key_in(night):
    back, *_ = [title for title in night.titles if title.startswith("Lehrling is back")]
    assert back == "Lehrling is back after 25 min without a reading"
    sent = zip(night.titles, night.bodies, strict=True)
    wakes = [(title, body) for title, body in sent if title.startswith("GET UP")]
    assert len(wakes) == 1, night.titles
    title, body = wakes[0]
    assert title.startswith("GET UP: power was off, kiln is at ")
    assert len(title) <= 60
    assert "Stop the controller. Key in these lines, then press start:" in body
    assert "↑ 150 °C/h to 516 °C, hold 60 min\n   ↓ 80 °C/h to 461 °C\n   ↓ 150 °C/h to 406 °C\n   off" in body
    assert body.endswith(NO_SAFETY_DEVICE)


def test_a_phone_by_the_bed_shows_it_and_the_lines_can_be_read_without_scrolling_sideways(
        night, serve, open_page, studio, keep_picture):
    clock = studio.clock
    clock.wall = night.house.clock.wall
    page_studio = replace(studio, folder=night.house.folder, clock=clock)
    address = serve(page_studio, kiln="Back room kiln", zone=ZoneInfo("UTC"))
    page = open_page(address, PHONE, "dark")
    keep_picture(page, "night-0210-phone-dark", whole=False)
    keep_picture(page, "night-0210-phone-dark-whole")
    said = page.inner_text("main").replace("\xa0", " ")
    assert "Power was off, kiln is at" in page.text_content(".woken .said")
    assert "Stop the controller. Key in these lines, then press start:" in said
    assert page.inner_text(".keys tr").split() == ["↑", "up", "150", "°C/h", "516", "°C", "hold", "60", "min"]
    assert page.inner_text("#ack-thumb").strip() == "I am up"
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
