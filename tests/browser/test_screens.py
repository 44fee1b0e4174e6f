"""Every page in both themes and sizes: no accessibility fault, nothing wider than the screen.

To look at the pages: ``KEEP_PICTURES=1 .venv/bin/pytest tests/browser/test_screens.py`` draws them in
ci-output/screenshots/.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

PHONE = {"width": 390, "height": 844}
DESKTOP = {"width": 1280, "height": 900}
SMALLEST = {"width": 320, "height": 640}


def _empty(studio: Any) -> None:
    studio.open_store().close()
    studio.say(None)


def _running(studio: Any) -> None:
    studio.fill(until_s=40_000.0, ended=True, title="Tack-fused coasters")
    studio.say(studio.fill(until_s=24_000.0), 24_000.0)


def _alert(studio: Any) -> None:
    studio.say(studio.fill(until_s=24_000.0, alert=True), 24_000.0, alert=True)


def _two_kilns(studio: Any) -> None:
    import json

    other = studio.folder / "casting"
    other.mkdir()
    _alert(studio)
    said = json.loads((studio.folder / "present.json").read_text(encoding="utf-8"))
    said |= {"kiln": "casting kiln", "firing_title": "Prisms, invented"}
    (other / "present.json").write_text(json.dumps(said), encoding="utf-8")
    studio.say(1, 24_000.0)


def _silent(studio: Any) -> None:
    studio.say(studio.fill(until_s=24_000.0), 24_000.0, age_s=400.0)


def _blind(studio: Any) -> None:
    studio.say(studio.fill(until_s=24_000.0), 24_000.0, temp_c=None, fault="open", rate_c_per_h=None,
               sentence="No reading from the probe just now. Read the kiln's own display.",
               trouble=[{"ailing": "upkeep", "text": "The probe's circuit is broken."}])


def _ended(studio: Any) -> None:
    for title in ("Tack-fused coasters", "Slump of the river bowl", "Casting test, four prisms"):
        studio.fill(until_s=30_000.0, ended=True, title=title)
    studio.fill(until_s=41_000.0, ended=True, alert=True, title="Bowl blank, river glass")
    studio.say(None)


def _noted(studio: Any) -> None:
    """A firing that runs, with a note and a photograph; before it one in the bin, and one with photographs."""
    from daemon.store import bin, notes

    _photographed(studio)
    test = studio.fill(until_s=900.0, ended=True, title="Test of the probe")
    studio.store(lambda db: bin.put_into_bin(db, test, studio.clock.wall))
    number = studio.fill(until_s=24_000.0)
    studio.say(number, 24_000.0)
    studio.store(lambda db: notes.add_note(db, number, "Vent open by a finger.", studio.clock.wall))
    _photograph(studio, f"/firings/{number}/now/photograph", "The controller’s display")


def _photographed(studio: Any) -> None:
    number = studio.fill(until_s=41_000.0, ended=True, alert=True, title="Bowl blank, river glass")
    studio.say(None)
    _photograph(studio, f"/firings/{number}/photographs", "From above, north light")


def _photograph(studio: Any, path: str, caption: str) -> None:
    """Send an invented picture as a browser would."""
    from io import BytesIO

    from PIL import Image

    body = BytesIO()
    Image.linear_gradient("L").convert("RGB").resize((1600, 1200)).save(body, "JPEG")
    kept = studio.app().test_client().post(
        path, headers={"Origin": "http://localhost"}, content_type="multipart/form-data",
        data={"photograph": (BytesIO(body.getvalue()), "a.jpg"), "caption": caption})
    assert kept.status_code == 303


def _checked(studio: Any) -> None:
    _ended(studio)
    assert studio.app().test_client().post("/kiln/check", headers={"Origin": "http://localhost"}).status_code == 303


def _many(studio: Any) -> None:
    from datetime import timedelta

    from daemon.store import firings, kilns
    from daemon.store.database import transaction

    studio.fill(until_s=30_000.0, ended=True, alert=True)
    db = studio.open_store()
    kiln = kilns.kiln_id(db, "small kiln")
    with transaction(db):
        for number in range(2000):
            starts = studio.clock.wall - timedelta(days=2000 - number)
            firing = firings.open_firing(
                db, kiln_id=kiln, probe_id=1, title=f"Invented firing {number}", opened_by="maker", plan_id=1,
                started_utc=starts, boot_id="boot", clock_s=0.0)
            firings.end_firing(db, firing, 50_000.0, starts, "maker")
    db.close()
    studio.say(None)


def _answered(studio: Any) -> None:
    """Firings by one plan, some of them hot, of pieces that came out hazy and then clear or not."""
    from daemon.store import judgements, outcomes

    for number, (peak_c, word) in enumerate(((801.0, "haze"), (803.0, "haze"), (814.0, "clear"), (799.0, "haze"),
                                             (806.0, "haze"), (812.0, "clear"), (800.0, "haze"), (798.0, "haze"),
                                             (802.0, "haze"), (811.0, "clear"))):
        firing = studio.fill(until_s=47_000.0 - 600.0 * number, ended=True, title=f"Tiles, try {number + 1}")
        told = {"peak_c": peak_c, "finished": True, "glass": {"time_above_s": {"760": 60.0 * (peak_c - 780.0)}}}
        studio.store(lambda db, told=told, firing=firing: judgements.add_judgement(
            db, firing, told, "0", studio.clock.wall))
        studio.store(lambda db, firing=firing: db.execute("UPDATE firing_piece SET piece_id = 1"))
        studio.store(lambda db, firing=firing, word=word: outcomes.add_outcome(
            db, firing_id=firing, piece_id=1, words=[word], place="", note="", now_utc=studio.clock.wall))
    studio.say(None)


OTHER_LOG = "00000000000000000000000000000001"
"""Names the file of another logger that waits in a studio."""


def _other_log(studio: Any) -> None:
    from pathlib import Path

    _ended(studio)
    (studio.folder / "other-logs").mkdir(exist_ok=True)
    (studio.folder / "other-logs" / OTHER_LOG).write_bytes(
        (Path(__file__).parents[2] / "examples" / "traces" / "other-logger.csv").read_bytes())


def _nothing(studio: Any) -> None:
    del studio


def _locked(studio: Any) -> None:
    from web.security import passcode

    _running(studio)
    passcode.keep(studio.folder / "passcode", "warm sand and slow rivers")


GUARDED = ("passcode-choose", "passcode-enter")
"""Screens of a page that asks for its passcode."""
SCREENS = [
    ("passcode-choose", _running, "/"), ("passcode-enter", _locked, "/firings"),
    ("no-data", _nothing, "/"), ("empty", _empty, "/"), ("running", _running, "/"), ("alert-standing", _alert, "/"),
    ("two-kilns", _two_kilns, "/"),
    ("silent", _silent, "/"), ("blind", _blind, "/"), ("idle", _ended, "/"), ("firings", _ended, "/firings"),
    ("firing", _ended, "/firings/4"), ("start", _ended, "/start"), ("name", _ended, "/firings/4/name"),
    ("pieces", _ended, "/pieces"), ("piece-new", _ended, "/pieces/new"), ("plans", _ended, "/plans"),
    ("card", _ended, "/firings/4/card"), ("compare", _ended, "/compare?firing=1&firing=4"),
    ("compare-near", _ended, "/compare?firing=1&firing=4&from=-1&to=1.5"), ("table", _ended, "/firings/4/table"),
    ("compare-choose", _ended, "/compare"), ("piece", _ended, "/pieces/4"), ("reach", _ended, "/reach"),
    ("outcome", _ended, "/firings/4/pieces/4/outcome"), ("again", _ended, "/firings/4/again"),
    ("kiln", _ended, "/kiln"), ("help", _ended, "/help"), ("reading", _ended, "/reading"),
    ("two-thousand", _many, "/firings"),
    ("noted", _noted, "/"), ("noted-alone", _noted, "/firings/3/now"), ("deleted", _noted, "/firings/deleted"),
    ("deleted-firing", _noted, "/firings/2"), ("card-photograph", _photographed, "/firings/1/card"),
    ("start-running", _noted, "/start"), ("plan", _ended, "/plans/1"),
    ("foreseen", _ended, "/plans/1/foreseen"),
    ("what-if", _ended, "/plans/1/foreseen?start=21:00+23:00&hotter=10&longer=10&anneal=12"),
    ("plan-new", _ended, "/plans/new"),
    ("questions", _answered, "/questions"), ("questions-empty", _empty, "/questions"),
    ("questions-wrong", _answered, "/questions?over=hot&above=1"),
    ("find", _noted, "/find?q=vent"), ("find-nothing", _ended, "/find?q=stoneware"),
    ("setup", _ended, "/setup"), ("check", _checked, "/kiln/check"), ("rehearse", _ended, "/rehearse"),
    ("plan-like", _ended, "/plans/new?like=1"), ("plans-retired", _ended, "/plans?retired=yes"),
    ("other-log", _ended, "/firings/other-logger"),
    ("other-log-read", _other_log, f"/firings/other-logger/{OTHER_LOG}?name=kiln.csv"),
    ("document", _ended, "/documents/settings.md"), ("not-here", _ended, "/firings/99"),
]


WATCHED = ("no-data", "empty", "running", "alert-standing", "silent", "firing")
"""Screens looked at in every size by day and by night; the others on a phone at night and a desk by day."""


@pytest.fixture(scope="module")
def ended(studio_on, serve_on):
    """Return a studio of firings that have ended, filled once, and its address: most screens only look at it."""
    _ended(studio_on)
    return studio_on, serve_on(studio_on, open_house=True)


@pytest.fixture
def look(keep_picture: Callable[..., None], assert_accessible: Callable[..., None]) -> Callable[..., None]:
    """Return a function that asserts all that holds for every page, in a size and a theme."""

    def look_at(page: Any, name: str, kind: str, theme: str, *, colours_only: bool = False) -> None:
        keep_picture(page, f"{name}-{kind}-{theme}")
        wide = page.evaluate("document.documentElement.scrollWidth")
        assert wide <= page.viewport_size["width"], f"{kind}: wider than the screen"
        assert_accessible(page, f"{kind}, {theme}", colours_only=colours_only)
        refused = ("status of 503", "status of 404")  # the browser's own words where a page says "not here"
        assert [line for line in page.overheard.ours() if not any(word in line for word in refused)] == []
        assert page.overheard.hosts == {"127.0.0.1"}

    return look_at


@pytest.mark.parametrize(("name", "fill", "path"), SCREENS, ids=[name for name, _, _ in SCREENS])
def test_every_screen(request, studio, serve, open_page, look, name, fill, path):
    if fill is _ended:
        kept, address = request.getfixturevalue("ended")
        kept.say(None)  # as of now
    else:
        fill(studio)
        others = (studio.folder / "casting",) if fill is _two_kilns else ()
        address = serve(studio, open_house=name not in GUARDED, others=others)
    page = open_page(address + path, PHONE, "dark")
    look(page, name, "phone", "dark")
    if name in WATCHED:
        look(_seen_in(page, "light"), name, "phone", "light", colours_only=True)
        page = open_page(address + path, DESKTOP, "light")
        look(page, name, "desktop", "light")
        look(_seen_in(page, "dark"), name, "desktop", "dark", colours_only=True)
        return
    page.set_viewport_size(DESKTOP)  # the same page on a desk by day: half the time of loading it anew
    look(_seen_in(page, "light"), name, "desktop", "light")


def _seen_in(page: Any, theme: str) -> Any:
    """Return the page when it has changed to a theme, and to its size."""
    page.emulate_media(color_scheme=theme)
    page.wait_for_timeout(250)
    return page


@pytest.mark.parametrize("path", [
    "/", "/firings", "/firings/4", "/firings/4/card", "/compare?firing=1&firing=4", "/start", "/plans/1"])
def test_the_smallest_phone_needs_no_sideways_scrolling(ended, open_page, path):
    page = open_page(ended[1] + path, SMALLEST)
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


def test_a_copy_to_give_away_is_read_without_script_and_fetches_nothing(
        studio, chromium, tmp_path, keep_picture, assert_accessible):
    _photographed(studio)
    whole = tmp_path / "copy.html"
    whole.write_bytes(studio.app().test_client().get("/firings/1/copy.html").data)
    for size, scripts in ((PHONE, False), (DESKTOP, True)):
        context = chromium.new_context(viewport=size, java_script_enabled=scripts, bypass_csp=scripts)
        page, fetched, said = context.new_page(), [], []
        page.on("request", lambda request, fetched=fetched: fetched.append(request.url))
        page.on("console", lambda line, said=said: said.append(line.text))
        page.goto(whole.as_uri())
        assert page.locator("h1").inner_text() == "Bowl blank, river glass"
        box = page.locator("figure img").bounding_box()
        assert box is not None
        assert box["width"] > 200
        keep_picture(page, f"copy-{size['width']}")
        assert ([url for url in fetched if not url.startswith(("file:", "data:"))], said) == ([], [])
        if scripts:  # axe itself is a script
            assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
            assert_accessible(page, "a copy")
        context.close()


def test_a_card_with_a_photograph_prints_on_one_page(studio, serve, open_page):
    import re

    _photographed(studio)
    page = open_page(serve(studio) + "/firings/1/card", DESKTOP)
    assert len(re.findall(rb"/Type\s*/Page\b(?!s)", page.pdf(prefer_css_page_size=True))) == 1


def test_what_is_touched_is_44_px_high(studio, serve, open_page):
    _alert(studio)
    page = open_page(serve(studio) + "/", PHONE)
    low = page.evaluate("""[...document.querySelectorAll('button, .button, nav a, summary, input:not([type=hidden])')]
        .map((e) => [e.textContent.trim(), e.getBoundingClientRect().height])
        .filter(([, height]) => height > 0 && height < 43.5)""")
    assert low == []


def test_at_night_the_thumb_finds_acknowledge_without_scrolling(studio, serve, open_page):
    _alert(studio)
    page = open_page(serve(studio) + "/", PHONE, "dark")
    box = page.locator("#ack-thumb").bounding_box()
    assert box is not None
    assert box["y"] > PHONE["height"] / 2
    assert box["y"] + box["height"] <= PHONE["height"]


def test_with_scripts_off_there_is_the_sentence_the_number_and_the_trace(studio, serve, open_page, keep_picture):
    _running(studio)
    page = open_page(serve(studio) + "/", PHONE, scripts=False)
    keep_picture(page, "running-phone-light-no-scripts")
    assert page.locator("h1").inner_text().startswith("Cooling through the anneal")
    assert page.locator(".narrow path.measured").is_visible()


def test_the_card_keeps_its_mark_on_the_one_page_however_much_was_written(studio, serve, open_page):
    from daemon.store import notes

    number = studio.fill(until_s=41_000.0, ended=True, alert=True)
    studio.store(lambda db: notes.add_note(db, number, "Long, and said again. " * 150, studio.clock.wall))
    page = open_page(f"{serve(studio)}/firings/{number}/card", {"width": 703, "height": 1028})  # A4 less its margins
    page.emulate_media(media="print")
    foot = page.locator("footer").bounding_box()
    assert foot["y"] + foot["height"] <= 1028
    assert "Mark of the record" in page.locator("footer").inner_text()
