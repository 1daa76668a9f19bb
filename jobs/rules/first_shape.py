"""A first shape of a property from what a client says on the phone: bedrooms, baths, levels. The house refines it.

Heights, names and what lies beside what are common practice, no source.
"""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from itertools import pairwise

from jobs.rules.property_shape import Level, Opening, OpeningKind, PropertyShape, Space, SpaceKind

STOREY_M = Decimal("2.80")
BELOW_M = Decimal("-2.60")
PREFIXES: Mapping[SpaceKind, str] = {
    "room": "R", "hall": "H", "closet": "C", "walk_in_closet": "W", "bathroom": "B", "kitchen": "K",
    "garage": "G", "stair": "S", "utility": "U", "porch": "P", "exterior": "X",
}  # fmt: skip
OPENS_BY: Mapping[SpaceKind, OpeningKind] = {"hall": "open", "stair": "open", "kitchen": "open"}
"""How a space of the kind usually opens to the one beside it; by a door where it is not listed."""


@dataclass(frozen=True)
class FirstFacts:
    """`levels` are those at and above ground; a basement comes on top of them. None is negative, levels is positive."""

    levels: int = 1
    bedrooms: int = 0
    bathrooms: int = 0
    walk_in_closets: int = 0
    basement: bool = False
    garage: bool = False


def first_shape(facts: FirstFacts) -> PropertyShape:
    """Levels from the lowest up, a hall and a stair on each, the bedrooms upstairs, each with a closet.

    Raises `ValueError` for no level or a negative count.
    """
    if facts.levels < 1 or min(facts.bedrooms, facts.bathrooms, facts.walk_in_closets) < 0:
        raise ValueError("expected at least one level, and counts of zero or more")
    return _Builder(facts).shape()


def free_code(prefix: str, taken: Collection[str]) -> str:
    """The first of K1, K2, K3 … that is not taken."""
    number = 1
    while f"{prefix}{number}" in taken:
        number += 1
    return f"{prefix}{number}"


@dataclass
class _Builder:
    facts: FirstFacts
    spaces: dict[str, Space] = field(default_factory=dict)
    openings: list[Opening] = field(default_factory=list)

    def shape(self) -> PropertyShape:
        levels = tuple(_levels(self.facts))
        ground = 1 + self.facts.basement
        halls = self._halls(levels)
        self._ground_floor(ground, halls[ground])
        self._bedrooms(self._upper(ground), halls)
        self._bathrooms([*self._upper(ground), ground], halls)
        self._stairs(levels, halls)
        return PropertyShape(levels, tuple(self.spaces.values()), tuple(self.openings), halls[ground])

    def _upper(self, ground: int) -> list[int]:
        """Where one sleeps: above the ground floor where there is an above."""
        top = ground + self.facts.levels - 1
        return [*range(ground + 1, top + 1)] or [ground]

    def _halls(self, levels: tuple[Level, ...]) -> dict[int, str]:
        names = {"below": "Basement", "at": "Hall", "above": "Landing"}
        return {
            level.number: self._add("room" if level.grade == "below" else "hall", names[level.grade], level.number)
            for level in levels
        }

    def _ground_floor(self, ground: int, hall: str) -> None:
        self._add("room", "Living room", ground, hall)
        kitchen = self._add("kitchen", "Kitchen", ground, hall)
        if self.facts.garage:
            self._add("garage", "Garage", ground, kitchen)

    def _bedrooms(self, levels: list[int], halls: Mapping[int, str]) -> None:
        """As many on each level as on the next, the rest on the lower ones."""
        for place in range(self.facts.bedrooms):
            level = levels[place * len(levels) // self.facts.bedrooms]
            bedroom = self._add("room", f"Bedroom {place + 1}", level, halls[level])
            walk_in = place < self.facts.walk_in_closets
            kind: SpaceKind = "walk_in_closet" if walk_in else "closet"
            self._add(kind, f"{'Walk-in closet' if walk_in else 'Closet'} {place + 1}", level, bedroom)

    def _bathrooms(self, levels: list[int], halls: Mapping[int, str]) -> None:
        turns = list(dict.fromkeys(levels))
        for place in range(self.facts.bathrooms):
            level = turns[place % len(turns)]
            self._add("bathroom", f"Bathroom {place + 1}", level, halls[level])

    def _stairs(self, levels: tuple[Level, ...], halls: Mapping[int, str]) -> None:
        for lower, upper in pairwise(levels):
            stair = self._add("stair", f"Stair to {upper.name.lower()}", lower.number, halls[lower.number])
            self._open(stair, halls[upper.number], "open")

    def _add(self, kind: SpaceKind, name: str, level: int, beside: str | None = None) -> str:
        code = free_code(PREFIXES[kind], self.spaces)
        self.spaces[code] = Space(code=code, name=name, kind=kind, level=level, private=False)
        if beside is not None:
            self._open(beside, code, OPENS_BY.get(kind, "door"))
        return code

    def _open(self, one: str, other: str, kind: OpeningKind) -> None:
        taken = {opening.code for opening in self.openings}
        self.openings.append(Opening(code=free_code("D", taken), between=(one, other), kind=kind))


def _levels(facts: FirstFacts) -> Iterator[Level]:
    if facts.basement:
        yield Level(number=1, name="Basement", grade="below", elevation_m=BELOW_M)
    for place in range(facts.levels):
        number = 1 + facts.basement + place
        yield Level(
            number=number, name=storey_name(place), grade="above" if place else "at", elevation_m=STOREY_M * place
        )


def storey_name(place: int) -> str:
    """ "Ground floor", then "Upper floor 1" and on: names that mean the same on both sides of the ocean."""
    return f"Upper floor {place}" if place else "Ground floor"
