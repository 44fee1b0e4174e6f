"""The tables of live forecasts are counted right."""

from benchmarks.foresight.live import LiveError, cold_s, live_table

MINUTE_S = 60.0


def test_a_kiln_is_cool_from_the_last_time_that_it_was_warm():
    assert cold_s([(0.0, 90.0), (60.0, 39.0), (120.0, 41.0), (180.0, 39.5)]) == 120.0
    assert cold_s([(0.0, 90.0), (60.0, 50.0)]) is None


def test_errors_bands_and_missing_forecasts_are_counted():
    def error(off_min, usual_min, margin_min=10.0):
        return LiveError("opening", "kiln", None if off_min is None else off_min * MINUTE_S,
                         None if usual_min is None else usual_min * MINUTE_S, margin_min * MINUTE_S)

    found = [error(-4, 20), error(12, None), error(6, -40), error(None, None)]
    assert list(live_table(found))[2:] == ["| opening | 4 | 1 | 6.0 | 12 | 30.0 | 40 | 67 % | 10 |"]
