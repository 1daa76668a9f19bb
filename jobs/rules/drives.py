"""Drives between spots that may lack coordinates: the trip rule where both are known, the office's guess elsewhere."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal

from jobs.rules.geodesic import Place
from jobs.rules.travel import BY_HAND, ESTIMATE, TravelSettings, estimated_minutes, road_km

ASSUMED = "assumed: no coordinates"
OFFICE_KEY = 0
NUDGE = 1e-7
"""Degrees; about a centimetre."""


@dataclass(frozen=True)
class Spot:
    """Somewhere a crew can be, by a key of its own; the office's is `OFFICE_KEY`."""

    key: int
    place: Place | None
    name: str = field(default="", compare=False)


@dataclass(frozen=True)
class Drive:
    """Whole minutes, what they rest on (`ESTIMATE`, `BY_HAND` or `ASSUMED`), and road kilometres where known."""

    minutes: int
    label: str
    km: Decimal | None = None


@dataclass(frozen=True)
class Drives:
    """How long the office takes from spot to spot; `by_hand` holds both ways unless the way back is named too."""

    settings: TravelSettings
    unknown_minutes: int
    by_hand: Mapping[tuple[int, int], int] = field(default_factory=dict)

    def minutes(self, start: Spot, end: Spot) -> int:
        return self.drive(start, end).minutes

    def drive(self, start: Spot, end: Spot) -> Drive:
        """The drive; none at all between a spot and itself."""
        if start.key == end.key:
            return Drive(0, ESTIMATE, Decimal(0))
        km = road_km(start.place, end.place, self.settings) if start.place and end.place else None
        by_hand = self.by_hand.get((start.key, end.key), self.by_hand.get((end.key, start.key)))
        if by_hand is not None:
            return Drive(by_hand, BY_HAND, km)
        if start.place is None or end.place is None:
            return Drive(self.unknown_minutes, ASSUMED)
        return Drive(estimated_minutes(start.place, end.place, self.settings), ESTIMATE, km)


def stand_in(spot: Spot, near: Place) -> Place:
    """The spot's place, or one of its own beside `near`, so that rules that know places alone can tell it apart.

    Such a place is good as a key and for the daylight, never for a distance.
    """
    if spot.place:
        return spot.place
    return Place(min(near.latitude + NUDGE * (1 + spot.key % 1_000_000), 90.0), near.longitude)
