"""How long it takes to find a time among 60 days and 10 crews, beside a naive search and a bare loop over the days.

The naive search tries every window of every crew and date, and reckons each drive anew with the geographiclib library.
Run: python -m tests.bench.bench_slots
"""

import random
import time
from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from geographiclib.geodesic import Geodesic

from jobs.rules.geodesic import Place, distance_m
from jobs.rules.slots import find_slots
from jobs.rules.slots_request import Address, Booking, Crew, SlotRequest
from jobs.rules.travel import estimated_minutes, minutes_for
from office.rules.calendar import Calendar, Span

ZONE = "America/Chicago"
DAYS = tuple(date(2027, 3, 1) + timedelta(days=n) for n in range(60))
HOURS = (*((Span(480, 1020),),) * 5, (Span(540, 780),), ())


def made_request(draw: random.Random, *, needs_daylight: bool = False) -> SlotRequest:
    """Ten crews with two or three bookings on each weekday, every booking at a place of its own."""
    crews = []
    for number in range(10):
        bookings: list[Booking] = []
        for day in DAYS:
            starts = draw.sample([540, 660, 780, 900], draw.choice([2, 3])) if day.weekday() < 5 else []
            bookings += [_booking(draw, day, minute) for minute in starts]
        calendar = Calendar(ZONE, HOURS, frozenset({DAYS[number]}))
        crews.append(Crew(f"crew {number}", _address(draw), calendar, tuple(bookings)))
    now = datetime(2027, 2, 26, 15, tzinfo=UTC)
    return SlotRequest(_address(draw), 75, DAYS, tuple(crews), now, every=15, needs_daylight=needs_daylight)


def _address(draw: random.Random) -> Address:
    place = Place(latitude=41.6 + draw.random() * 0.6, longitude=-88 + draw.random() * 0.5)
    return Address(f"{place.latitude:.4f}", place)


def _booking(draw: random.Random, day: date, minute: int) -> Booking:
    start = datetime(day.year, day.month, day.day, minute // 60, minute % 60, tzinfo=ZoneInfo(ZONE))
    return Booking(_address(draw), start, start + timedelta(minutes=draw.choice([60, 75, 90])))


def naive(request: SlotRequest) -> list[tuple[int, datetime, str]]:
    """The same windows, without a thought for time."""
    found = []
    hold = timedelta(minutes=request.arrival_window + request.minutes)
    for crew in request.crews:
        for day in request.days:
            for span in crew.calendar.hours[day.weekday()] if day not in crew.calendar.holidays else ():
                midnight = datetime(day.year, day.month, day.day, tzinfo=ZoneInfo(ZONE))
                opens, closes = (midnight + timedelta(minutes=minute) for minute in span)
                stops = sorted(
                    ((b.start, b.end, b.at) for b in crew.bookings if b.start.date() == day), key=lambda stop: stop[0]
                )
                for minute in range(span.opens, span.closes, request.every):
                    arrives = midnight + timedelta(minutes=minute)
                    before = ([(opens, opens, crew.home)] + [s for s in stops if s[1] <= arrives])[-1]
                    after = ([s for s in stops if s[1] > arrives] + [(closes, closes, crew.home)])[0]
                    there, on = _bare(request, before[2], request.at), _bare(request, request.at, after[2])
                    late = arrives + hold + timedelta(minutes=on) > after[0]
                    if before[1] + timedelta(minutes=there) <= arrives and not late and arrives + hold <= closes:
                        found.append((there + on - _bare(request, before[2], after[2]), arrives, crew.name))
    return sorted(found)[: request.most]


def _bare(request: SlotRequest, one: Address, other: Address) -> int:
    line = Geodesic.WGS84.Inverse(
        one.place.latitude, one.place.longitude, other.place.latitude, other.place.longitude, Geodesic.DISTANCE
    )
    km = request.travel.road_factor * round(line["s12"]) / 1000
    return minutes_for(km, request.travel.bands) + request.travel.fixed_minutes if km else 0


def timed(work: Any) -> tuple[float, Any]:
    began = time.perf_counter()
    found = work()
    return (time.perf_counter() - began) * 1000, found


def bare_loop(request: SlotRequest) -> int:
    """What merely touching every crew, date and booking costs."""
    return sum(1 for crew in request.crews for day in request.days for b in crew.bookings if b.start.date() == day)


def main() -> None:
    find_slots(made_request(random.Random(0)))  # imports and the zone's clock changes done
    request = made_request(random.Random(1))
    distance_m.cache_clear()
    estimated_minutes.cache_clear()
    cold, found = timed(lambda: find_slots(request))
    warm = min(timed(lambda: find_slots(request))[0] for _ in range(5))
    slow, same = timed(lambda: naive(request))
    loop, _ = timed(lambda: bare_loop(request))
    assert [slot.added_travel for slot in found] == [added for added, _, _ in same]
    bookings = sum(len(crew.bookings) for crew in request.crews)
    print(
        f"60 days, 10 crews, {bookings} bookings: {cold:.0f} ms, no drive known before; {warm:.0f} ms when asked again"
    )
    print(f"naive search {slow:.0f} ms: ratio {cold / slow:.4f} and {warm / slow:.4f}")
    print(f"bare loop over crews, days and bookings {loop:.0f} ms: ratio {cold / loop:.2f} and {warm / loop:.2f}")
    lit = made_request(random.Random(2), needs_daylight=True)
    print(f"with daylight, nothing known before: {timed(lambda: find_slots(lit))[0]:.0f} ms")


if __name__ == "__main__":
    main()
