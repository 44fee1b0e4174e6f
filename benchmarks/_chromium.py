"""Chromium driven at the page, for ``benchmarks.bench_page``: how soon it shows a firing."""

from __future__ import annotations

import tempfile
from statistics import median
from typing import Any

CHROMIUM = "/usr/bin/chromium"
QUIET = ["--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
         "--disable-background-networking", "--disable-component-update", "--disable-sync"]
_WATCH = """
addEventListener('DOMContentLoaded', () => new MutationObserver((_, watch) => {
    if (document.querySelector('.plotted')) { window.plottedMs = performance.now(); watch.disconnect(); }
}).observe(document.body, {attributes: true, subtree: true}));
window.shift = 0;
new PerformanceObserver((list) => {
    for (const e of list.getEntries()) window.shift += e.hadRecentInput ? 0 : e.value;
}).observe({type: 'layout-shift', buffered: true});
new PerformanceObserver((list) => { window.lcp = list.getEntries().at(-1).startTime; })
    .observe({type: 'largest-contentful-paint', buffered: true});
"""
"""Notes in the page when the plot is there, the largest paint, and how much the layout shifted."""
_TOUCH = """
window.touchMs = 0;
new PerformanceObserver((list) => {
    for (const e of list.getEntries()) if (e.interactionId) window.touchMs = Math.max(window.touchMs, e.duration);
}).observe({type: 'event', durationThreshold: 16, buffered: true});
"""
"""Notes in the page how long the slowest touch took."""


def seen(address: str) -> dict[str, Any]:
    """Return how soon Chromium shows a firing: first sight, plot with an empty and with a warm cache [ms]."""
    from playwright.sync_api import sync_playwright

    # A profile on disk, as a browser in a house has: only there is a script kept compiled.
    with sync_playwright() as play, tempfile.TemporaryDirectory() as profile:
        context = play.chromium.launch_persistent_context(
            profile, executable_path=CHROMIUM, args=QUIET, viewport={"width": 1280, "height": 900})
        context.add_init_script(_WATCH)
        found = [_visit(context, address) for _ in range(8)]
        context.close()
    first, warm = found[0], found[2:]
    return {
        "first_sight_ms_warm": round(median(w[0] for w in warm)), "lcp_ms_warm": round(median(w[1] for w in warm)),
        "first_sight_ms_least": round(min(w[0] for w in warm)), "plot_ms_least": round(min(w[2] for w in warm)),
        "plot_ms_empty_cache": round(first[2]), "plot_ms_second_visit": round(found[1][2]),
        "plot_ms_warm": round(median(w[2] for w in warm)), "layout_shift": round(max(f[3] for f in found), 4),
    }


def _visit(context: Any, address: str) -> list[float]:
    """Return first sight, largest paint, plot and layout shift of one visit [ms, ms, ms, share]."""
    page = context.new_page()
    page.goto(address)
    while not page.evaluate("window.plottedMs || 0"):
        page.wait_for_timeout(20)
    found: list[float] = page.evaluate(
        "[performance.getEntriesByName('first-contentful-paint')[0].startTime, window.lcp, window.plottedMs,"
        " window.shift]")
    page.close()
    return found


def carried(address: str, path: str) -> dict[str, int]:
    """Return what a phone with an empty cache fetches for the first sight of a page, packed, besides plotly [bytes].

    Thumbnails further down are fetched when they are scrolled to, and do not count here.
    """
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=CHROMIUM, args=QUIET)
        page = browser.new_context(viewport={"width": 390, "height": 844}, device_scale_factor=2).new_page()
        link = page.context.new_cdp_session(page)
        link.send("Network.enable")
        asked: dict[str, str] = {}
        took = {"page": 0, "pictures": 0}
        link.on("Network.responseReceived", lambda said: asked.update({said["requestId"]: said["response"]["url"]}))

        def ended(said: dict[str, Any]) -> None:
            url = asked.get(said["requestId"], "")
            if "/plotly-" not in url:
                took["pictures" if "/photographs/" in url else "page"] += int(said["encodedDataLength"])

        link.on("Network.loadingFinished", ended)
        page.goto(address + path)
        page.wait_for_timeout(1500)
        browser.close()
    return took


def throttled(address: str, path: str, touched: str) -> dict[str, Any]:
    """Return first sight, LCP, INP [ms] and CLS [share] on a CPU four times slower, warm: medians of seven visits.

    ``least`` holds the least of the seven: what the page takes where nothing else has the processor just then.

    INP is the longest of the interactions made: a summary opened and closed, the Tab key five times.
    """
    from playwright.sync_api import sync_playwright

    found: list[tuple[float, float, float, float]] = []
    with sync_playwright() as play, tempfile.TemporaryDirectory() as profile:
        context = play.chromium.launch_persistent_context(
            profile, executable_path=CHROMIUM, args=QUIET, viewport={"width": 390, "height": 844})
        context.add_init_script(_WATCH + _TOUCH)
        for number in range(9):
            visited = _touch(context, address + path, touched)
            if number > 1:
                found.append(visited)
        context.close()
    first, lcp, touch, shift = (median(values) for values in zip(*found, strict=True))
    least = [round(min(values)) for values in zip(*found, strict=True)][:3]
    return {"first_sight_ms": round(first), "lcp_ms": round(lcp), "inp_ms": round(touch), "cls": round(shift, 4),
            "least": least}


def _touch(context: Any, address: str, touched: str) -> tuple[float, float, float, float]:
    """Return first sight, largest paint, slowest touch [ms] and layout shift [share] of one visit on a slow CPU."""
    page = context.new_page()
    context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": 4})
    page.goto(address)
    if page.query_selector("[data-plot]"):
        while not page.evaluate("window.plottedMs || 0"):
            page.wait_for_timeout(50)
    page.wait_for_timeout(300)
    for _ in range(2):
        page.locator(touched).first.click()
        page.wait_for_timeout(200)
    for _ in range(5):
        page.keyboard.press("Tab")
        page.wait_for_timeout(100)
    page.wait_for_timeout(300)
    first_ms, lcp_ms, touch_ms, shift = page.evaluate(
        "[performance.getEntriesByName('first-contentful-paint')[0].startTime, window.lcp, window.touchMs,"
        " window.shift]")
    page.close()
    return first_ms, lcp_ms, touch_ms, shift
