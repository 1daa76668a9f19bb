"""The walk check: what is missing or wrong in a logged walk, and what the public tour must not show."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from jobs.rules.property_shape import PackageCode, PropertyShape
from jobs.rules.walk import Station, in_walk_order
from jobs.rules.walkfindings.alignment import Misclosure, bad_tie_ins, broken_stair_chains, jumps, misclosures
from jobs.rules.walkfindings.coverage import shown_private, thin_closets, uncaptured_spaces
from jobs.rules.walkfindings.log import Finding, Severity, WalkLimits, WalkLog
from jobs.rules.walkfindings.numbering import (
    level_order,
    repeated_numbers,
    skipped_numbers,
    unknown_levels,
    unknown_spaces,
)
from jobs.rules.walkfindings.pairs import missing_pairs, pairs_apart
from jobs.rules.walkfindings.tour import Piece, tour_in_pieces, tour_pieces

__all__ = ["CODES", "Finding", "Misclosure", "Severity", "WalkLimits", "WalkVerdict", "check_walk"]

COMMON_LIMITS = WalkLimits()
CODES = (
    "level-order", "unknown-space", "unknown-level", "station-repeat", "station-gap", "space-not-captured",
    "closet-thin", "pair-missing", "pair-apart", "tie-in-off", "jump", "stair-chain", "shown-private", "tour-in-pieces",
)  # fmt: skip


@dataclass(frozen=True)
class WalkVerdict:
    """The answer of the walk check.

    `stations` counts the log's rows. `keep_out` has the numbers of the stations to be hidden from the public tour, in
    order: those captured for the plan only, those in private spaces, and the first of every pair that the tour shows
    closed; empty when the package has no tour. `tour_pieces` counts the pieces of the tour without them, 0 without a
    tour. `findings` has every `must` first, then in the order of `CODES`, then of level, space and station.
    """

    stations: int
    keep_out: tuple[int, ...]
    tour_pieces: int
    misclosures: tuple[Misclosure, ...]
    findings: tuple[Finding, ...]


def check_walk(
    property: PropertyShape, stations: Sequence[Station], package: PackageCode, limits: WalkLimits = COMMON_LIMITS
) -> WalkVerdict:
    """The verdict on `stations`, in any order: a walk goes by their numbers. Works on a walk that is not finished."""
    log = WalkLog(property, in_walk_order(stations), package, limits)
    pieces = tour_pieces(log)
    return WalkVerdict(
        stations=len(log.stations),
        keep_out=tuple(sorted({station.number for station in log.stations if log.is_kept_out(station)})),
        tour_pieces=len(pieces),
        misclosures=tuple(misclosures(log)),
        findings=tuple(sorted(_findings(log, pieces), key=_order)),
    )


def _findings(log: WalkLog, pieces: Sequence[Piece]) -> Iterator[Finding]:
    for find in (
        level_order, unknown_spaces, unknown_levels, repeated_numbers, skipped_numbers, uncaptured_spaces, thin_closets,
        missing_pairs, pairs_apart, bad_tie_ins, jumps, broken_stair_chains, shown_private,
    ):  # fmt: skip
        yield from find(log)
    yield from tour_in_pieces(log, pieces)


def _order(finding: Finding) -> tuple[bool, int, int, str, int]:
    return (
        finding.severity != "must",
        CODES.index(finding.code),
        finding.level or 0,
        finding.space or "",
        finding.station or 0,
    )
