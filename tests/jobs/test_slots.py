"""Arrival windows: each rule on its own, and random diaries against a search that looks at every minute."""

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from jobs.rules.daylight import daylight
from jobs.rules.geodesic import Place
from jobs.rules.slots import Slot, find_slots
from jobs.rules.slots_request import Address, Booking, Crew, SlotRequest
from jobs.rules.travel import trip
from office.rules.calendar import Calendar, Span
from office.rules.worktime import is_open

ZONE = "America/Chicago"
WEDNESDAY = date(2027, 3, 3)
HOME = Address("home", Place(latitude=41.88, longitude=-87.63))
SITE = Address("12 Elm", Place(latitude=42.05, longitude=-87.69))
OAK = Address("4 Oak", Place(latitude=41.97, longitude=-87.91))
PINE = Address("9 Pine", Place(latitude=41.80, longitude=-87.60))
# Every drive is entered by hand, so that the figures of a test can be added up in the head.
TIMED = {
    (HOME.place, SITE.place): 30,
    (HOME.place, OAK.place): 20,
    (HOME.place, PINE.place): 10,
    (SITE.place, OAK.place): 15,
    (SITE.place, PINE.place): 40,
    (OAK.place, PINE.place): 25,
}


def at(clock: str, day: date = WEDNESDAY) -> datetime:
    return datetime.combine(day, time.fromisoformat(clock), ZoneInfo(ZONE))


def spans(*clocks: tuple[int, int]) -> tuple[tuple[Span, ...], ...]:
    return (tuple(Span(opens * 60, closes * 60) for opens, closes in clocks),) * 7


def crew(*bookings: tuple[Address, str, str], **changes: Any) -> Crew:
    one = Crew(
        "Maren",
        HOME,
        Calendar(ZONE, spans((8, 17))),
        tuple(Booking(address, at(start), at(end)) for address, start, end in bookings),
    )
    return replace(one, **changes)


def request(*crews: Crew, **changes: Any) -> SlotRequest:
    asked = SlotRequest(
        at=SITE, minutes=90, days=(WEDNESDAY,), crews=crews, now=at("00:00"), most=1000, timed=TIMED,
    )  # fmt: skip
    return replace(asked, **changes)


def clocks(found: tuple[Slot, ...]) -> list[str]:
    return sorted(f"{slot.arrive_from:%H:%M}" for slot in found)


def test_a_free_day_holds_windows_from_home_to_home() -> None:
    # 08:00 and 30 minutes there; 17:00 less 30 back, 90 on site and a window of 30
    found = find_slots(request(crew()))
    assert clocks(found)[0] == "08:30"
    assert clocks(found)[-1] == "14:30"
    assert len(found) == 13
    assert {(slot.travel_there, slot.travel_on, slot.added_travel) for slot in found} == {(30, 30, 60)}
    assert found[0].why == "Nothing else that day: 30 minutes from home, 30 back."


def test_a_slot_says_when_the_crew_comes_and_leaves_at_the_latest() -> None:
    first = find_slots(request(crew()))[0]
    assert (first.arrive_from, first.arrive_to, first.leaves_by) == (at("08:30"), at("09:00"), at("10:30"))


def test_travel_is_kept_free_before_and_after_and_only_what_is_added_counts() -> None:
    found = find_slots(request(crew((OAK, "08:30", "10:00"), (PINE, "14:00", "15:00"))))
    between = [slot for slot in found if slot.arrive_from < at("14:00")]
    # 10:00 and 15 there, so 10:30; 14:00 less 40 on and 120, so 11:20; 15 + 40 − 25 is 30 more
    assert clocks(tuple(between)) == ["10:30", "11:00"]
    assert {slot.added_travel for slot in between} == {30}
    assert between[0].why == "Between 4 Oak and 9 Pine: 15 minutes there, 40 on, 30 more than without this visit."


def test_a_window_may_touch_the_drive_before_and_the_drive_after() -> None:
    tight = crew((OAK, "08:30", "09:45"), (PINE, "12:40", "15:00"))
    assert clocks(find_slots(request(tight, every=5)))[:1] == ["10:00"]  # 09:45 + 15, and 10:00 + 120 + 40
    late = crew((OAK, "08:30", "09:46"), (PINE, "12:40", "15:00"))
    soon = crew((OAK, "08:30", "09:45"), (PINE, "12:39", "15:00"))
    assert [slot for slot in find_slots(request(late, every=5)) if slot.arrive_from < at("12:00")] == []
    assert [slot for slot in find_slots(request(soon, every=5)) if slot.arrive_from < at("12:00")] == []


def test_first_and_last_of_the_day_are_said() -> None:
    found = find_slots(request(crew((OAK, "12:00", "13:00"))))
    why = {slot.why for slot in found}
    assert why == {
        "First of the day, before 4 Oak: 30 minutes there, 15 on, 25 more than without this visit.",
        "Last of the day, after 4 Oak: 15 minutes there, 30 on, 25 more than without this visit.",
    }


def test_a_visit_on_the_way_is_said_to_add_nothing() -> None:
    found = find_slots(request(crew((SITE, "12:00", "13:00"))))
    assert {slot.added_travel for slot in found} == {0}
    assert found[0].why.endswith("no more than without this visit.")


def test_seconds_of_a_booking_are_never_given_away() -> None:
    one = Booking(OAK, at("09:00:00"), at("09:45:01"))
    found = find_slots(request(crew(bookings=(one,)), every=1))
    assert min(slot.arrive_from for slot in found) == at("10:01")  # 09:46 and 15 minutes


def test_bookings_that_overlap_leave_no_gap_between_them() -> None:
    found = find_slots(request(crew((OAK, "08:30", "14:00"), (PINE, "09:00", "10:00"))))
    assert clocks(found) == ["14:30"]  # after 4 Oak, the one that ends last


def test_a_booking_before_the_hours_is_where_the_crew_comes_from() -> None:
    found = find_slots(request(crew((OAK, "06:00", "07:30")), every=5))
    assert (clocks(found)[0], found[0].travel_there) == ("08:00", 15)


def test_least_added_travel_comes_first_then_the_earliest_then_the_order_of_the_crews() -> None:
    near = crew((SITE, "12:00", "13:00"), name="near")
    found = find_slots(request(crew(name="one"), crew(name="two"), near))
    ranked = [(slot.added_travel, slot.arrive_from) for slot in found]
    assert ranked == sorted(ranked)
    assert found[0].crew == "near"
    tied = [slot.crew for slot in found if slot.arrive_from == at("09:00") and slot.added_travel == 60]
    assert tied == ["one", "two"]


def test_only_the_best_are_given() -> None:
    every = find_slots(request(crew()))
    assert find_slots(request(crew(), most=4)) == every[:4]


def test_a_visit_never_lies_across_a_break() -> None:
    lunch = crew(calendar=Calendar(ZONE, spans((8, 12), (13, 17))))
    assert clocks(find_slots(request(lunch))) == [
        "08:30",
        "09:00",
        "09:30",
        "10:00",
        "13:00",
        "13:30",
        "14:00",
        "14:30",
    ]


def test_spans_that_touch_are_one() -> None:
    halves = crew(calendar=Calendar(ZONE, spans((8, 12), (12, 17))))
    assert find_slots(request(halves)) == find_slots(request(crew()))


def test_closed_days_and_leave_hold_nothing() -> None:
    away = crew(calendar=Calendar(ZONE, spans((8, 17)), frozenset({WEDNESDAY})))
    assert find_slots(request(away)) == ()
    shut = crew(calendar=Calendar(ZONE, ((),) * 7))
    assert find_slots(request(shut)) == ()


def test_notice_is_kept_to_the_minute() -> None:
    day_before = at("09:30", WEDNESDAY - timedelta(days=1))
    kept = find_slots(request(crew(), now=day_before, notice=timedelta(hours=24)))
    assert clocks(kept)[0] == "09:30"
    passed = find_slots(request(crew(), now=day_before + timedelta(seconds=1), notice=timedelta(hours=24)))
    assert clocks(passed)[0] == "10:00"


def test_nothing_is_offered_in_the_past() -> None:
    assert find_slots(request(crew(), now=at("00:00", WEDNESDAY + timedelta(days=1)))) == ()


def test_a_crew_may_need_its_own_time() -> None:
    pair = find_slots(request(crew(minutes=45)))
    assert clocks(pair)[-1] == "15:00"  # 17:00 less 30, 45 and 30 is 15:15
    assert pair[0].leaves_by - pair[0].arrive_to == timedelta(minutes=45)


def test_a_longer_window_leaves_less_room() -> None:
    hour = find_slots(request(crew(), arrival_window=60))
    assert clocks(hour)[-1] == "14:00"
    assert {slot.arrive_to - slot.arrive_from for slot in hour} == {timedelta(hours=1)}


def test_days_are_offered_once_however_often_they_are_asked() -> None:
    thursday = WEDNESDAY + timedelta(days=1)
    assert find_slots(request(crew(), days=(thursday, WEDNESDAY, WEDNESDAY))) == find_slots(
        request(crew(), days=(WEDNESDAY, thursday))
    )


def test_daylight_holds_from_the_first_arrival_to_the_last_leaving() -> None:
    long_day = crew(calendar=Calendar(ZONE, spans((4, 23))))
    light = daylight(SITE.place, WEDNESDAY, ZONE)
    found = find_slots(request(long_day, needs_daylight=True, every=1))
    assert light.sunrise is not None
    assert light.sunset is not None
    assert timedelta() <= min(slot.arrive_from for slot in found) - light.sunrise < timedelta(minutes=1)
    assert timedelta() <= light.sunset - max(slot.leaves_by for slot in found) < timedelta(minutes=1)
    assert found[0].why.endswith(f" The sun is up from {light.sunrise:%H:%M} to {light.sunset:%H:%M}.")


def test_no_sun_no_window() -> None:
    north = Address("far north", Place(latitude=69.65, longitude=18.96))
    winter = date(2027, 12, 21)
    asked = request(
        crew(home=north, calendar=Calendar("Europe/Oslo", spans((8, 17)))),
        at=north,
        days=(winter,),
        needs_daylight=True,
    )
    assert find_slots(asked) == ()
    assert find_slots(replace(asked, needs_daylight=False))


@pytest.mark.parametrize(
    ("day", "hours", "expected"),
    [
        # 14 March 2027: 02:00 becomes 03:00 in Chicago, so 01:00–08:00 holds six hours
        (date(2027, 3, 14), (1, 8), ["01:30", "03:00", "03:30", "04:00", "04:30", "05:00", "05:30"]),
        # 7 November 2027: 02:00 becomes 01:00, so 00:00–05:00 holds six hours and 01:00 and 01:30 come twice
        (date(2027, 11, 7), (0, 5), ["00:30", "01:00", "01:00", "01:30", "01:30", "02:00", "02:30"]),
    ],
)
def test_a_clock_change_makes_the_day_shorter_or_longer(day: date, hours: tuple[int, int], expected: list[str]) -> None:
    night = crew(calendar=Calendar(ZONE, spans(hours)))
    found = find_slots(request(night, days=(day,), now=at("00:00", day - timedelta(days=1))))
    assert clocks(found) == expected
    assert all(
        slot.leaves_by.astimezone(UTC) - slot.arrive_to.astimezone(UTC) == timedelta(minutes=90) for slot in found
    )


def test_windows_begin_at_full_steps_of_the_local_clock() -> None:
    # India is five and a half hours ahead of UTC.
    there = crew(calendar=Calendar("Asia/Kolkata", spans((8, 17))))
    found = find_slots(request(there, every=60, now=at("00:00", WEDNESDAY - timedelta(days=1))))
    assert {slot.arrive_from.minute for slot in found} == {0}
    assert clocks(found)[0] == "09:00"


addresses = st.sampled_from([HOME, SITE, OAK, PINE])


@st.composite
def diaries(draw: st.DrawFn) -> SlotRequest:
    """One or two crews over two days around a clock change, with bookings that do not overlap."""
    first = draw(st.sampled_from([date(2027, 3, 13), date(2027, 11, 6), WEDNESDAY]))
    days = tuple(first + timedelta(days=n) for n in range(2))
    crews = []
    for name in draw(st.sampled_from([["one"], ["one", "two"]])):
        hours = draw(st.sampled_from([((8, 17),), ((0, 6), (7, 24)), ((8, 12), (12, 15), (16, 18)), ((1, 4),)]))
        bookings = []
        for day in days:
            edges = sorted(draw(st.lists(st.integers(1, 287), min_size=0, max_size=3, unique=True).map(_even)))
            midnight = datetime.combine(day, time(), ZoneInfo(ZONE)).astimezone(UTC)
            marks = [midnight + timedelta(minutes=5 * edge) for edge in edges]
            bookings += [Booking(draw(addresses), *pair) for pair in zip(marks[::2], marks[1::2], strict=True)]
        leave = frozenset(draw(st.lists(st.sampled_from(days), max_size=1)))
        crews.append(crew(name=name, calendar=Calendar(ZONE, spans(*hours), leave), bookings=tuple(bookings)))
    return request(
        *crews,
        days=days,
        minutes=draw(st.integers(5, 180)),
        arrival_window=draw(st.sampled_from([0, 15, 30])),
        every=draw(st.sampled_from([15, 30, 60])),
        now=datetime.combine(first, time(draw(st.integers(0, 12))), ZoneInfo(ZONE)),
        notice=timedelta(hours=draw(st.sampled_from([0, 1, 24]))),
        needs_daylight=draw(st.booleans()),
        most=100_000,
    )


def _even(edges: list[int]) -> list[int]:
    return edges[: len(edges) // 2 * 2]


def open_minutes(calendar: Calendar, day: date) -> list[datetime]:
    """Every minute of the local date that is working time, in UTC."""
    begins, ends = (datetime.combine(day + timedelta(days=n), time(), ZoneInfo(ZONE)).astimezone(UTC) for n in (0, 1))
    minutes = (begins + timedelta(minutes=n) for n in range(int((ends - begins) / timedelta(minutes=1))))
    return [minute for minute in minutes if is_open(calendar, minute)]


def every_window(asked: SlotRequest) -> set[tuple[str, datetime, int]]:
    found = set()
    for one in asked.crews:
        for day in asked.days:
            minutes = open_minutes(one.calendar, day)
            for arrives in minutes:
                local = arrives.astimezone(ZoneInfo(ZONE))
                if (local.hour * 60 + local.minute) % asked.every == 0:
                    added = added_travel(asked, one, minutes, arrives)
                    if added is not None:
                        found.add((one.name, arrives, added))
    return found


def added_travel(asked: SlotRequest, one: Crew, minutes: list[datetime], arrives: datetime) -> int | None:
    """The contract read afresh for one arrival; None when it does not fit."""
    leaves, open_at = arrives + timedelta(minutes=asked.arrival_window + asked.minutes), set(minutes)
    if arrives < asked.now + asked.notice:
        return None
    if any(arrives + timedelta(minutes=n) not in open_at for n in range((leaves - arrives) // timedelta(minutes=1))):
        return None
    if asked.needs_daylight and not daylight(asked.at.place, arrives.astimezone(ZoneInfo(ZONE)).date(), ZONE).holds(
        arrives, leaves
    ):
        return None
    day = [
        b
        for b in one.bookings
        if b.start.astimezone(ZoneInfo(ZONE)).date() == arrives.astimezone(ZoneInfo(ZONE)).date()
    ]
    earlier = sorted((b for b in day if b.start < leaves and b.end <= arrives), key=lambda b: b.end)
    later = sorted((b for b in day if b not in earlier), key=lambda b: b.start)
    before = earlier[-1].at if earlier else one.home
    after = later[0].at if later else one.home
    there, on, straight = (
        trip(start.place, end.place, asked.travel, asked.timed).minutes
        for start, end in ((before, asked.at), (asked.at, after), (before, after))
    )
    since = earlier[-1].end if earlier else minutes[0]
    until = later[0].start if later else minutes[-1] + timedelta(minutes=1)
    fits = since + timedelta(minutes=there) <= arrives and leaves + timedelta(minutes=on) <= until
    return there + on - straight if fits else None


@given(diaries())
@settings(max_examples=60, deadline=None)
def test_exactly_the_windows_that_fit_are_found(asked: SlotRequest) -> None:
    found = find_slots(asked)
    given_out = {(slot.crew, slot.arrive_from.astimezone(UTC), slot.added_travel) for slot in found}
    assert len(given_out) == len(found)
    assert given_out == every_window(asked)
