"""How long a shoot will take: the trade's figures, moved by what the office's own captured visits took."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from decimal import ROUND_HALF_UP, Decimal

from django.db.models import Count, Max, Min, Q

from jobs.models import PastVisit, Property, Shoot, SpaceKind
from jobs.rules.estimate import CapturedVisit, Coverage, Estimate, Visit, coverage, trade_estimator
from office.rules.units import SQUARE_METRES_PER_SQUARE_FOOT

LEARNS_FROM = 400
"""The newest captured visits; older ones say little about how the office works now."""
LARGEST_M2 = Decimal(100_000)
# Common practice, no source: on 1,000 sq ft, where nobody has counted.
TYPICAL_CLOSETS = Decimal("2.5")
TYPICAL_BATHS = Decimal("1.2")


@dataclass(frozen=True)
class Estimates:
    """For a crew of one and of two. `assumed` names the counts that nobody has given."""

    alone: Estimate
    pair: Estimate
    assumed: tuple[str, ...]
    coverage: Coverage

    def of(self, crew: int) -> Estimate:
        return self.pair if crew == 2 else self.alone


@dataclass(frozen=True)
class Counts:
    """What a plan visits one by one; `assumed` names what was guessed from the area."""

    closets: int
    baths: int
    garage: bool
    assumed: tuple[str, ...] = ()


def estimates_of(shoot: Shoot) -> Estimates:
    """What the shoot will take, and how well past promises held."""
    past = _past()
    estimator = trade_estimator().after(_captured(past))
    counts = counts_of(shoot.property)
    visit = _visit(shoot, counts, crew=1)
    return Estimates(
        alone=estimator.estimate(visit),
        pair=estimator.estimate(replace(visit, crew=2)),
        assumed=counts.assumed,
        coverage=_coverage(past),
    )


def held_so_far() -> Coverage:
    """How many past visits stayed within the P80 that they were booked with."""
    return _coverage(_past())


def keep_past_visit(*, shoot: Shoot) -> PastVisit | None:
    """Freeze what a visit took once its house is captured and everybody is out; None before that."""
    on_site = shoot.check_ins.aggregate(
        came=Min("arrived_at"), left=Max("left_at"), inside=Count("pk", Q(left_at=None))
    )
    if shoot.captured_at is None or on_site["left"] is None or on_site["inside"]:
        return None
    counts = counts_of(shoot.property)
    visit = _visit(shoot, counts, crew=min(max(shoot.members.count(), 1), 2))
    minutes = max(1, round((on_site["left"] - on_site["came"]).total_seconds() / 60))
    past, _made = PastVisit.objects.update_or_create(
        shoot=shoot,
        defaults={
            "area_m2": visit.area_m2, "levels": visit.levels, "closets": visit.closets, "baths": visit.baths,
            "garage": visit.garage, "covers": visit.package, "crew": visit.crew, "minutes": minutes,
            "stations": shoot.stations.count() or None, "promised_p80": shoot.estimated_p80, "left_at": on_site["left"],
        },
    )  # fmt: skip
    return past


def counts_of(house: Property) -> Counts:
    """From the spaces entered, else as the client said, else as is usual for the area."""
    kinds = [space.kind for space in house.spaces.all()]
    if kinds:
        closets = sum(kind in {SpaceKind.CLOSET, SpaceKind.WALK_IN_CLOSET} for kind in kinds)
        return Counts(closets, kinds.count(SpaceKind.BATHROOM), SpaceKind.GARAGE in kinds)
    size = house.area_m2 / SQUARE_METRES_PER_SQUARE_FOOT / 1000
    said = {"closets": house.closet_count, "baths": house.bath_count, "garage": house.has_garage}
    usual = {"closets": _whole(size * TYPICAL_CLOSETS), "baths": max(1, _whole(size * TYPICAL_BATHS)), "garage": False}
    assumed = tuple(name for name, value in said.items() if value is None)
    return Counts(**usual | {name: value for name, value in said.items() if value is not None}, assumed=assumed)


def _visit(shoot: Shoot, counts: Counts, crew: int) -> Visit:
    return Visit(
        area_m2=min(shoot.property.area_m2, LARGEST_M2),
        levels=max(shoot.property.level_count, 1),
        closets=min(counts.closets, 500),
        baths=min(counts.baths, 500),
        garage=counts.garage,
        package=shoot.package.covers,
        crew=crew,
    )


def _past() -> list[PastVisit]:
    return list(PastVisit.objects.order_by("-left_at", "-pk")[:LEARNS_FROM])


def _captured(past: Iterable[PastVisit]) -> list[CapturedVisit]:
    return [
        CapturedVisit(
            visit=Visit(
                area_m2=row.area_m2, levels=row.levels, closets=row.closets, baths=row.baths, garage=row.garage,
                package=row.covers, crew=row.crew,
            ),
            minutes=min(row.minutes, 10_000),
            stations=row.stations,
        )
        for row in past
    ]  # fmt: skip


def _coverage(past: Iterable[PastVisit]) -> Coverage:
    return coverage((row.promised_p80, row.minutes) for row in past if row.promised_p80 is not None)


def _whole(value: Decimal) -> int:
    return int(value.to_integral_value(ROUND_HALF_UP))
