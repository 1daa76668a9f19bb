"""Whether what was opened for the plan was also captured closed for the tour, on the same spot."""

from collections.abc import Iterator

from jobs.rules.walk import Station, distance_between
from jobs.rules.walkfindings.log import Finding, Pair, WalkLog, metres


def missing_pairs(log: WalkLog) -> Iterator[Finding]:
    """A station that opened something for the plan and has no closed half, or names a pair that is not in the log.

    A `both` station that names an opening opened it, unless it is the closed half of a pair. The closed half is a
    `tour` or `both` station; it may leave the opening empty, but not name another.
    """
    if log.package != "both":
        return
    closed_halves = {pair.closed_half.number for pair in log.pairs}
    answered = {p.open_half.number for p in log.pairs if p.closed_half.for_tour and _closes_what_was_opened(p)}
    for station in log.stations:
        if station.pair_of is not None and log.partner(station) is None:
            yield log.find("pair-missing", "must", station, _no_partner(station))
        elif station.opening and station.for_plan and station.number not in answered | closed_halves:
            yield log.find("pair-missing", "must", station, _not_closed(log, station, station.opening))


def _closes_what_was_opened(pair: Pair) -> bool:
    return pair.opening_closed == (pair.open_half.opening or pair.opening_closed)


def _no_partner(station: Station) -> str:
    if station.pair_of == station.number:
        return f"Station {station.number} is logged as its own pair: name the other station of the pair."
    return (
        f"Station {station.number} is logged as the pair of station {station.pair_of}, which is not in the log:"
        " correct the number or capture the other half."
    )


def _not_closed(log: WalkLog, station: Station, opening: str) -> str:
    what = log.opening_label(opening)
    return (
        f"Station {station.number} has {what} open for the plan:"
        " capture the same spot once more for the tour, with it closed."
    )


def pairs_apart(log: WalkLog) -> Iterator[Finding]:
    """Two of a pair beyond the limit, or on two levels; at the later of the two."""
    for pair in log.pairs:
        first, second = sorted((pair.open_half, pair.closed_half), key=lambda half: half.number)
        apart = distance_between(first, second)
        if first.level != second.level:
            where = "on different levels"
        elif apart is not None and apart > log.limits.pair_apart_m:
            where = f"{metres(apart)} apart"
        else:
            continue
        text = f"Stations {first.number} and {second.number} are a pair but lie {where}: capture both on one spot."
        yield log.find("pair-apart", "should", second, text)
