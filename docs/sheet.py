"""Photographs the screens that matter at three in the morning, and lays them on one sheet.

    python docs/sheet.py OUT                          all screens, each a PNG in OUT, and OUT/sheet.png
    python docs/sheet.py OUT --only lid-open,plan     only these are taken anew; the sheet holds all of OUT
    python docs/sheet.py OUT --only '' --before OLD   the phone's screens, each beside an older one's, taken into OLD

Everything shown is simulated and invented (docs/nights.py). It needs the test parts and Debian's ``chromium``. The
nights and the year are made in processes of their own, as many at once as the computer has cores. On two busy cores
all of it takes a quarter of an hour; ``first-run`` alone takes five minutes, since its rehearsal is waited for.
"""

from __future__ import annotations

import argparse
import json
import logging
import multiprocessing
import sys
import threading
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from html import escape
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any
from zoneinfo import ZoneInfo

import invented_year
import nights
import screens
import waitress
from invented_year import StillClock
from PIL import Image
from waitress import wasyncore

from daemon.clock import SystemClock

PHONE = {"viewport": {"width": 390, "height": 844}, "is_mobile": True, "has_touch": True, "device_scale_factor": 1.5}
DESK = {"viewport": {"width": 1120, "height": 860}}
PAPER = "Bowl, from the blue notebook (°F)\n1. 300 1225 :30\n2. AFAP 1490 10\n3. AFAP 960 1h\n4. 150 840\n5. OFF\n"
WIDE = ("twelve-alerts-desk",)
"""Beside an older version a screen of the desk is shown only where the phone's does not show what changed."""
SHEET_COLOURS = 192
"""Enough for paper by day and by night with the one colour of an alarm."""
REHEARSAL_S = 480
"""How long the rehearsal may take to wake [s]; it does so within three minutes where the computer is idle."""


@dataclass
class Camera:
    """Photographs pages into a folder.

    Attributes
    ----------
    browser
        Chromium.
    out
        Where the pictures go.
    took
        Each picture's caption by its name.
    made
        The folder of a screen that was made ahead, by its name, and the time to look at it by; waits for it.
    """

    browser: Any
    out: Path
    took: dict[str, str]
    made: Callable[[str], tuple[Path, datetime]]

    def page(self, *, dark: bool, look: dict[str, Any]) -> Any:
        """Return an empty page of a phone or a desk, by day or in a dark room."""
        return self.browser.new_page(reduced_motion="reduce", color_scheme="dark" if dark else "light", **look)

    def keep(self, page: Any, name: str, caption: str) -> None:
        """Keep what the page shows now."""
        screens.wait_for_plot(page)
        screens.keep(page, self.out / f"{name}.png")
        self.took[name] = caption

    def both(self, address: str, name: str, caption: str, *, dark: bool, at: str = "") -> None:
        """Keep an address on a phone and on a desk, scrolled to the element ``at``."""
        for look, where in ((PHONE, "phone"), (DESK, "desk")):
            page = self.page(dark=dark, look=look)
            page.goto(address)
            screens.wait_for_plot(page)
            if at and page.locator(at).count():
                page.locator(at).first.scroll_into_view_if_needed()
            self.keep(page, f"{name}-{where}", f"{caption} ({where})")
            page.close()


def take_night(camera: Camera, name: str) -> None:
    """Photograph Now at the moment of one of the NIGHTS, in the dark."""
    folder, now_utc = camera.made(name)
    with served(folder, StillClock(now_utc)) as address:
        camera.both(address + "/", name, nights.NIGHTS[name].caption, dark=True)


def take_twelve(camera: Camera) -> None:
    """Photograph the record of a night with twelve alerts, its chart in sight."""
    folder, now_utc = camera.made("twelve-alerts")
    with served(folder, StillClock(now_utc)) as address:
        camera.both(address + "/firings/1", "twelve-alerts", "A night with twelve alerts", dark=True,
                    at="[data-plot]")


def take_year(camera: Camera) -> None:
    """Photograph the list of 300 firings, and three of one piece beside each other."""
    folder, now_utc = camera.made("year")
    with served(folder, StillClock(now_utc)) as address:
        camera.both(address + "/firings", "list", "The list of 300 firings", dark=False)
        three = "&".join(f"firing={number}" for number in invented_year.COMPARED)
        camera.both(f"{address}/compare?{three}", "compare", "Three firings of one piece, compared", dark=False)
        camera.both(f"{address}/questions?plan=slumps", "questions", "Questions about all firings", dark=False)
        page = camera.page(dark=False, look=DESK)
        page.goto(f"{address}/questions?plan=slumps")
        page.set_viewport_size({"width": 1120, "height": page.evaluate("document.documentElement.scrollHeight")})
        camera.keep(page, "questions-whole-desk", "The page of questions from head to foot (desk)")
        page.close()
        camera.both(f"{address}/find?q=haze", "find", "What was written of haze", dark=False)


def take_plan(camera: Camera) -> None:
    """Photograph a plan as it stands on paper, in °F, and what is read of it."""
    with TemporaryDirectory() as folder:
        house = nights.idle_house(Path(folder), nights.WOKEN_AT)
        with served(Path(folder), house.clock, unit="F") as address:
            for look, where in ((PHONE, "phone"), (DESK, "desk")):
                page = camera.page(dark=False, look=look)
                page.goto(address + "/plans/new")
                page.fill("#steps", PAPER)
                page.wait_for_timeout(2500)  # it is read once typing rests
                page.locator("#steps").scroll_into_view_if_needed()
                camera.keep(page, f"plan-{where}", f"A plan from paper, in °F ({where})")
                page.close()
        house.kill()


def take_first_run(camera: Camera) -> None:
    """Photograph a phone from the empty page to the rehearsed alert."""
    clock = SystemClock()  # the rehearsal is a process of its own, and lives by the real one
    with TemporaryDirectory(ignore_cleanup_errors=True) as folder:
        house = nights.idle_house(Path(folder), clock.utc())
        with served(Path(folder), clock) as address:
            page = camera.page(dark=False, look=PHONE)
            for number, (path, caption) in enumerate((
                    ("/", "the empty page"), ("/setup", "kiln and units"),
                    ("/reach", "how to be woken"), ("/rehearse", "a rehearsal")), 1):
                page.goto(address + path)
                camera.keep(page, f"first-run-{number}", f"First run, {number}: {caption}")
            page.get_by_role("button", name="Start the rehearsal").tap()
            page.get_by_role("button", name="End the rehearsal").wait_for()
            _wait_for_rehearsal(page, address)
            camera.keep(page, "first-run-5", "First run, 5: the rehearsed alert")
            page.goto(address + "/rehearse")
            page.get_by_role("button", name="End the rehearsal").tap()
            page.get_by_role("button", name="Start the rehearsal").wait_for()
        house.kill()


def _wait_for_rehearsal(page: Any, address: str) -> None:
    """Look at the rehearsal until it wakes; say each minute that it is still waited for."""
    from playwright.sync_api import Error

    for second in range(REHEARSAL_S):
        with suppress(Error):  # it is begun anew where the page loads itself just then
            page.goto(address + "/rehearsal/", timeout=10_000)
            if page.locator(".woken").count():
                return
        page.wait_for_timeout(1000)
        if second % 60 == 59:
            say("the rehearsal runs on; it is waited for until it wakes")
    raise SystemExit(f"the rehearsal woke nobody within {REHEARSAL_S} s")


def make(name: str, folder: Path) -> datetime:
    """Make what a screen shows in ``folder``, and return when it is looked at; runs in a process of its own."""
    folder.mkdir()
    if name in nights.NIGHTS:
        return nights.played(name, folder)
    ahead = {"year": invented_year.year, "twelve-alerts": invented_year.twelve_alerts}
    return ahead[name](folder).wall


AHEAD = ("year", "twelve-alerts", *nights.NIGHTS)
"""What is made ahead, the longest first."""
SCREENS: dict[str, Callable[[Camera], None]] = {
    "first-run": take_first_run, "plan": take_plan,
    **{name: partial(take_night, name=name) for name in nights.NIGHTS},
    "twelve-alerts": take_twelve, "year": take_year,
}
"""What can be photographed, by name; first what needs nothing that is made ahead."""


@contextmanager
def made_ahead(names: Sequence[str]) -> Iterator[Callable[[str], tuple[Path, datetime]]]:
    """Begin to make what the screens of ``names`` show; give a function that waits for one of them."""
    # A fork of a process with a browser's threads may stand still: each begins anew.
    with TemporaryDirectory() as home, ProcessPoolExecutor(mp_context=multiprocessing.get_context("spawn")) as pool:
        begun: dict[str, Future[datetime]] = {
            name: pool.submit(make, name, Path(home) / name) for name in AHEAD if name in names}
        yield lambda name: (Path(home) / name, begun[name].result())


def say(words: str) -> None:
    """Tell how far it is."""
    sys.stderr.write(words + "\n")
    sys.stderr.flush()


@contextmanager
def served(folder: Path, clock: Any, **settings: Any) -> Iterator[str]:
    """Serve the page of a folder from this process; give its address."""
    from web.app import create_app
    from web.settings import Settings

    app = create_app(Settings(
        folder, folder, kiln="Kiln in the shed", zone=ZoneInfo("Europe/Berlin"), clock=clock, open_house=True,
        **settings))
    sockets: dict[int, Any] = {}
    server = waitress.create_server(app, map=sockets, host="127.0.0.1", port=0)
    enough = threading.Event()

    def serve() -> None:
        while not enough.is_set():
            wasyncore.loop(timeout=0.1, map=sockets, count=1)

    thread = threading.Thread(target=serve, daemon=True)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.effective_port}"
    finally:
        enough.set()
        thread.join()
        server.task_dispatcher.shutdown()
        wasyncore.close_all(sockets, ignore_all=True)


def lay(page: Any, out: Path, captions: dict[str, str], before: Path | None) -> None:
    """Lay the pictures on a sheet, ``out``/sheet.png; those of a phone beside what stood there before, if given."""
    figures = []
    for name, caption in captions.items():
        if before is not None and name.endswith("-desk") and name not in WIDE:
            continue
        old = before / f"{name}.png" if before is not None else None
        shown = [(out / f"{name}.png", "after" if before else ""), *([(old, "before")] if before else [])][::-1]
        pictures = "".join(
            f'<div><img src="{path.absolute().as_uri()}"><i>{word}</i></div>' if path is not None and path.exists()
            else f'<div class="none">{word}: there was none</div>' for path, word in shown)
        figures.append(f"<figure><figcaption>{escape(caption)}</figcaption><div class=row>{pictures}</div></figure>")
    html = out / "sheet.html"
    html.write_text(SHEET.replace("FIGURES", "\n".join(figures)), encoding="utf-8")
    page.goto(html.absolute().as_uri())
    page.screenshot(path=out / "sheet.png", full_page=True)
    with Image.open(out / "sheet.png") as taken:
        taken.convert("RGB").quantize(SHEET_COLOURS).save(out / "sheet.png", optimize=True)


SHEET = """<!doctype html><meta charset="utf-8"><title>Screens</title><style>
body { margin: 20px; background: #777; color: #fff; font: 15px sans-serif; display: flex; flex-wrap: wrap;
  gap: 22px; }
figure { margin: 0; } figcaption { margin-bottom: 6px; } .row { display: flex; gap: 8px; }
img { height: 560px; display: block; } i { font-size: 13px; } .none { width: 200px; font-size: 13px; }
</style>FIGURES"""


def main() -> None:
    """Take what is asked for, and lay the sheet."""
    logging.getLogger("waitress.queue").setLevel(logging.ERROR)  # a browser asks for more at once than it serves
    from playwright.sync_api import sync_playwright

    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("out", type=Path, metavar="OUT")
    parser.add_argument("--only", metavar="NAME,…", default=",".join(SCREENS), help=f"of: {', '.join(SCREENS)}")
    parser.add_argument("--before", type=Path, metavar="OLD", help="a folder of an older version's pictures")
    asked = parser.parse_args()
    names = [name for name in asked.only.split(",") if name]
    unknown = [name for name in names if name not in SCREENS]
    if unknown:
        parser.error(f"--only: no screen is called {', '.join(unknown)}; there are {', '.join(SCREENS)}")
    asked.out.mkdir(parents=True, exist_ok=True)
    clock = SystemClock()
    began_s = clock.now_s()
    with made_ahead(names) as made, sync_playwright() as play:
        browser = play.chromium.launch(
            executable_path=screens.CHROMIUM, args=["--headless", "--no-sandbox", "--disable-gpu"])
        kept = asked.out / "captions.json"
        camera = Camera(browser, asked.out, json.loads(kept.read_text(encoding="utf-8")) if kept.exists() else {},
                        made)
        for count, name in enumerate([name for name in SCREENS if name in names], 1):
            say(f"{count} of {len(names)}: {name}")
            SCREENS[name](camera)
            kept.write_text(json.dumps(camera.took, ensure_ascii=False, indent=1), encoding="utf-8")
        lay(browser.new_page(viewport={"width": 2000, "height": 900}), asked.out, camera.took, asked.before)
        browser.close()
    say(f"{asked.out / 'sheet.png'}, after {(clock.now_s() - began_s) / 60:.0f} min")


if __name__ == "__main__":
    main()
