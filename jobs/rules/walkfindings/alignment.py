"""Whether the capture lines up: tie-ins, jumps, and the chain of stations on the stairs."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

from jobs.rules.property_shape import Space
from jobs.rules.walk import Station, distance_between
from jobs.rules.walkfindings.log import Finding, Severity, WalkLog, metres


@dataclass(frozen=True)
class Misclosure:
    """How far a tie-in fell from the station it should have met."""

    station: int
    ties_to: int
    distance_m: Decimal


def misclosures(log: WalkLog) -> Iterator[Misclosure]:
    """One for each tie-in to an earlier station, where both have coordinates."""
    for station in log.stations:
        met = log.tied(station)
        fell = None if met is None else distance_between(met, station)
        if met is not None and fell is not None:
            yield Misclosure(station.number, met.number, fell)


def bad_tie_ins(log: WalkLog) -> Iterator[Finding]:
    """Misclosures over the limits, and tie-ins to no earlier station of the log."""
    for station in log.stations:
        met = log.tied(station)
        fell = None if met is None else distance_between(met, station)
        if station.ties_to is not None and met is None:
            yield log.find("tie-in-off", "should", station, _no_earlier(log, station))
        elif fell is not None and fell > log.limits.tie_in_should_m:
            yield log.find("tie-in-off", _severity(log, fell), station, _fell_off(station, fell))


def _severity(log: WalkLog, fell: Decimal) -> Severity:
    return "must" if fell > log.limits.tie_in_must_m else "should"


def _fell_off(station: Station, fell: Decimal) -> str:
    return (
        f"Station {station.number} fell {metres(fell)} from station {station.ties_to}, which it should meet:"
        " line up the stations between them again."
    )


def _no_earlier(log: WalkLog, station: Station) -> str:
    if station.ties_to == station.number:
        why = "itself"
    elif station.ties_to in log.by_number:
        why = f"station {station.ties_to}, which comes later"
    else:
        why = f"station {station.ties_to}, which is not in the log"
    return f"Station {station.number} ties in to {why}: name the earlier station that it meets."


def jumps(log: WalkLog) -> Iterator[Finding]:
    for before, station in pairwise(log.stations):
        apart = distance_between(before, station)
        if station.ties_to is None and apart is not None and apart > log.limits.jump_m:
            text = (
                f"Station {station.number} lies {metres(apart)} from station {before.number}:"
                " set one between them, or tie it in to a station near it."
            )
            yield log.find("jump", "should", station, text)


def broken_stair_chains(log: WalkLog) -> Iterator[Finding]:
    """Two neighbouring levels, both captured, that no chain joins; at the first station of the later one.

    A level is captured when a station stands on it off the stairs. Its first station must come next after a station in
    a stair between the two levels, or tie in to an earlier one.
    """
    begun = _first_on_each_level(log)
    for lower, upper in pairwise(level.number for level in log.shape.storeys):
        if lower != upper and lower in begun and upper in begun:
            later = max(lower, upper, key=lambda level: begun[level])
            yield from _broken_chain(log, lower, upper, later, begun[later])


def _first_on_each_level(log: WalkLog) -> dict[int, int]:
    """The place in the walk of the first station off the stairs, by level."""
    begun: dict[int, int] = {}
    for place, station in enumerate(log.stations):
        if not log.in_stair(station):
            begun.setdefault(log.levels_of(station)[0], place)
    return begun


def _broken_chain(log: WalkLog, lower: int, upper: int, later: int, place: int) -> Iterator[Finding]:
    first = log.stations[place]
    stairs = log.shape.stairs_between(lower, upper)
    codes = {stair.code for stair in stairs}
    if not any(station.space in codes for station in log.stations):
        yield _chain_finding(log, later, first, stairs, _no_chain(log, lower, upper, stairs))
    elif not _follows_a_stair(log, place, codes):
        yield _chain_finding(log, later, first, stairs, _begun_out_of_sight(log, later, first))


def _follows_a_stair(log: WalkLog, place: int, codes: set[str]) -> bool:
    tied = log.tied(log.stations[place])
    before = log.stations[place - 1] if place else None
    return any(station is not None and station.space in codes for station in (tied, before))


def _chain_finding(log: WalkLog, level: int, first: Station, stairs: Sequence[Space], text: str) -> Finding:
    stair = stairs[0].code if len(stairs) == 1 else None
    return Finding("stair-chain", "must", level, stair, first.number, text)


def _no_chain(log: WalkLog, lower: int, upper: int, stairs: Sequence[Space]) -> str:
    between = f"between {log.level_label(lower)} and {log.level_label(upper)}"
    if not stairs:
        return f"No stair is listed {between}: add it to the property and capture stations on its steps."
    where = " or ".join(stair.label for stair in stairs)
    return f"No station stands in {where}, {between}: capture stations on the steps."


def _begun_out_of_sight(log: WalkLog, level: int, first: Station) -> str:
    return (
        f"Station {first.number} begins {log.level_label(level)} away from the stairs:"
        " capture on from the last step, or tie it in to a station on the stairs."
    )
