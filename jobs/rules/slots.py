"""Arrival windows that fit a visit into the crews' days, least added travel first, each with its reason.

A crew leaves home when its first hours of a date begin and is back home when its last hours end; the visit itself
lies within one span of hours, whichever minute of the arrival window it begins at. Travel is reckoned before and
after it. What a window adds is the drive there and the drive on, less the drive that they replace. A visit lies
within one local date.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import datetime
from heapq import nsmallest
from typing import NamedTuple

from jobs.rules.daylight import daylight
from jobs.rules.geodesic import Place
from jobs.rules.slots_days import CrewDay, Gap, crew_days, instant_of, minute_after, minute_before
from jobs.rules.slots_request import Crew, SlotRequest
from jobs.rules.travel import estimated_minutes, timed_minutes

ALWAYS = ((-(1 << 60), 1 << 60),)

Light = tuple[tuple[int, int], ...]
Drive = Callable[[Place, Place], int]


@dataclass(frozen=True)
class Slot:
    """An arrival window, in the crew's zone; `leaves_by` holds for an arrival at its very end. Travel in minutes."""

    crew: str
    arrive_from: datetime
    arrive_to: datetime
    leaves_by: datetime
    travel_there: int
    travel_on: int
    added_travel: int
    why: str


class Window(NamedTuple):
    """A slot before it is put into words; `arrives` is in minutes since 1970-01-01T00:00Z."""

    added: int
    arrives: int
    crew: int
    there: int
    on: int
    day: CrewDay
    gap: Gap


def find_slots(request: SlotRequest) -> tuple[Slot, ...]:
    """The `most` best windows: by added travel, then the earliest, then the order of the crews."""
    drive, days = _drive(request), sorted(set(request.days))
    windows = (
        window
        for number, crew in enumerate(request.crews)
        for day in crew_days(crew, days)
        for window in _windows(request, number, day, drive)
    )
    best = nsmallest(request.most, windows, key=lambda window: window[:3])
    return tuple(_slot(request, window) for window in best)


def _drive(request: SlotRequest) -> Drive:
    """Minutes from one place to another as the request reckons them, each pair once."""
    known: dict[tuple[Place, Place], int] = {}

    def minutes(start: Place, end: Place) -> int:
        if (start, end) not in known:
            by_hand = timed_minutes(start, end, request.timed)
            known[start, end] = estimated_minutes(start, end, request.travel) if by_hand is None else by_hand
        return known[start, end]

    return minutes


def _windows(request: SlotRequest, number: int, day: CrewDay, drive: Drive) -> Iterator[Window]:
    """Every window of one crew on one date."""
    crew, earliest = request.crews[number], minute_after(request.now + request.notice)
    hold, light = _hold(request, crew), _light(request, crew, day)
    for gap in day.gaps:
        if gap.until - max(gap.since, earliest) < hold:
            continue
        there, on = drive(gap.before.place, request.at.place), drive(request.at.place, gap.after.place)
        first, last = max(gap.since + there, earliest), gap.until - on - hold
        if first > last:
            continue
        added = there + on - drive(gap.before.place, gap.after.place)
        for arrives in _arrivals(day, light, first, last, hold, request.every):
            yield Window(added, arrives, number, there, on, day, gap)


def _hold(request: SlotRequest, crew: Crew) -> int:
    """Minutes from the first possible arrival to the last possible leaving."""
    return request.arrival_window + (crew.minutes or request.minutes)


def _light(request: SlotRequest, crew: Crew, day: CrewDay) -> Light:
    if not request.needs_daylight:
        return ALWAYS
    spans = daylight(request.at.place, day.date, crew.calendar.zone).spans
    return tuple((minute_after(rises), minute_before(sets)) for rises, sets in spans)


def _arrivals(day: CrewDay, light: Light, first: int, last: int, hold: int, every: int) -> Iterator[int]:
    """Full steps of the local clock, `first` to `last`, from which the hold lies in one span of hours and of light."""
    for opens, closes, offset in day.hours:
        for lit_from, lit_to in light:
            begins = max(first, opens, lit_from)
            ends = min(last, closes - hold, lit_to - hold)
            yield from range(-(-(begins + offset) // every) * every - offset, ends + 1, every)


def _slot(request: SlotRequest, window: Window) -> Slot:
    crew = request.crews[window.crew]
    arrive_from, arrive_to, leaves_by = (
        instant_of(window.arrives + minutes, crew.calendar.zone)
        for minutes in (0, request.arrival_window, _hold(request, crew))
    )
    why = _why(window) + (_light_said(request, crew, arrive_from) if request.needs_daylight else "")
    return Slot(crew.name, arrive_from, arrive_to, leaves_by, window.there, window.on, window.added, why)


def _why(window: Window) -> str:
    before, after = window.gap.before.name, window.gap.after.name
    first, last = window.gap is window.day.gaps[0], window.gap is window.day.gaps[-1]
    if first and last:
        return f"Nothing else that day: {window.there} minutes from {before}, {window.on} back."
    where = f"first of the day, before {after}" if first else f"last of the day, after {before}" if last else ""
    where = where or f"between {before} and {after}"
    return f"{_capital(where)}: {window.there} minutes there, {window.on} on, {_added_said(window.added)}."


def _added_said(added: int) -> str:
    return f"{added} more than without this visit" if added > 0 else "no more than without this visit"


def _capital(text: str) -> str:
    return text[0].upper() + text[1:]


def _light_said(request: SlotRequest, crew: Crew, arrive_from: datetime) -> str:
    for rises, sets in daylight(request.at.place, arrive_from.date(), crew.calendar.zone).spans:
        if rises <= arrive_from < sets:
            return f" The sun is up from {rises:%H:%M} to {sets:%H:%M}."
    return ""
