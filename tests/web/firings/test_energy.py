"""The energy of a firing: shown only where power is given, as an estimate with its spread, or why there is none."""

from __future__ import annotations

import pytest

from daemon.settings.config import Config, Energy
from daemon.store.wear import heat
from daemon.store.wear.heat import Heat

SAME = {"Origin": "http://localhost", "Sec-Fetch-Site": "same-origin"}
KILN = Heat(9000.0, 5800.0, 1550.0, 1600.0)
"""At 3.8 kW: 3.8 · 5800 / 1600 = 13.8 kWh."""


def _shown(studio, address, energy=None):
    config = Config(energy=Energy(3.8, 0.3, "€") if energy is None else energy)
    return studio.app(config=config).test_client().get(address).text.replace("\u00a0", " ")


def _fired(studio, *heats):
    numbers = [studio.fill(until_s=40_000.0, ended=True) for _ in heats]
    for number, one in zip(numbers, heats, strict=True):
        if one is not None:
            studio.store(lambda db, number=number, one=one: heat.put_heat(db, number, one, 1))
    return numbers


def test_without_a_rated_power_nothing_is_shown(studio):
    [number] = _fired(studio, KILN)
    for address in (f"/firings/{number}", "/kiln"):
        assert "kWh" not in _shown(studio, address, Energy(None, 0.3, "€"))
    assert "Give the kiln’s rated power" in _shown(studio, "/kiln", Energy())


def test_a_firing_says_its_energy_with_its_spread_and_cost(studio):
    [number] = _fired(studio, KILN)
    page = _shown(studio, f"/firings/{number}")
    # 13.775 kWh, 12 % to each side: 12.1 to 15.4; at 0.30 € 3.64 to 4.63, said to the tenth.
    assert "Energy: about 14 kWh (12 to 15), 3.60 to 4.60 €. An estimate, from the temperatures" in page
    assert "€" not in _shown(studio, f"/firings/{number}", Energy(3.8))


def test_a_kiln_never_seen_with_all_its_power_gets_a_rough_span_and_is_told_what_helps(studio):
    [number] = _fired(studio, KILN._replace(full_k=None))
    page = _shown(studio, f"/firings/{number}")
    # Duty at 800 °C from 0.2 to 1100/(0.9 · 1550) = 0.788; less a tenth at each end, times 3.8 · 5800/1100 = 20.04.
    assert "Energy: perhaps 5.2 to 15 kWh, 1.60 to 4.40 €. A rough estimate" in page
    assert "One reading of a meter makes it narrow." in page


def test_a_meter_s_reading_is_shown_as_such_and_narrows_the_other_firings(studio):
    first, second = _fired(studio, KILN._replace(full_k=None), Heat(9000.0, 2900.0, 1500.0, None))
    client = studio.app(config=Config(energy=Energy(3.8, 0.3, "€"))).test_client()
    assert client.post(f"/firings/{first}/meter", headers=SAME, data={"kwh": "12,5"}).status_code == 303
    assert "Energy: 12 kWh by the meter, 3.75 €." in _shown(studio, f"/firings/{first}")
    page = _shown(studio, f"/firings/{second}")
    assert "Energy: about 6.2 kWh (5.9 to 6.6), 1.80 to 2.00 €. An estimate, from the temperatures and what" in page
    assert client.post(f"/firings/{first}/meter", headers=SAME, data={"kwh": ""}).status_code == 303
    assert "rough" in _shown(studio, f"/firings/{second}")


@pytest.mark.parametrize("typed", ["lots", "-3", "99999", "1432"])  # the last is a meter's total
def test_a_meter_s_figure_that_cannot_be_is_refused(studio, typed):
    [number] = _fired(studio, KILN)
    client = studio.app(config=Config(energy=Energy(3.8))).test_client()
    answer = client.post(f"/firings/{number}/meter", headers=SAME, data={"kwh": typed})
    assert answer.status_code == 400
    assert 'id="wrong-kwh"' in answer.text
    assert f'value="{typed}"' in answer.text


def test_a_running_firing_has_no_energy_and_takes_no_meter(studio):
    number = studio.fill(until_s=9000.0)
    studio.say(number, 9000.0)
    client = studio.app(config=Config(energy=Energy(3.8))).test_client()
    assert "kWh" not in client.get(f"/firings/{number}").text
    assert client.post(f"/firings/{number}/meter", headers=SAME, data={"kwh": "5"}).status_code == 400


@pytest.mark.parametrize(("why", "said"), [
    ("no-plan", "Without a plan"), ("not-fired", "did not pass 200 °C"), ("hot-start", "begins with the kiln hot"),
    ("gap", "readings are missing"), ("no-fall", "not seen to cool without power"),
    ("heated-in-a-fall", "was heated where its plan lets it fall")])
def test_what_cannot_be_estimated_says_why(studio, why, said):
    [number] = _fired(studio, Heat(0.0, why=why))
    page = _shown(studio, f"/firings/{number}")
    assert "Energy: not estimated." in page
    assert said in page


def test_a_firing_that_has_just_ended_says_when(studio):
    [number] = _fired(studio, None)
    assert "Energy: not estimated yet. That is done within some minutes of the end." in _shown(
        studio, f"/firings/{number}")


def test_the_kiln_s_page_draws_them_and_adds_up_the_month(studio):
    _fired(studio, KILN, KILN._replace(full_k=None), KILN, Heat(0.0, why="gap"))
    page = _shown(studio, "/kiln")
    assert "The latest firing took about 14 kWh (12 to 15)" in page
    assert "Lehrling measures no power." in page
    assert 'March 2026 <span class="grey">3 firings</span></th><td>about 41 kWh (36 to 46), 11 to 14 €' in page
    assert page.count('class="spread"') == 2 * 3  # a phone's drawing and a desk's
