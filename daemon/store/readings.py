"""The trace: whole numbers of 1/128 °C, the chip's own step, so that what is kept is what was judged."""

from __future__ import annotations

import sys
import zlib
from array import array
from collections.abc import Iterable, Sequence
from itertools import pairwise
from math import inf
from statistics import median
from typing import NamedTuple

import sqlite_utils

from daemon.firing.events import Sample
from daemon.store.chain import links
from daemon.store.chain.contents import BLOCK_S
from daemon.store.database import transaction

STEPS_PER_C = 128
"""A stored temperature is a whole number of these steps [1/°C]. [source: MAX31856 data sheet, linearised
temperature: 19 bits of 1/128 °C]"""
FAULT_CODES = {"open": 1, "short": 2, "range": 3, "silent": 4}
_FAULTS = {code: fault for fault, code in FAULT_CODES.items()}
_INTERVAL_S = 5
"""Time between two readings as the service stores them [s]. [from: daemon.acquisition.sampling.SLOT_S]"""
THINNED = 700
"""Stretches of the thinned trace that is kept of a firing that has ended. [chosen: about the pixels of a drawing's
width; a closer look reads the trace itself]"""
_BLANK = -2**31
"""Stands for no temperature in a kept thinned trace. [chosen: the lowest whole number of four bytes]"""


class Bucket(NamedTuple):
    """A stretch of the trace for drawing; the temperatures are None where there is no reading."""

    t_s: int
    low_c: float | None
    mid_c: float | None
    high_c: float | None


def quantise(temp_c: float) -> float:
    """Return the nearest temperature [°C] that can be kept, a whole number of 1/128 °C."""
    return round(temp_c * STEPS_PER_C) / STEPS_PER_C


def append(db: sqlite_utils.Database, firing_id: int, samples: Iterable[Sample]) -> None:
    """Keep ``samples`` (at whole seconds, quantised) of a firing, all of them or none.

    With the first reading of another ten minutes those before it get their links of the chain.
    """
    rows = [_row(sample) for sample in samples]
    if not rows:
        return
    with transaction(db):
        last_s = db.execute("SELECT max(t_s) FROM reading WHERE firing_id = ?", [firing_id]).fetchone()[0]
        db.conn.executemany(
            "INSERT INTO reading (firing_id, t_s, temp_128, below_128, above_128, fault)"
            " VALUES (?, ?, ?, ?, ?, ?)",
            [(firing_id, *row) for row in rows])
        block = max(row[0] for row in rows) // BLOCK_S
        if block > (rows[0][0] if last_s is None else last_s) // BLOCK_S:
            links.seal_readings(db, firing_id, before_block=block)


def _row(sample: Sample) -> tuple[int, int | None, int | None, int | None, int | None]:
    t_s, temp_c, fault, low_c, high_c = sample
    if temp_c is None:
        return round(t_s), None, None, None, FAULT_CODES[fault] if fault else None
    temp = round(temp_c * STEPS_PER_C)
    below = None if low_c is None else temp - round(low_c * STEPS_PER_C)
    above = None if high_c is None else round(high_c * STEPS_PER_C) - temp
    return round(t_s), temp, below, above, FAULT_CODES[fault] if fault else None


def samples(db: sqlite_utils.Database, firing_id: int, from_s: float | None = None,
            to_s: float | None = None) -> list[Sample]:
    """Return the readings of a firing in time order, as they were judged.

    Parameters
    ----------
    db
        An open database.
    firing_id
        Whose readings.
    from_s, to_s
        First and last second wanted, both included; None is without end.
    """
    found = db.execute(
        "SELECT t_s, temp_128, below_128, above_128, fault FROM reading"
        " WHERE firing_id = ? AND t_s >= ? AND t_s <= ? ORDER BY t_s",
        [firing_id, -inf if from_s is None else from_s, inf if to_s is None else to_s])
    return [_sample(*row) for row in found]


def _sample(t_s: int, temp: int | None, below: int | None, above: int | None, fault: int | None) -> Sample:
    word = None if fault is None else _FAULTS[fault]
    if temp is None:
        return Sample(float(t_s), None, word)
    return Sample(float(t_s), temp / STEPS_PER_C, word,
                  None if below is None else (temp - below) / STEPS_PER_C,
                  None if above is None else (temp + above) / STEPS_PER_C)


def last(db: sqlite_utils.Database, firing_id: int) -> Sample | None:
    """Return the last reading of a firing; None where it has none."""
    row = db.execute(
        "SELECT t_s, temp_128, below_128, above_128, fault FROM reading WHERE firing_id = ?"
        " ORDER BY t_s DESC LIMIT 1", [firing_id]).fetchone()
    return None if row is None else _sample(*row)


def highest_c(db: sqlite_utils.Database, firing_id: int) -> float | None:
    """Return the highest kept temperature of a firing [°C], noted when it ended; None where it has none."""
    value = db.execute(
        "SELECT coalesce((SELECT highest_128 FROM firing WHERE firing_id = :number AND ended_s IS NOT NULL),"
        " (SELECT max(temp_128) FROM reading WHERE firing_id = :number))", {"number": firing_id}).fetchone()[0]
    return None if value is None else value / STEPS_PER_C


def by_minute(db: sqlite_utils.Database, firing_id: int) -> list[tuple[float, float]]:
    """Return the trace thinned to one point a minute: mean second and mean temperature [°C] of its readings."""
    return db.execute(
        f"SELECT avg(t_s), avg(temp_128) / {STEPS_PER_C}.0 FROM reading WHERE firing_id = ? AND temp_128 IS NOT NULL"
        " GROUP BY t_s / 60 ORDER BY t_s / 60", [firing_id]).fetchall()


_WANTED = "firing_id = :firing_id AND t_s >= :first_s AND t_s <= :last_s"
_BUCKETS = f"""
SELECT (t_s - :from_s) / :width_s AS bucket, CAST(round(avg(t_s)) AS INTEGER),
       min(temp_128 - coalesce(below_128, 0)) / {STEPS_PER_C}.0,
       avg(temp_128) / {STEPS_PER_C}.0,
       max(temp_128 + coalesce(above_128, 0)) / {STEPS_PER_C}.0
FROM reading WHERE {_WANTED} GROUP BY bucket ORDER BY bucket
"""


def buckets(db: sqlite_utils.Database, firing_id: int, count: int, from_s: float | None = None,
            to_s: float | None = None) -> list[Bucket]:
    """Return the trace thinned to about ``count`` stretches of equal length, no dip or peak lost.

    Each has the lowest and highest reading within it and the mean. Where nothing was read, for a whole
    stretch or in a kept gap, there is a row of Nones, so that a line drawn through the rows breaks.

    Parameters
    ----------
    db
        An open database.
    firing_id
        Whose readings.
    count
        How many stretches are wanted.
    from_s, to_s
        First and last second wanted, both included; None is without end.
    """
    return _with_gaps(db, firing_id, _stretches(db, firing_id, count, from_s, to_s), from_s, to_s)


def _stretches(db: sqlite_utils.Database, firing_id: int, count: int, from_s: float | None = None,
               to_s: float | None = None) -> list[Bucket]:
    """Return the stretches as ``buckets`` does, but for kept gaps that are shorter than a stretch."""
    wanted = {"firing_id": firing_id, "first_s": -inf if from_s is None else from_s,
              "last_s": inf if to_s is None else to_s}
    first_s, last_s = db.execute("SELECT min(t_s), max(t_s) FROM reading WHERE " + _WANTED, wanted).fetchone()
    if first_s is None:
        return []
    interval_s = _usual_interval_s(db, firing_id)
    width_s = max(1, -(-(last_s - first_s + 1) // (max(1, count) * interval_s))) * interval_s
    found: list[Bucket] = []
    expected = 0
    for bucket, t_s, low_c, mid_c, high_c in db.execute(
            _BUCKETS, {**wanted, "from_s": first_s, "width_s": width_s}):
        if bucket > expected:
            found.append(Bucket(first_s + (expected + bucket) * width_s // 2, None, None, None))
        found.append(Bucket(t_s, low_c, mid_c, high_c))
        expected = bucket + 1
    return found


def keep_thinned(db: sqlite_utils.Database, firing_id: int) -> None:
    """Keep the thinned trace of a firing whose readings are all there, so that a page need not read them again."""
    rows = _stretches(db, firing_id, THINNED)
    numbers = array("i", [row.t_s for row in rows])
    for temps_c in ([row.low_c for row in rows], [row.mid_c for row in rows], [row.high_c for row in rows]):
        numbers.extend(_BLANK if temp_c is None else round(temp_c * STEPS_PER_C) for temp_c in temps_c)
    if sys.byteorder == "big":
        numbers.byteswap()
    db.execute("INSERT OR REPLACE INTO thinned_trace (firing_id, stretches) VALUES (?, ?)",
               [firing_id, zlib.compress(numbers.tobytes())])


def thinned(db: sqlite_utils.Database, firing_id: int) -> list[Bucket]:
    """Return the trace in THINNED stretches: as it was kept when the firing ended, else made of its readings."""
    kept = db.execute("SELECT stretches FROM thinned_trace WHERE firing_id = ?", [firing_id]).fetchone()
    if kept is None:
        return buckets(db, firing_id, THINNED)
    numbers = array("i", zlib.decompress(kept[0]))
    if sys.byteorder == "big":
        numbers.byteswap()
    length = len(numbers) // 4
    temps_c = [None if number == _BLANK else number / STEPS_PER_C for number in numbers[length:]]
    rows = [Bucket(*row) for row in zip(numbers[:length], temps_c[:length], temps_c[length:2 * length],
                                        temps_c[2 * length:], strict=True)]
    return _with_gaps(db, firing_id, rows)


def not_thinned(db: sqlite_utils.Database, limit: int) -> list[int]:
    """Return the firings that ended before thinned traces were kept, the latest first."""
    return [number for (number,) in db.execute(
        "SELECT firing_id FROM firing LEFT JOIN thinned_trace AS t USING (firing_id)"
        " WHERE ended_s IS NOT NULL AND emptied_utc IS NULL AND t.firing_id IS NULL"
        " ORDER BY firing_id DESC LIMIT ?", [limit])]


def _with_gaps(db: sqlite_utils.Database, firing_id: int, found: Sequence[Bucket], first_s: float | None = None,
               last_s: float | None = None) -> list[Bucket]:
    """Return the buckets with a row of Nones for each kept gap within the stretch that none of them shows yet."""
    blank = [bucket.t_s for bucket in found if bucket.mid_c is None]
    hidden = [
        Bucket((from_s + to_s) // 2, None, None, None)
        for from_s, to_s in db.execute(
            "SELECT from_s, to_s FROM gap WHERE firing_id = ? AND from_s >= ? AND to_s <= ?",
            [firing_id, -inf if first_s is None else first_s, inf if last_s is None else last_s])
        if not any(from_s <= t_s <= to_s for t_s in blank)
    ]
    return sorted([*found, *hidden], key=lambda bucket: bucket.t_s) if hidden else list(found)


def _usual_interval_s(db: sqlite_utils.Database, firing_id: int) -> int:
    times = [row[0] for row in db.execute(
        "SELECT t_s FROM reading WHERE firing_id = ? ORDER BY t_s LIMIT 60", [firing_id])]
    return max(1, int(median(b - a for a, b in pairwise(times)))) if len(times) > 1 else _INTERVAL_S
