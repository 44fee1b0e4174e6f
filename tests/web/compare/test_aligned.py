"""The moment at which one firing is laid over the others."""

from __future__ import annotations

from datetime import UTC, datetime
from types import SimpleNamespace

import pytest

from daemon.glass.materials import FAMILIES
from web.compare.aligned import One, level_c, zero_s
from web.compare.figures import Compared
from web.compare.measures import measures

# Up 200 K/h from 20 to 820, down 400 K/h to 420.
TRACE = tuple((60.0 * m, 20 + 200 * m / 60 if m <= 240 else 820 - 400 * (m - 240) / 60) for m in range(301))


def one(anneal_start_s=None, glass=FAMILIES["90"], trace=TRACE):
    record = SimpleNamespace(starts=datetime(2026, 3, 3, 21, 30, 20, tzinfo=UTC), glass=glass)
    return One(SimpleNamespace(record=record), trace, anneal_start_s,
               Compared("A", measures(trace, None), None, None))


def test_the_process_begins_where_the_trace_climbs_through_the_common_level():
    assert level_c([one()]) == 780.0  # 40 K below the top
    assert zero_s(one(), "process", 780.0) == pytest.approx((780 - 20) / 200 * 3600)
    assert zero_s(one(), "process", 830.0) is None


def test_the_anneal_begins_as_found_else_where_the_trace_falls_through_the_annealing_point():
    assert zero_s(one(anneal_start_s=17_000.0), "anneal", 0.0) == 17_000.0
    point_c = FAMILIES["90"].annealing_point_c
    assert zero_s(one(), "anneal", 0.0) == pytest.approx(240 * 60 + (820 - point_c) / 400 * 3600)
    assert zero_s(one(glass=None), "anneal", 0.0) is None


def test_by_the_hour_of_the_day_noon_is_the_common_zero():
    assert zero_s(one(), "clock", 0.0) == -(9 * 3600 + 30 * 60 + 20)
    assert zero_s(one(), "start", 0.0) == 0.0


def test_firings_without_a_reading_have_no_level():
    assert level_c([one(trace=())]) == 0.0
