"""Times that fit a shoot: every person's day asked by the rule, pairs where both could come, each with its reason."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import cached_property
from itertools import pairwise, permutations, product
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _

from jobs.models import CrewMember, DiaryRules, Shoot
from jobs.rules.drives import Drives, Spot, stand_in
from jobs.rules.geodesic import Place
from jobs.rules.slots import Slot, find_slots
from jobs.rules.slots_request import Address, Booking, Crew, SlotRequest
from jobs.rules.travel import ESTIMATE
from office.models import Office, Person
from office.rules.date_format import format_clock, format_day

from .calendars import WorkingDays, working_days
from .places import drives_of, home_spot, spot_of

NEXT_DAYS = 14
ALL = 1_000_000
NOWHERE = Place(latitude=0.0, longitude=0.0)


@dataclass(frozen=True)
class Offer:
    """A window that fits: who could come, when, for how many minutes, and what it adds to their driving."""

    crew: tuple[Person, ...]
    arrive_from: datetime
    arrive_to: datetime
    leaves_by: datetime
    minutes: int
    added_travel: int
    whys: tuple[tuple[Person, str], ...]

    @property
    def window_minutes(self) -> int:
        return int((self.arrive_to - self.arrive_from).total_seconds()) // 60


@dataclass(frozen=True)
class Search:
    """Everything that windows for one shoot are found with; read once, asked for a crew of one and of two."""

    shoot: Shoot
    office: Office
    rules: DiaryRules
    working: WorkingDays
    drives: Drives
    bookings: Mapping[int, Sequence[Shoot]]
    days: tuple[date, ...]
    now: datetime

    @cached_property
    def knows_the_sun(self) -> bool:
        """Without any coordinates nobody can say when the sun rises."""
        return self._near is not NOWHERE

    @cached_property
    def needs_daylight(self) -> bool:
        return any(extra.add_on.needs_daylight for extra in self.shoot.add_ons.select_related("add_on"))

    def alone(self, people: Iterable[Person], minutes: int) -> list[Offer]:
        """Windows for one person, the least added travel first."""
        known = {str(person.pk): person for person in people}
        return [_offer((known[slot.crew],), (slot,), minutes) for slot in self._slots(known.values(), minutes)]

    def pairs(self, people: Iterable[Person], minutes: int) -> list[Offer]:
        """Windows for two: at each time the two who are free and drive least."""
        known = {str(person.pk): person for person in people}
        by_time: dict[datetime, list[Slot]] = {}
        for slot in self._slots(known.values(), minutes):
            by_time.setdefault(slot.arrive_from, []).append(slot)
        offers = [
            _offer(tuple(known[slot.crew] for slot in slots[:2]), slots[:2], minutes)
            for slots in by_time.values()
            if len(slots) > 1
        ]
        return sorted(offers, key=lambda offer: (offer.added_travel, offer.arrive_from))

    def _slots(self, people: Iterable[Person], minutes: int) -> tuple[Slot, ...]:
        crews = tuple(crew for person in people if (crew := self._crew(person)))
        return find_slots(self._request(crews, minutes)) if crews else ()

    def _request(self, crews: tuple[Crew, ...], minutes: int) -> SlotRequest:
        return SlotRequest(
            at=self._address(spot_of(self.shoot.property)),
            minutes=minutes,
            days=self.days,
            crews=crews,
            now=self.now,
            notice=timedelta(hours=self.rules.notice_hours),
            arrival_window=self.rules.window_minutes,
            every=self.rules.step_minutes,
            needs_daylight=self.needs_daylight and self.knows_the_sun,
            most=ALL,
            travel=self.drives.settings,
            timed=self._timed,
        )

    def _crew(self, person: Person) -> Crew | None:
        calendar = self.working.calendar(person)
        bookings = [
            Booking(self._address(spot_of(held.property)), held.starts_at, held.ends_at)
            for held in self.bookings.get(person.pk, ())
        ]
        return calendar and Crew(str(person.pk), self._address(self._home), calendar, tuple(bookings))

    def _address(self, spot: Spot) -> Address:
        return Address(spot.name, stand_in(spot, self._near))

    @cached_property
    def _home(self) -> Spot:
        return home_spot(self.office)

    @cached_property
    def _near(self) -> Place:
        return self._home.place or spot_of(self.shoot.property).place or NOWHERE

    @cached_property
    def _timed(self) -> dict[tuple[Place, Place], int]:
        """The drives the rule cannot reckon by itself: timed by hand, or to a spot without coordinates."""
        return {
            (stand_in(start, self._near), stand_in(end, self._near)): drive.minutes
            for start, end in self._legs()
            if (drive := self.drives.drive(start, end)).label != ESTIMATE
        }

    def _legs(self) -> Iterator[tuple[Spot, Spot]]:
        """Every drive that can come up: to and from here and home, and from one visit to the next."""
        here = spot_of(self.shoot.property)
        yield from permutations((here, self._home), 2)
        for held_by_one in self.bookings.values():
            spots = [spot_of(held.property) for held in held_by_one]
            yield from pairwise(spots)
            for spot, end in product(spots, (here, self._home)):
                yield from ((spot, end), (end, spot))


def search_for(shoot: Shoot, first: date, days: int, now: datetime) -> Search:
    """Read what is needed to find times from `first` on."""
    office, rules = Office.the(), DiaryRules.the()
    dates = tuple(first + timedelta(days=number) for number in range(days))
    return Search(
        shoot=shoot,
        office=office,
        rules=rules,
        working=working_days(office, rules, dates[0], dates[-1]),
        drives=drives_of(rules),
        bookings=_bookings(shoot, dates, ZoneInfo(office.zone)),
        days=dates,
        now=now,
    )


def next_windows(*, shoot: Shoot, crew: Sequence[Person], now: datetime, most: int = 3) -> str:
    """ " Free next: …", the crew's earliest windows from the day that was wanted, or that there is none."""
    office = Office.the()
    first = office.day_of(max(shoot.starts_at, now))
    search = search_for(shoot, first, NEXT_DAYS, now)
    find = search.alone if len(crew) == 1 else search.pairs
    found = sorted(find(crew, shoot.planned_minutes() or 1), key=lambda offer: offer.arrive_from)[:most]
    if not found:
        return " " + _("Nothing is free within %d days of that day.") % NEXT_DAYS
    return " " + _("Free next: %s.") % "; ".join(_spoken(offer, office) for offer in found)


def _spoken(offer: Offer, office: Office) -> str:
    """ "Tue, Mar 2, 2027, 9:30 AM – 10:00 AM"."""
    day = format_day(offer.arrive_from, office.zone, office.locale)
    return f"{day}, {_clock(offer.arrive_from, office)} – {_clock(offer.arrive_to, office)}"


def _clock(at: datetime, office: Office) -> str:
    return format_clock(at, office.zone, office.locale)


def _offer(crew: tuple[Person, ...], slots: Sequence[Slot], minutes: int) -> Offer:
    first = slots[0]
    return Offer(
        crew=crew,
        arrive_from=first.arrive_from,
        arrive_to=first.arrive_to,
        leaves_by=first.leaves_by,
        minutes=minutes,
        added_travel=sum(slot.added_travel for slot in slots),
        whys=tuple((person, slot.why) for person, slot in zip(crew, slots, strict=True)),
    )


def _bookings(shoot: Shoot, dates: Sequence[date], zone: ZoneInfo) -> dict[int, list[Shoot]]:
    """Each person's standing visits about those dates, without the shoot itself."""
    start = datetime.combine(dates[0] - timedelta(days=1), datetime.min.time(), zone)
    end = datetime.combine(dates[-1] + timedelta(days=2), datetime.min.time(), zone)
    found: dict[int, list[Shoot]] = {}
    for member in CrewMember.objects.standing(start, end).exclude(shoot=shoot):
        found.setdefault(member.person_id, []).append(member.shoot)
    return found
