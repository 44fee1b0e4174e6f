"""The rate limit: so many tries in any minute, by address and from all together."""

from __future__ import annotations

import pytest

from web.security.rate_limit import GUESSES_FROM_ALL, GUESSES_FROM_ONE, RateLimit


def test_one_address_has_so_many_tries_in_any_minute_and_is_told_how_long_to_wait():
    limit = RateLimit(2)
    assert [limit.wait_s("a", t_s) for t_s in (0.0, 1.0, 2.0, 59.0)] == [0.0, 0.0, 58.0, 1.0]
    assert limit.wait_s("a", 60.0) == 0.0, "the try at second 0 is a minute ago"
    assert limit.wait_s("a", 60.5) == 0.5, "the tries at 1 and 60 still count, refused ones do not"


def test_addresses_are_counted_apart():
    limit = RateLimit(1)
    assert limit.wait_s("a", 0.0) == 0.0
    assert limit.wait_s("b", 1.0) == 0.0
    assert limit.wait_s("a", 1.0) == 59.0


def test_an_address_that_is_forgotten_begins_anew():
    limit = RateLimit(1)
    limit.wait_s("a", 0.0)
    limit.forget("a")
    limit.forget("never seen")
    assert limit.wait_s("a", 1.0) == 0.0


def test_a_thousand_guesses_from_many_addresses_come_to_ten_a_minute():
    limit, taken = RateLimit(GUESSES_FROM_ONE, GUESSES_FROM_ALL), []
    for number in range(1000):
        now_s = number * 0.6  # a thousand guesses in ten minutes
        if limit.wait_s(f"192.168.1.{number % 200}", now_s) == 0:
            taken.append(now_s)
    assert 90 <= len(taken) <= 101
    for start in taken:
        assert sum(1 for t in taken if start <= t < start + 60) <= 10


@pytest.mark.parametrize("own", ["127.0.0.1", "::1"])
def test_strangers_cannot_lock_out_the_machine_itself_nor_it_them(own):
    limit = RateLimit(2, 3)
    for number in range(50):
        limit.wait_s(f"192.168.1.{number}", 0.0)
    assert limit.wait_s("192.168.1.77", 1.0) == 59.0
    assert [limit.wait_s(own, t_s) for t_s in (1.0, 2.0, 3.0)] == [0.0, 0.0, 58.0]
    assert limit.wait_s("192.168.1.77", 60.0) == 0.0, "tries of the machine itself count for itself only"


def test_a_flood_of_addresses_fills_no_memory_and_the_one_unheard_longest_is_forgotten():
    limit = RateLimit(1)
    limit.wait_s("early", 0.0)
    limit.wait_s("busy", 0.0)
    for number in range(400):
        assert limit.wait_s("busy", 1.0) == 59.0, "even a refused try keeps an address remembered"
        limit.wait_s(f"10.0.{number // 200}.{number % 200}", 1.0)
    assert limit.wait_s("early", 2.0) == 0.0, "forgotten"
    assert len(limit._by_address) == 256
