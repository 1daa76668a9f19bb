"""A better order for a day."""

from itertools import pairwise

from hypothesis import given, settings
from hypothesis import strategies as st

from jobs.rules.day_plan import DayVisit, Planned, best_day

OPENS, CLOSES = 8 * 60, 18 * 60
PLACE = {None: 0, 1: 10, 2: 50, 3: 20, 4: 60}
"""Minutes along one straight road from home."""


def along_the_road(start, end):
    return abs(PLACE[start] - PLACE[end])


def visit(key, begins, hold=60, free=True):
    return DayVisit(key, begins, hold, free)


def test_free_visits_are_put_in_the_order_of_the_road():
    plan = best_day([visit(1, 540), visit(2, 660), visit(3, 800)], OPENS, CLOSES, along_the_road)
    assert plan.travel == 100
    assert plan.travel_now == 10 + 40 + 30 + 20
    back_and_forth = best_day([visit(2, 540), visit(1, 660), visit(4, 800)], OPENS, CLOSES, along_the_road)
    assert (back_and_forth.travel, back_and_forth.travel_now) == (120, 50 + 40 + 50 + 60)
    assert back_and_forth.saves == 80


def test_a_fixed_visit_keeps_its_time():
    plan = best_day([visit(2, 540, free=False), visit(1, 660), visit(4, 800)], OPENS, CLOSES, along_the_road)
    assert Planned(2, 540) in plan.order
    assert plan.saves > 0


def test_a_visit_that_can_stay_keeps_its_time():
    plan = best_day([visit(1, 540), visit(2, 700)], OPENS, CLOSES, along_the_road)
    assert plan.order == (Planned(1, 540), Planned(2, 700))
    assert plan.saves == 0


def test_a_visit_that_moves_begins_at_a_full_step_where_there_is_room():
    plan = best_day(
        [visit(2, 540, free=False), visit(4, 801), visit(3, 660, free=False)], OPENS, CLOSES, along_the_road
    )
    moved = next(planned for planned in plan.order if planned.key == 4)
    assert moved.begins % 15 == 0 or moved.begins == 801


def test_the_crew_leaves_home_no_earlier_than_its_hours():
    plan = best_day([visit(2, 481), visit(1, 600), visit(4, 720)], OPENS, CLOSES, along_the_road)
    assert plan.saves > 0
    first = plan.order[0]
    assert first.begins >= OPENS + along_the_road(None, first.key)


def test_a_fixed_visit_before_the_hours_is_kept_too():
    plan = best_day([visit(2, 480, free=False), visit(1, 700)], OPENS, CLOSES, along_the_road)
    assert plan.order[0] == Planned(2, 480)


def test_a_day_that_is_too_full_has_no_order():
    assert best_day([visit(1, 480, 300), visit(2, 800, 300)], OPENS, CLOSES, along_the_road) is None


def test_an_empty_day_needs_no_driving():
    assert best_day([], OPENS, CLOSES, along_the_road).travel == 0


@st.composite
def days(draw):
    """Visits that follow one another with time for the drive, as booked ones do, some of them fixed."""
    at, here, visits = OPENS, None, []
    for key in draw(st.permutations([1, 2, 3, 4]))[: draw(st.integers(1, 4))]:
        at += along_the_road(here, key) + draw(st.integers(0, 40))
        visits.append(visit(key, at, draw(st.integers(10, 100)), draw(st.booleans())))
        at, here = at + visits[-1].hold, key
    return visits, max(CLOSES, at + along_the_road(here, None))


@settings(deadline=None)
@given(days())
def test_what_is_proposed_can_be_booked_and_never_drives_more(day):
    visits, closes = day
    plan = best_day(visits, OPENS, closes, along_the_road)
    by_key = {one.key: one for one in visits}
    assert sorted(planned.key for planned in plan.order) == sorted(by_key)
    assert plan.travel <= plan.travel_now
    for planned in plan.order:
        assert by_key[planned.key].free or planned.begins == by_key[planned.key].begins
    assert plan.order[0].begins >= OPENS + along_the_road(None, plan.order[0].key)
    for one, other in pairwise(plan.order):
        assert other.begins >= one.begins + by_key[one.key].hold + along_the_road(one.key, other.key)
    last = plan.order[-1]
    assert last.begins + by_key[last.key].hold + along_the_road(last.key, None) <= closes
    driven = [None, *(planned.key for planned in plan.order), None]
    assert plan.travel == sum(along_the_road(one, other) for one, other in pairwise(driven))
