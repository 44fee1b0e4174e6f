"""The first page of a studio's server: accessible, no wider than the screen, kept present, silent about nothing."""

from __future__ import annotations

import json
import threading
from datetime import timedelta
from pathlib import Path

import pytest
from werkzeug.serving import make_server

from daemon.service.state_reader import DaemonState
from daemon.studio.record import Seen
from daemon.studio.settings import Studio
from web.studio import box_page
from web.studio.page import create_studio

PHONE, DESKTOP = {"width": 390, "height": 844}, {"width": 1280, "height": 900}
AWAY = "The box does not answer (timed out)."


@pytest.fixture
def kilns(studio):
    """Return what is known of four boxes: one fires, one wakes, one is away, one was never heard."""
    now_utc = studio.clock.utc()
    studio.fill(alert=True)

    def said(alert, age_s=1.0):
        studio.say(1, alert=alert)
        return DaemonState(json.loads((studio.folder / "present.json").read_text()), now_utc, age_s)

    def one(name, heard_utc, trouble, state):
        return Seen(name, f"http://{name}.local:8080", 1, name.title(), heard_utc, trouble, state)

    return [one("large", now_utc, "", said(False)), one("small", now_utc, "", said(True)),
            one("casting", now_utc - timedelta(minutes=5), AWAY, said(False, 300.0)),
            one("new", None, "The token is not the one that holds here.", None)]


@pytest.fixture
def address(studio, kilns, monkeypatch):
    monkeypatch.setattr(box_page, "seen", lambda *_: kilns)
    server = Studio(Path("studio.toml"), "", None, 10, "127.0.0.1", 8090, "C", None, (), False, ())
    served = make_server("127.0.0.1", 0, create_studio(server, studio.settings(kiln="All kilns")), threaded=True)
    thread = threading.Thread(target=served.serve_forever, args=(0.05,))
    thread.start()
    yield f"http://127.0.0.1:{served.port}/"
    served.shutdown()
    thread.join()
    served.server_close()


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_all_kilns_on_a_phone_and_on_a_desk(address, open_page, assert_accessible, keep_picture, theme):
    for size in (PHONE, DESKTOP):
        page = open_page(address, size, theme)
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
        assert_accessible(page, f"all kilns, {theme}")
        keep_picture(page, f"all-kilns-{size['width']}-{theme}")
        assert page.overheard.said == []
        assert page.overheard.hosts == {"127.0.0.1"}
        text = page.inner_text("main")
        assert "No word from the watch since" in text
        assert AWAY in text
        assert "Nothing was collected from this box yet. The token is not the one that holds here." in text


def test_the_page_is_kept_present_and_says_when_nobody_answers(address, kilns, open_page):
    page = open_page(address)
    assert AWAY in page.inner_text("#kilns")
    kilns[2] = kilns[2]._replace(trouble="Firing 1 is another one than was collected.")
    _until(page, "document.getElementById('kilns').innerText.includes('is another one')")
    page.route("**/*", lambda route: route.abort())
    _until(page, "document.querySelector('main > .warning').innerText.includes('does not answer')")


def _until(page, script):
    """Wait until a script gives true; polled, since the page's policy forbids eval."""
    for _ in range(1200):
        if page.evaluate(script):
            return
        page.wait_for_timeout(50)
    pytest.fail(script)
