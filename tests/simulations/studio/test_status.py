"""What the demonstration says on a terminal and in a pipe."""

from __future__ import annotations

import io

from simulations.studio.status import Status, describe


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def present(t_s: float = 25_320.0, temp_c: float | None = 515.6, step: int = 4, part: str = "hold", alerts=()):
    return {
        "t_s": t_s, "temp_c": temp_c, "sentence": "In the anneal hold.", "alerts": list(alerts),
        "part": {"index": 5, "step": step, "part": part, "start_s": 20_000.0},
    }


def alert(rank: str = "wake", cleared_s: float | None = None):
    return {
        "no": 1, "kind": "cooling-too-fast", "rank": rank, "cleared_s": cleared_s,
        "text": {"what": "Cooling too fast.", "meaning": "It stays in the glass.", "do": "Close the vent."},
    }


def said(*shown: tuple[dict, float]) -> list[str]:
    out = io.StringIO()
    status = Status(50_000.0, out)
    for state, wall_s in shown:
        status.show(state, wall_s)
    status.close()
    return out.getvalue().splitlines()


def test_one_line_tells_time_temperature_place_and_sentence():
    assert describe(present()) == " 7:02 h  516 °C, step 4, hold  In the anneal hold."


def test_a_blind_probe_is_no_temperature():
    assert "no reading" in describe(present(temp_c=None))


def test_before_the_first_part_there_is_no_place():
    state = {**present(), "part": None}
    assert describe(state) == " 7:02 h  516 °C  In the anneal hold."


def test_in_a_pipe_a_line_comes_when_the_part_changes_or_now_and_then():
    lines = said((present(), 0.0), (present(), 1.0), (present(step=5, part="ramp"), 2.0),
                 (present(step=5, part="ramp"), 3.0), (present(step=5, part="ramp"), 30.0))
    assert len(lines) == 3
    assert "step 5, ramp" in lines[1]


def test_an_alert_is_told_once_with_what_to_do_and_once_when_over():
    lines = said((present(alerts=[alert()]), 0.0), (present(alerts=[alert()]), 1.0),
                 (present(alerts=[alert(cleared_s=9.0)]), 2.0), (present(alerts=[alert(cleared_s=9.0)]), 3.0))
    told = [line for line in lines if line.startswith(("wake", "over"))]
    assert told == [
        "wake: Cooling too fast. It stays in the glass. Close the vent.", "over: cooling too fast",
    ]


def test_a_higher_rank_is_told_again():
    lines = said((present(alerts=[alert("look")]), 0.0), (present(alerts=[alert("wake")]), 1.0))
    assert [line.split(":")[0] for line in lines if "Cooling" in line] == ["when you're up", "wake"]


def test_on_a_terminal_a_bar_shows_how_far_it_is():
    out = Terminal()
    status = Status(50_000.0, out)
    status.show(present(t_s=25_000.0), 0.0)
    status.close()
    assert "50%" in out.getvalue()
    assert "step 4, hold" in out.getvalue()
