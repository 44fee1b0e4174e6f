"""A real Chromium, pages that report everything they say and fetch, and a served invented studio."""

from __future__ import annotations

import importlib.util
import json
import os
import shutil
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path
from types import ModuleType
from typing import Any
from urllib.parse import urlsplit

import pytest
import waitress
from waitress import wasyncore

from daemon.firing import example_firing
from daemon.firing.events import Rank
from daemon.firing.kind import Finding
from daemon.firing.text_json import text_json
from daemon.firing.watches import firing_stopped

CHROMIUM = shutil.which("chromium-headless-shell") or shutil.which("chromium") or "/usr/bin/chromium"
"""The same engine without the windows, tabs and tool bars that nobody sees here, or with them: twice the work."""
QUIET = [
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
]
SHOTS = Path(__file__).parents[2] / "ci-output" / "screenshots"
"""Where pictures of the pages are kept, to be looked at."""
PHONE = {"width": 390, "height": 844}
DESKTOP = {"width": 1280, "height": 900}
COLOUR_RULES = ["color-contrast", "link-in-text-block"]
"""The rules of axe that ask for colours. All others ask for the elements of a page, which are the same by day and by
night: a theme changes colours alone."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    here = os.path.join(os.path.dirname(__file__), "")
    for item in items:
        if str(item.path).startswith(here):
            item.add_marker(pytest.mark.browser)


def load_studio() -> ModuleType:
    """Return tests/web/conftest.py, where the invented studio is made; tests have no packages."""
    name = "lehrling_tests_web_studio"
    if name not in sys.modules:
        spec = importlib.util.spec_from_file_location(name, Path(__file__).parents[1] / "web" / "conftest.py")
        assert spec is not None
        assert spec.loader is not None
        module = importlib.util.module_from_spec(spec)
        sys.modules[name] = module
        spec.loader.exec_module(module)
    return sys.modules[name]


@pytest.fixture(scope="session")
def chromium() -> Iterator[Any]:
    """Debian's Chromium, driven by Playwright; there must be one in CI."""
    if not Path(CHROMIUM).exists():
        if os.environ.get("CI"):
            pytest.fail("no chromium here, and CI must drive one: apt-get install chromium-headless-shell")
        pytest.skip("no chromium installed; the browser tests need Debian's chromium-headless-shell or chromium")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=CHROMIUM, args=QUIET)
        yield browser
        browser.close()


@dataclass
class Overheard:
    """Everything a page said on its console and asked of any network."""

    said: list[str] = field(default_factory=list)
    hosts: set[str] = field(default_factory=set)

    def ours(self) -> list[str]:
        """Return all that was said; the page's policy lets plotly's one style through by its hash."""
        return self.said


OpenPage = Callable[..., Any]


@pytest.fixture
def open_page(chromium: Any) -> Iterator[OpenPage]:
    """Return a function that opens an address and gives the page, whose ``overheard`` is listened to."""
    contexts = []

    def open_it(address: str, size: dict[str, int] = DESKTOP, theme: str = "light", *, scripts: bool = True,
                settle: bool = True, motion: str = "reduce") -> Any:
        context = chromium.new_context(
            viewport=size, color_scheme=theme, java_script_enabled=scripts, has_touch=size == PHONE,
            is_mobile=size == PHONE, device_scale_factor=2 if size == PHONE else 1, reduced_motion=motion)
        contexts.append(context)
        page = context.new_page()
        page.overheard = Overheard()
        page.on("console", lambda line: page.overheard.said.append(
            f"{'plotly: ' if '/plotly-' in line.location.get('url', '') else ''}{line.text}"))
        page.on("pageerror", lambda slip: page.overheard.said.append(f"slip: {slip}"))
        page.on("request", lambda asked: page.overheard.hosts.add(urlsplit(asked.url).hostname or ""))
        page.goto(address)
        if scripts and settle:
            plotted(page)
        return page

    yield open_it
    for context in contexts:
        context.close()


@pytest.fixture(scope="session")
def keep_picture() -> Callable[..., None]:
    """Return a function that keeps a picture of a page where KEEP_PICTURES is set.

    No test reads a picture, and to draw them all takes a fifth of the time of these tests.
    """
    return _keep_picture if os.environ.get("KEEP_PICTURES") else lambda page, name, *, whole=True: None


def _keep_picture(page: Any, name: str, *, whole: bool = True) -> None:
    """Keep what a page shows, all of it or as much as fits the screen."""
    SHOTS.mkdir(parents=True, exist_ok=True)
    page.screenshot(path=SHOTS / f"{name}.png", full_page=whole)


@pytest.fixture(scope="session")
def assert_accessible() -> Callable[..., None]:
    """Return a function that asserts that axe finds no fault in a page as it is now."""
    from axe_playwright_python.base import AxeResults
    from axe_playwright_python.sync_playwright import Axe

    axe = Axe()

    def check(page: Any, where: str, *, colours_only: bool = False) -> None:
        """Assert it by all of axe's rules, or by those alone that a change of the theme can break."""
        if not page.evaluate("'axe' in window"):
            page.evaluate(axe.axe_script)  # half a megabyte: once a page
        only = f", runOnly: {json.dumps(COLOUR_RULES)}" if colours_only else ""
        found = AxeResults(page.evaluate(f"axe.run({{resultTypes: ['violations']{only}}})"))
        assert found.violations_count == 0, f"{where}: {found.generate_report()}"

    return check


def until(page: Any, script: str, seconds: float = 60.0) -> Any:
    """Return what ``script`` gives once that is true; polled, since the page's policy forbids eval."""
    for _ in range(int(seconds * 20)):
        found = page.evaluate(script)
        if found:
            return found
        page.wait_for_timeout(50)
    raise AssertionError(f"not within {seconds:g} s: {script}")


def plotted(page: Any) -> None:
    """Wait for the interactive plot, where the page has one."""
    if page.query_selector("[data-plot]"):
        until(page, "document.querySelector('.plotted .plot .main-svg') !== null")


@pytest.fixture
def serve() -> Iterator[Callable[..., str]]:
    """Return a function that serves a studio from this process, as ``lehrling web`` does, and gives its address."""
    with _serving() as serve_it:
        yield serve_it


@pytest.fixture(scope="module")
def serve_on() -> Iterator[Callable[..., str]]:
    """Return the like of ``serve`` for a studio that the tests of a file only look at."""
    with _serving() as serve_it:
        yield serve_it


@contextmanager
def _serving() -> Iterator[Callable[..., str]]:
    enough = threading.Event()
    threads = []

    def serve_it(studio: Any, **settings: Any) -> str:
        server = waitress.create_server(studio.app(**settings), host="127.0.0.1", port=0)
        thread = threading.Thread(target=_go_round, args=(server, enough), daemon=True)
        thread.start()
        threads.append(thread)
        return f"http://127.0.0.1:{server.effective_port}"

    try:
        yield serve_it
    finally:
        enough.set()
        for thread in threads:
            thread.join(10)


def _go_round(server: Any, enough: threading.Event) -> None:
    """Serve until ``enough``; waitress's own run ends only with its process."""
    while not enough.is_set():
        wasyncore.loop(timeout=0.1, map=server._map, count=1)
    server.task_dispatcher.shutdown()
    for channel in list(server.active_channels.values()):
        channel.handle_close()  # with what it has not sent yet, which close_all would leave lying about
    wasyncore.close_all(server._map)


@pytest.fixture
def studio(tmp_path: Path, empty_database: bytes) -> Any:
    """Return an empty invented studio whose clock goes on, as a page that polls needs."""
    return load_studio().Studio(tmp_path, empty_database)


@pytest.fixture(scope="module")
def studio_on(tmp_path_factory: pytest.TempPathFactory, empty_database: bytes) -> Any:
    """Return the like of ``studio`` for all tests of a file."""
    return load_studio().Studio(tmp_path_factory.mktemp("studio"), empty_database)


@pytest.fixture
def wake() -> Callable[..., None]:
    """Return a function that has the daemon say of a firing that the kiln fell out of its anneal, and wakes."""
    return _say_fallen


def _say_fallen(studio: Any, number: int, fall_to_c: float, now_s: float = 24_000.0) -> None:
    """Say that the kiln fell out of its anneal, to ``fall_to_c`` [°C]."""
    facts = replace(firing_stopped.KIND.examples[2].facts, temp_c=fall_to_c)
    found = Finding(firing_stopped.KIND, Rank.WAKE, 0.0, facts, 4)
    text = firing_stopped.KIND.words(found, example_firing.speaker())
    studio.say(number, now_s, temp_c=fall_to_c, rate_c_per_h=-300.0, alerts=[{
        "no": 1, "kind": "firing-stopped", "rank": "wake", "since_s": 23_000.0, "raised_s": 23_100.0,
        "woke_s": 23_200.0, "cleared_s": None, "acknowledged_s": None, "quiet_until_s": None, "step": 4,
        "under": None, "text": text_json(text)}])
