"""A comparison from the chip's registers to the record: waited for, refused where it cannot be, kept."""

from math import exp

import pytest

from daemon.doctor.compare import FAULTS, LONGEST_S, compared, keep, stand_still
from daemon.doctor.live_probe import Seen, live_probe
from daemon.errors import BadInput
from daemon.sensor.reference import Method, boiling_at, ice, other_in_hold
from daemon.service.only_one import only_one
from daemon.settings.config import Config
from daemon.store.database import create_database


def stood(box, method=Method.ICE, shown=lambda temp_c, share: None):
    with live_probe(box.places, Config(), box) as look:
        return stand_still(look, box, method, "C", shown)


def test_ice_slush_on_the_chip_of_registers_gives_the_thermocouple_s_error(box):
    box.hot_c = 0.7  # what this thermocouple makes of 0 °C
    found = compared(ice(), stood(box), "C")
    assert found.off_k == pytest.approx(0.7, abs=0.02)
    # The bath's 0.2 °C, uniform and doubled, is nearly all of it on a chip without noise.
    assert found.plus_minus_k == pytest.approx(2 * 0.2 / 3**0.5, abs=0.01)
    assert box.s < 90


def test_a_tip_that_still_cools_is_waited_for(box):
    box.hot_c, begun = 22.0, box.s
    told = []

    def shown(temp_c, share):
        told.append(share)
        box.hot_c = 22.0 * exp(-(box.s - begun) / 20.0)

    found = stood(box, shown=shown)
    assert found.steady.mean_c < 0.2
    assert 100 < box.s < LONGEST_S
    assert told[-1] == 1.0


def test_a_kiln_that_climbs_is_not_waited_for_for_ever(box):
    def shown(temp_c, share):
        box.hot_c += 0.2  # a look in 1.3 s: some 9 °C in a minute

    with pytest.raises(BadInput, match=r"does not stand still: it moved by 9\.[0-9] °C"):
        stood(box, Method.HOLD, shown)
    assert box.s <= LONGEST_S + 2


def test_a_broken_probe_ends_it_within_seconds(box):
    box.open = True
    with pytest.raises(BadInput, match="gives no temperature"):
        stood(box)
    assert box.s < 3 * FAULTS


@pytest.mark.parametrize(("reference", "hot_c", "reversed_", "words"), [
    (ice(), 22.0, False, "reads 22 °C. Ice slush is at 0 °C. That is about the temperature of the room"),
    (ice(), 0.0, True, "wires may be swapped"),
    (boiling_at(0.0), 60.0, False, "Boiling water is at 100 °C"),
    (other_in_hold(960.0, beside=False), 516.0, False, "The other instrument shows 960 °C"),
])
def test_what_cannot_be_is_refused_with_a_sentence(box, reference, hot_c, reversed_, words):
    box.hot_c, box.reversed = hot_c, reversed_
    with pytest.raises(BadInput) as err:
        compared(reference, stood(box, reference.method), "C")
    assert words in err.value.text


def test_the_running_daemon_is_listened_to_and_the_bus_left_alone(box, monkeypatch):
    monkeypatch.setattr("daemon.doctor.own_look.opener", lambda kind: pytest.fail("the bus was opened"))
    box.daemon_says(temp_c=0.3, now_s=0.0)
    last = box.s

    def wait(deadline_s):
        nonlocal last
        box.s = max(box.s, deadline_s)
        if box.s - last >= 5.0:
            last = box.s
            box.daemon_says(temp_c=0.3, now_s=box.s, cold_junction_c=23.0)

    monkeypatch.setattr(box, "sleep_until", wait)
    with only_one(box.data):  # as the daemon holds it
        found = stood(box)
    assert found.steady.mean_c == pytest.approx(0.3)
    assert found.steady.number == 13  # a minute of readings five seconds apart, each counted once
    assert found.cold_c == 23.0


def test_a_daemon_that_falls_silent_is_no_temperature(box):
    box.daemon_says(temp_c=0.3, now_s=0.0)
    with live_probe(box.places, Config(), box) as look:
        assert look() == Seen(0.0, 0.3, 24.0, None)
        (box.run / "present.json").unlink()
        assert look().temp_c is None


def test_a_comparison_changes_nothing_but_its_own_table(box):
    db = create_database(box.places.record)
    try:
        tables = [name for name in db.table_names() if name not in ("calibration", "kiln")]

        def rows():
            return {name: list(db.table(name).rows) for name in tables}

        before = rows()
        box.hot_c = 0.7
        found = stood(box)
        kept = keep(db, compared(ice(), found, "C"), found.cold_c, Config(), box.utc())
        assert rows() == before
        assert (kept.method, kept.reference_c, kept.thermocouple_type, kept.part_change_id) == ("ice", 0.0, "K", None)
        assert kept.reading_c == pytest.approx(0.7, abs=0.02)
        assert kept.cold_junction_c == pytest.approx(25.0)
    finally:
        db.close()
