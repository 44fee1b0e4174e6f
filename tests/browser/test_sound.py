"""The page's own sound in a real browser: silent until tapped, low and square, louder while nobody answers."""

from __future__ import annotations

from typing import Any

PHONE = {"width": 390, "height": 844}
TONES = """(() => {
window.tones = [];
const make = AudioContext.prototype.createOscillator;
AudioContext.prototype.createOscillator = function () {
  const tone = make.call(this);
  window.tones.push(tone);
  return tone;
};
})()"""


def until(page: Any, script: str, seconds: float = 60.0) -> None:
    for _ in range(int(seconds * 20)):
        if page.evaluate(script):
            return
        page.wait_for_timeout(50)
    raise AssertionError(f"not within {seconds:g} s: {script}")


def sound(page: Any, name: str) -> str:
    return str(page.evaluate(f"document.querySelector('[data-sound]').dataset.{name} ?? ''"))


def test_the_page_sounds_for_a_wake_after_one_tap_and_stops_when_it_is_answered(open_page, serve, studio):
    firing = studio.fill(until_s=24_000.0, alert=True)
    studio.say(firing, 24_000.0, alert=True)
    page = open_page(serve(studio), PHONE)
    page.evaluate(TONES)
    assert sound(page, "sound") == "off"
    assert "Sound is off. Tap, and this page rings when you must get up." in page.inner_text("main")
    assert page.evaluate("window.tones.length") == 0
    page.click("#sound")
    until(page, "document.querySelector('[data-sound]').dataset.sound === 'on'")
    assert page.evaluate("[tones[0].type, tones[0].frequency.value]") == ["square", 520]
    assert "falls silent when the phone locks" in page.inner_text("main")
    until(page, "document.querySelector('[data-sound]').dataset.loudness === '0.12'")
    until(page, "document.querySelector('[data-sound]').dataset.loudness === '0.00'")
    until(page, "document.querySelector('[data-sound]').dataset.loudness === '0.17'")  # 1.4 times as loud
    studio.say(firing, 24_005.0)
    until(page, "document.querySelectorAll('[data-block=alerts] article').length === 0")
    page.wait_for_timeout(2500)
    assert sound(page, "loudness") == "0.00"
    page.click("#sound")
    until(page, "document.querySelector('[data-sound]').dataset.sound === 'off'")
    assert page.overheard.ours() == []


def test_a_browser_that_holds_the_sound_back_is_said(open_page, serve, studio):
    studio.say(studio.fill(until_s=24_000.0), 24_000.0)
    page = open_page(serve(studio), PHONE)
    page.evaluate(TONES)
    page.click("#sound")
    until(page, "document.querySelector('[data-sound]').dataset.sound === 'on'")
    page.evaluate("tones[0].context.suspend()")
    until(page, "document.querySelector('[data-sound]').dataset.sound === 'muted'")
    assert "The browser blocks this page’s sound. Tap to turn it on." in page.inner_text("main")
    page.click("#sound")
    until(page, "document.querySelector('[data-sound]').dataset.sound === 'on'")
