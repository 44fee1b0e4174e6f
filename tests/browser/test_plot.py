"""The plot in the browser is the stored trace, in the page's own inks, and shifts nothing when it comes."""

from __future__ import annotations

import pytest

from daemon.store import readings
from daemon.store.database import open_database
from web.drawing.colours import DAY, NIGHT

PHONE = {"width": 390, "height": 844}
DESKTOP = {"width": 1280, "height": 900}
MEASURED = "document.querySelector('[data-plot]').data.find((t) => t.name === 'measured')"


def test_the_values_read_back_from_the_plot_are_the_stored_ones(studio, serve, open_page):
    number = studio.fill(until_s=12_000.0, ended=True)
    page = open_page(f"{serve(studio)}/firings/{number}")
    x, y = page.evaluate(f"{MEASURED}.x"), page.evaluate(f"{MEASURED}.y")
    db = open_database(studio.database, readonly=True)
    stored = {s.t_s: s.temp_c for s in readings.samples(db, number)}
    db.close()
    pairs = [(t, c) for t, c in zip(x, y, strict=True) if c is not None]
    assert len(pairs) > 550  # 12,000 s in columns of 20 s, the gap left out
    assert max(abs(stored[round(t / 5) * 5] - c) for t, c in pairs) < 0.7  # half a column of 220 °C/h
    assert not [t for t, _ in pairs if 9005 < t < 9595]  # the gap


def _until(page, holds):
    """Wait until an expression holds; the page's policy forbids playwright's own way."""
    for _ in range(1200):
        if page.evaluate(holds):
            return
        page.wait_for_timeout(50)
    raise AssertionError(holds)


def test_a_closer_look_reads_every_reading_and_all_of_it_is_the_first_sight_again(studio, serve, open_page):
    number = studio.fill(until_s=40_000.0, ended=True)
    page = open_page(f"{serve(studio)}/firings/{number}")
    page.wait_for_selector(".plotted")
    inside = f"{MEASURED}.x.filter((t) => t >= 20000 && t <= 21000).length"
    first = page.evaluate(f"{MEASURED}.x.length")
    assert page.evaluate(inside) < 30  # 40,000 s in columns of 60 s
    page.evaluate("Plotly.relayout(document.querySelector('[data-plot]'), {'xaxis.range': [20000, 21000]})")
    _until(page, f"{inside} >= 200")
    db = open_database(studio.database, readonly=True)
    stored = {s.t_s: s.temp_c for s in readings.samples(db, number)}
    db.close()
    x, y = page.evaluate(f"{MEASURED}.x"), page.evaluate(f"{MEASURED}.y")
    assert all(stored[t] == pytest.approx(c, abs=0.01) for t, c in zip(x, y, strict=True))
    page.click("[data-zoom=right]")  # beyond what was read: the whole line stands in until the next answer
    _until(page, f"{MEASURED}.x.filter((t) => t >= 20500 && t <= 21500).length >= 200")
    page.click("[data-zoom=all]")
    _until(page, f"{MEASURED}.x.length === {first}")


def test_the_plot_wears_the_inks_of_day_and_night_and_changes_with_them(studio, serve, open_page):
    studio.say(studio.fill(until_s=24_000.0), 24_000.0)
    page = open_page(serve(studio) + "/")
    ink = f"{MEASURED}.line.color"
    assert page.evaluate(ink) == DAY["ink"]
    page.emulate_media(color_scheme="dark")
    _until(page, f"{ink} === '{NIGHT['ink']}'")


def test_the_plot_lies_where_the_drawing_lay_and_the_page_does_not_move(studio, serve, open_page):
    studio.say(studio.fill(until_s=24_000.0), 24_000.0)
    page = open_page(serve(studio) + "/", settle=False)
    before = page.evaluate("document.querySelector('.about').getBoundingClientRect().top")
    base = page.evaluate("document.querySelector('.wide svg.trace path.base').getBoundingClientRect().toJSON()")
    for _ in range(1200):
        if page.query_selector(".plotted"):
            break
        page.wait_for_timeout(50)
    page.wait_for_timeout(300)
    assert page.evaluate("document.querySelector('.about').getBoundingClientRect().top") == before
    box = page.evaluate("document.querySelector('.plot .bglayer .bg, .plot .plot').getBoundingClientRect().toJSON()")
    assert abs(box["left"] - base["left"]) < 12
    strip = page.evaluate("document.querySelector('.wide svg.strip path.base').getBoundingClientRect().toJSON()")
    assert abs(strip["left"] - base["left"]) < 1.5


def test_on_a_phone_the_first_day_does_not_lie_over_the_second(studio, serve, open_page):
    number = studio.fill(until_s=11_000.0, ended=True)  # to 02:00: midnight after 35 of 100
    page = open_page(f"{serve(studio)}/firings/{number}", PHONE)
    edge = ("[...document.querySelectorAll('.plot {} ')].filter((e) => e.textContent.includes('day {}'))"
            ".map((e) => e.getBoundingClientRect().{})")
    [right] = page.evaluate(edge.format(".annotation-text", 1, "right"))
    [left] = page.evaluate(edge.format(".xtick text", 2, "left"))
    assert right < left


def test_zooming_in_gives_finer_hours(studio, serve, open_page):
    number = studio.fill(until_s=40_000.0, ended=True)
    page = open_page(f"{serve(studio)}/firings/{number}")
    count = "document.querySelectorAll('.plot .xaxislayer-above .xtick').length"
    words = "[...document.querySelectorAll('.plot .xaxislayer-above .xtick')].map((t) => t.textContent)"
    page.evaluate("Plotly.relayout(document.querySelector('[data-plot]'), {'xaxis.range': [10000, 13000]})")
    _until(page, f"{count} >= 5 && {words}.some((word) => /:(05|15|45)$/.test(word))")


TICKS = "[...document.querySelectorAll('.plot .xaxislayer-above .xtick')].map((t) => t.textContent)"
RANGE = "document.querySelector('[data-plot]')._fullLayout.xaxis.range"
CELLS = "document.querySelectorAll('[data-strip=wide] .cell').length"


def test_the_plot_is_zoomed_by_keys_and_buttons_and_the_strip_goes_with_it(studio, serve, open_page):
    number = studio.fill(until_s=40_000.0, ended=True)
    page = open_page(f"{serve(studio)}/firings/{number}")
    page.wait_for_selector(".plotted")
    whole, cells = page.evaluate(RANGE), page.evaluate(CELLS)
    page.focus(".traces")
    page.keyboard.press("+")
    page.keyboard.press("+")
    length = f"({RANGE}[1] - {RANGE}[0])"
    _until(page, f"Math.abs({length} / {(whole[1] - whole[0]) / 4} - 1) <= 0.01 && {CELLS} < {cells}")
    nearer = page.evaluate(RANGE)
    page.keyboard.press("ArrowRight")
    _until(page, f"{RANGE}[0] > {nearer[0]}")
    page.click("[data-zoom=all]")
    _until(page, f"Math.abs({RANGE}[0] - {whole[0]}) <= 1 && Math.abs({RANGE}[1] - {whole[1]}) <= 1"
                 f" && {CELLS} === {cells}")


def test_the_readout_is_our_own_and_nothing_of_the_librarys_is_shown(studio, serve, open_page):
    number = studio.fill(until_s=40_000.0, ended=True)
    page = open_page(f"{serve(studio)}/firings/{number}")
    page.wait_for_selector(".plotted")
    box = page.evaluate("document.querySelector('.plot .bglayer .bg, .plot .plot').getBoundingClientRect().toJSON()")
    page.mouse.move(box["left"] + box["width"] * 0.4, box["top"] + box["height"] / 2)
    _until(page, "/^[0-9]{2}:[0-9]{2}  [0-9]+ °C$/.test(document.querySelector('[data-readout]').innerText)")
    assert page.evaluate("document.querySelectorAll('.plot .hoverlayer text').length") == 0


def test_the_name_of_a_range_makes_way_for_the_line(studio, serve, open_page):
    """Zoomed so that the line leaves the middle of the anneal range at the right edge, where its name would stand."""
    number = studio.fill(until_s=40_000.0, ended=True)
    page = open_page(f"{serve(studio)}/firings/{number}")
    page.wait_for_selector(".plotted")
    sides = ("Object.fromEntries(document.querySelector('[data-plot]')._fullLayout.annotations"
             ".filter((a) => a.name === 'range').map((a) => [a.text, a.xanchor]))")
    assert page.evaluate(sides) == {"haze range": "right", "anneal range": "right"}
    page.evaluate(f"""(() => {{
      const line = {MEASURED}, plot = document.querySelector('[data-plot]');
      const middle = plot._fullLayout.annotations.find((a) => a.text === 'anneal range').y;
      const from = line.y.indexOf(Math.max(...line.y.filter((y) => y !== null)));
      const at = line.x[line.y.findIndex((y, i) => i > from && y !== null && y < middle)];
      Plotly.relayout(plot, {{'xaxis.range': [at - 6000, at]}});
    }})()""")
    _until(page, f"({sides})['anneal range'] === 'left'")


def test_a_firing_is_under_150_kb_besides_the_plotting_library_and_its_drawing_comes_once(studio, serve, open_page):
    number = studio.fill(until_s=41_000.0, ended=True, alert=True)
    address = f"{serve(studio)}/firings/{number}"
    page = open_page(address)
    took = page.evaluate("""['resource', 'navigation'].flatMap((kind) => performance.getEntriesByType(kind))
        .map((e) => [e.name, e.decodedBodySize])""")
    assert [name for name, _ in took if "trace.json" in name] == [f"{address}/trace.json"]
    assert sum(size for name, size in took if "/plotly-" not in name) < 150_000
