"""One studio from signing in to changing units, twice: with the keys alone, and with scripts off.

The page's part is real; the daemon's answers are played by filling its store and its state file, since what it does
with a request has tests of its own (test_evening.py runs the real one).
"""

from __future__ import annotations

import re
from datetime import timedelta
from pathlib import Path
from typing import Any, Protocol

from daemon.store import firings, notes, outcomes, photographs
from web.security import passcode

DESK, PHONE = {"width": 1280, "height": 900}, {"width": 390, "height": 844}
PASSCODE = "warm sand and slow rivers"
NOW_S = 24_000.0
MOST_TABS = 150
FOCUS = """(wanted) => {
  const e = document.activeElement;
  if (e === document.body) return null;
  const s = getComputedStyle(e), b = e.getBoundingClientRect();
  const bar = document.querySelector('.answer:not(:empty), .compare-bar');
  const isUnderBar = bar && ['fixed', 'sticky'].includes(getComputedStyle(bar).position) && !bar.contains(e);
  const low = isUnderBar ? bar.getBoundingClientRect().top : innerHeight;
  const words = (e.matches('[type=checkbox], [type=radio]') ? e.parentElement : e).innerText || e.name || '';
  return { there: e === wanted, outline: s.outlineStyle !== 'none' ? parseFloat(s.outlineWidth) : 0, tab: e.tabIndex,
    seen: b.bottom > 0 && b.top < low && b.right > 0 && b.left < innerWidth,
    said: `<${e.tagName.toLowerCase()}${e.id ? '#' + e.id : ''}> ${words.trim().slice(0, 40)}` };
}"""
"""Where the focus is: how wide its ring is, whether it can be seen, and what has it."""


class Hand(Protocol):
    """What a maker does on a page."""

    page: Any

    def press(self, what: str) -> None: ...

    def type(self, what: str, text: str) -> None: ...

    def tick(self, what: str) -> None: ...

    def choose(self, what: str, value: str) -> None: ...

    def bring(self, what: str, file: Path) -> None: ...


class Keys:
    """The keyboard alone; wherever the focus comes by, it is seen.

    The listener for file choosers is set at the start. Playwright begins to catch choosers when the first listener is
    set, but does not wait until the browser does: a key pressed at once opens one that nobody catches (19 of 40).
    """

    def __init__(self, page: Any) -> None:
        self.page = page
        page.on("filechooser", lambda chooser: None)

    def _reach(self, what: str) -> None:
        place = self.page.locator(what).first
        place.wait_for(state="attached")
        before = ""
        for _ in range(MOST_TABS):
            focus = place.evaluate(FOCUS)
            if focus is not None:  # else before the first one, or past the last
                assert focus["outline"] >= 2, f"no ring on {focus['said']}"
                assert focus["seen"], f"out of sight: {focus['said']}"
                assert focus["tab"] == 0, f"an order of its own: {focus['said']}"
                if focus["there"]:
                    return
                before = focus["said"]
            self.page.keyboard.press("Tab")
        raise AssertionError(f"not reached by {MOST_TABS} tabs: {what}; last {before}")

    def press(self, what: str) -> None:
        self._reach(what)
        if what.startswith("summary"):
            self.page.keyboard.press("Enter")
            return
        with self.page.expect_navigation():
            self.page.keyboard.press("Enter")

    def type(self, what: str, text: str) -> None:
        self._reach(what)
        self.page.keyboard.type(text)

    def tick(self, what: str) -> None:
        self._reach(what)
        self.page.keyboard.press("Space")

    def choose(self, what: str, value: str) -> None:
        self._reach(what)
        for _ in range(20):
            if self.page.input_value(what) == value:
                return
            self.page.keyboard.press("ArrowDown")
        raise AssertionError(f"no {value} in {what}")

    def bring(self, what: str, file: Path) -> None:
        self._reach(what)
        with self.page.expect_file_chooser() as chooser:
            self.page.keyboard.press("Enter")
        chooser.value.set_files(file)


class Fingers:
    """Taps, on a phone whose browser runs no script."""

    def __init__(self, page: Any) -> None:
        self.page = page

    def press(self, what: str) -> None:
        if what.startswith("summary"):
            self.page.locator(what).first.click()
            return
        with self.page.expect_navigation():
            self.page.locator(what).first.click()

    def type(self, what: str, text: str) -> None:
        self.page.fill(what, text)

    def tick(self, what: str) -> None:
        self.page.check(what)

    def choose(self, what: str, value: str) -> None:
        self.page.select_option(what, value)

    def bring(self, what: str, file: Path) -> None:
        self.page.set_input_files(what, file)


def said(hand: Hand) -> str:
    return hand.page.inner_text("main").replace("\u00a0", " ")


def asked(studio: Any) -> list[str]:
    return [kind for kind, _ in studio.asked()]


def whole_run(hand: Hand, studio: Any, address: str, wake: Any, *, stays: bool) -> None:
    """Do all that one does on the page; ``stays`` where Now stays as it is while one writes there."""
    page = hand.page
    page.goto(address + "/plans")
    hand.type("#passcode", PASSCODE)
    hand.press("button.first")
    assert page.inner_text("h1") == "Plans"

    hand.press("text=Write a plan")
    hand.type("#title", "Evening tack")
    hand.type("#steps", "400 / 640 / 0:10 top\nfree / 516 / 0:20 anneal\n40 / 370")
    hand.press("text=Save the plan")
    assert page.inner_text("h1") == "Evening tack"

    hand.press("text=Start a firing by it")
    assert page.locator("#plan option:checked").inner_text() == "Evening tack"
    assert "You will be woken by" in said(hand)  # said before the button
    hand.press("text=Start the watch")
    assert asked(studio) == ["start"]

    number = studio.fill(until_s=NOW_S)
    wake(studio, number, 500.0)
    hand.press("nav >> text=Now")
    assert "150 °C/h" in said(hand)
    hand.press("#ack-1, #ack-thumb >> visible=true")
    assert asked(studio)[-1] == "acknowledge"
    hand.press("#keyed-1, #keyed-thumb >> visible=true")
    assert asked(studio)[-1] == "keyed-in"

    studio.say(number, NOW_S)
    _note_and_photograph(hand, studio, number, stays=stays)
    _how_it_came_out(hand, studio, number)

    hand.press("nav >> text=Firings")
    hand.type("#q", "river")
    hand.press("search button")
    hand.press(".list >> text=Bowl blank, river glass")
    assert "What the probe saw" in said(hand)
    assert "Came out: haze" in said(hand)

    hand.press("nav >> text=Firings")
    hand.press("main >> text=Compare firings")
    for one in (number, number - 1):
        hand.tick(f"[name=firing][value='{one}']")
    hand.press(".compare-bar button")
    assert "different" in said(hand)

    hand.press("footer >> text=Light, unit, clock")
    hand.choose("#unit", "F")
    hand.press("main >> text=Save")
    hand.press("nav >> text=Firings")
    assert re.search(r"highest 1,?4\d\d °F", said(hand))


def _note_and_photograph(hand: Hand, studio: Any, number: int, *, stays: bool) -> None:
    from PIL import Image

    picture = studio.folder / "display.jpg"
    Image.new("RGB", (900, 600), (90, 130, 120)).save(picture, "JPEG")
    hand.press("nav >> text=Now")
    if not stays:
        hand.press("a:has-text('Write on a page that stays')")
    hand.type("#now-note", "Vent open by a finger.")
    hand.press("text=Save the note")
    assert [note.text for note in studio.store(lambda db: notes.notes(db, number))] == ["Vent open by a finger."]
    hand.press("nav >> text=Now")
    if not stays:
        hand.press("a:has-text('Write on a page that stays')")
    hand.press("summary >> text=Add a photograph")
    hand.bring("#now-photograph", picture)
    hand.type("#now-caption", "The display")
    hand.press("text=Save the photograph")
    [kept] = studio.store(lambda db: photographs.photographs(db, firing_id=number))
    assert kept.caption == "The display"


def _how_it_came_out(hand: Hand, studio: Any, number: int) -> None:
    studio.store(lambda db: firings.end_firing(db, number, NOW_S, studio.clock.wall, "maker"))
    studio.clock.wall += timedelta(hours=8)
    studio.say(None)
    hand.press("nav >> text=Now")
    assert "How did River bowl come out?" in said(hand)
    hand.tick("[name=word][value=haze]")
    hand.type("#came-note", "Along the rim.")
    hand.press(".came button")
    kept = studio.store(lambda db: outcomes.of_firing(db, number))
    assert [(one.words, one.note) for one in kept.values()] == [(("haze",), "Along the rim.")]


def _house(studio: Any, serve: Any) -> str:
    studio.fill(until_s=41_000.0, ended=True, title="Tack-fused coasters")
    studio.say(None)
    passcode.keep(studio.folder / "passcode", PASSCODE)
    return serve(studio, open_house=False)


def test_all_of_it_is_done_with_the_keys_alone(studio, serve, open_page, wake):
    address = _house(studio, serve)
    page = open_page(address + "/plans", DESK, settle=False)
    whole_run(Keys(page), studio, address, wake, stays=True)
    assert [line for line in page.overheard.ours() if "status of 401" not in line] == []


def test_all_of_it_is_done_with_scripts_off(studio, serve, open_page, wake):
    address = _house(studio, serve)
    page = open_page(address + "/plans", PHONE, "dark", scripts=False)
    whole_run(Fingers(page), studio, address, wake, stays=False)
