"""The pages of an archive: the list of its firings and each firing's copy, from the record as the page reads it."""

from __future__ import annotations

import re
from pathlib import Path

from daemon.settings.config import Config
from daemon.store import firings
from daemon.store.safety import record_mark
from web.archive_pages import pages

EVIL = "<script>alert(1)</script>"


def drawn(studio, numbers):
    folder = Path(studio.database).parent
    return dict(pages(folder, folder, Config(time_zone="UTC"), numbers))


def test_each_firing_has_a_page_and_the_list_leads_to_it(studio):
    number = studio.fill(ended=True)
    found = drawn(studio, [number])
    assert list(found) == [f"firings/{number:06d}/page.html", "index.html"]
    index = found["index.html"]
    assert f'href="firings/{number:06d}/page.html"' in index
    mark = record_mark.short(studio.store(lambda db: record_mark.head(db, number)))
    assert mark in index
    assert mark in found[f"firings/{number:06d}/page.html"]
    peak = re.search(r'class="figure">(\d+)&nbsp;°C', index)[1]
    assert f"highest {peak}&nbsp;°C" in found[f"firings/{number:06d}/page.html"]


def test_the_list_takes_nothing_from_outside_and_no_title_for_markup(studio):
    number = studio.fill(ended=True)
    studio.store(lambda db: firings.name_firing(db, number, {"title": EVIL}))
    index = drawn(studio, [number])["index.html"]
    assert EVIL not in index
    assert "&lt;script&gt;" in index
    assert "default-src &#39;none&#39;" in index or "default-src 'none'" in index
    assert re.findall(r'(?:src|href)="(?!firings/)[^"]*"', index) == []


def test_an_archive_without_firings_has_a_list_all_the_same(studio):
    studio.fill(ended=True)
    assert "0 in this archive" in drawn(studio, [])["index.html"]
