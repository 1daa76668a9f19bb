"""Which number a station gets when two phones log one walk."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.rules.station_numbers import given_number, next_number

TAKEN = st.sets(st.integers(1, 60), max_size=40)


@pytest.mark.parametrize(
    ("proposed", "taken", "after", "number"),
    [
        (1, set(), None, 1),
        (4, {1, 2, 3}, 3, 4),
        (3, {1, 2, 3}, None, 4),
        (6, {1, 2, 5}, 5, 6),
        (6, {1, 8}, 8, 9),
        (4, {1, 2, 3, 9}, None, 4),
        (9, {1}, 1, 9),
    ],
)
def test_the_proposed_number_stands_unless_it_is_taken_or_breaks_the_order(proposed, taken, after, number):
    assert given_number(proposed, taken, after) == number


@given(st.integers(1, 70), TAKEN, st.none() | st.integers(1, 60))
def test_a_number_is_never_given_twice_and_never_before_the_station_it_follows(proposed, taken, after):
    number = given_number(proposed, taken | ({after} if after else set()), after)
    assert number not in taken
    assert after is None or number > after


@given(st.lists(st.tuples(st.booleans(), st.integers(1, 12)), max_size=30))
def test_each_phone_keeps_its_own_order_however_two_are_mixed(arrivals):
    taken, last, order = set(), {True: None, False: None}, {True: [], False: []}
    for phone, proposed in arrivals:
        number = given_number(proposed, taken, last[phone])
        taken.add(number)
        last[phone] = number
        order[phone].append(number)
    assert all(numbers == sorted(numbers) for numbers in order.values())
    assert len(taken) == len(arrivals)


def test_the_first_number_is_1():
    assert next_number(set()) == 1
