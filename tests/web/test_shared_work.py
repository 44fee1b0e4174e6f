"""What the tests of the page share changes nothing that they see."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from dataclasses import replace

from daemon.settings.config import Config


def record(studio):
    """Return all that stands in a studio's database, as SQL."""
    with closing(sqlite3.connect(studio.database)) as db:
        return list(db.iterdump())


def test_a_first_firing_that_is_copied_is_the_one_that_was_filled(studio, tmp_path):
    other = replace(studio, folder=tmp_path / "other")
    other.folder.mkdir()
    asked = {"until_s": 24_000.0, "alert": True, "title": "Filled twice"}
    assert studio.fill(**asked) == other.fill(**asked)
    assert record(other) == record(studio)
    assert any("Filled twice" in line for line in record(other))


def test_another_first_firing_is_not_that_copy(studio, tmp_path):
    other = replace(studio, folder=tmp_path / "other")
    other.folder.mkdir()
    studio.fill(until_s=600.0, title="One")
    other.fill(until_s=600.0, title="Another")
    assert record(other) != record(studio)


def test_apps_that_share_templates_keep_their_own_unit(studio):
    studio.fill(until_s=24_000.0, thickness_mm=6.35)
    in_mm, in_inches, again = (
        studio.app(config=Config(thickness_unit=unit)).test_client().get("/firings/1").text
        for unit in ("mm", "inch", "mm"))
    assert ["River bowl</a>, 1/4" in page for page in (in_mm, in_inches, again)] == [False, True, False]
