"""Minutes on site and stations of a shoot, from the property, the package and the crew, learned from past shoots.

Two linear models, one for minutes and one for stations, start from the trade's figures and move to the office's own
with every captured shoot. What a big house takes varies more than what a small one takes: the noise grows with the
square root of the area, so each row is divided by that before it is learned.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal
from functools import lru_cache
from typing import TYPE_CHECKING, Annotated

from pydantic import Field
from pydantic.dataclasses import dataclass as read_dataclass

from jobs.rules.bayes import Belief, Prediction, belief_of, learned, predicted
from jobs.rules.property_shape import PackageCode
from office.rules.reading import STRICT
from office.rules.units import SQUARE_METRES_PER_SQUARE_FOOT

if TYPE_CHECKING:
    from jobs.rules.bayes import Floats

LEAST_MINUTES = 10
"""No visit is shorter than its set-up. Common practice, no source."""
LEAST_STATIONS = 1
SMALLEST_SIZE = 0.5
"""In 1,000 sq ft: below this the noise grows no smaller."""

Count = Annotated[int, Field(ge=0, le=500)]


@read_dataclass(frozen=True, config=STRICT)
class Visit:
    """What an estimate rests on. `closets` counts walk-in closets too; `crew` is the number of scanners."""

    area_m2: Annotated[Decimal, Field(gt=0, le=100_000)]
    levels: Annotated[int, Field(ge=1, le=200)]
    closets: Count
    baths: Count
    garage: bool
    package: PackageCode
    crew: Annotated[int, Field(ge=1, le=2)]

    @property
    def size(self) -> float:
        """Area in 1,000 sq ft."""
        return float(self.area_m2 / SQUARE_METRES_PER_SQUARE_FOOT / 1000)

    @property
    def has_plan(self) -> bool:
        return self.package != "tour"

    @property
    def pairs(self) -> int:
        """Openings that are captured open for the plan and closed for the tour."""
        return self.closets + self.baths + self.garage if self.package == "both" else 0


@read_dataclass(frozen=True, config=STRICT)
class CapturedVisit:
    """A visit as it turned out; `stations` is None where nobody counted them."""

    visit: Visit
    minutes: Annotated[int, Field(ge=1, le=10_000)]
    stations: Annotated[int, Field(ge=1, le=100_000)] | None = None


@dataclass(frozen=True)
class Driver:
    """One thing that makes up the number, and how much of the median it makes up."""

    name: str
    share: Decimal


@dataclass(frozen=True)
class Range:
    """Half of such visits stay within `p50`, four in five within `p80`; the drivers add up to the median unrounded."""

    p50: int
    p80: int
    drivers: tuple[Driver, ...]


@dataclass(frozen=True)
class Estimate:
    """Minutes on site and stations, and how many captured visits they were learned from."""

    minutes: Range
    stations: Range
    learned_from: int


@dataclass(frozen=True)
class Coverage:
    """How many of past visits stayed within the P80 they were given; about 80 % is right."""

    visits: int
    within: int

    @property
    def percent(self) -> Decimal | None:
        return (
            (Decimal(100) * self.within / self.visits).quantize(Decimal("0.1"), ROUND_HALF_UP) if self.visits else None
        )


@dataclass(frozen=True)
class Factor:
    """One column of a model: what it counts, and what one of it is first believed to take, give or take."""

    name: str
    mean: float
    deviation: float
    amount: Callable[[Visit], float]


# Common practice, no source: 20–35 minutes per 1,000 sq ft alone, 12–20 for a pair, 10–15 to set up. Each range is read
# as nine in ten, alone as a pair's and more. The figures for levels, nooks and pairs are our own to start from.
MINUTES = (
    Factor("set-up", 12.5, 1.5, lambda visit: 1),
    Factor("area", 16.0, 2.4, lambda visit: visit.size),
    Factor("working alone", 11.5, 3.8, lambda visit: visit.size if visit.crew == 1 else 0),
    Factor("further levels", 3.0, 1.5, lambda visit: visit.levels - 1),
    Factor("closets", 0.8, 0.4, lambda visit: visit.closets if visit.has_plan else 0),
    Factor("baths", 0.8, 0.4, lambda visit: visit.baths if visit.has_plan else 0),
    Factor("garage", 4.0, 2.0, lambda visit: visit.garage if visit.has_plan else 0),
    Factor("pairs", 0.6, 0.3, lambda visit: visit.pairs),
)
# Common practice, no source: stations 1.5–2.5 m apart, 15 to 41 on 1,000 sq ft (92.9 m²); top, middle, foot of stairs.
STATIONS = (
    Factor("entrance", 1.0, 0.5, lambda visit: 1),
    Factor("area", 24.0, 7.0, lambda visit: visit.size),
    Factor("further levels", 3.0, 1.0, lambda visit: visit.levels - 1),
    Factor("closets", 1.0, 0.3, lambda visit: visit.closets if visit.has_plan else 0),
    Factor("baths", 1.0, 0.3, lambda visit: visit.baths if visit.has_plan else 0),
    Factor("garage", 2.0, 1.0, lambda visit: visit.garage if visit.has_plan else 0),
    Factor("pairs", 1.0, 0.2, lambda visit: visit.pairs),
)
NOISE = 7.0
"""Minutes, and stations, on 1,000 sq ft."""
FIRMNESS = 4.0


@dataclass(frozen=True, eq=False)
class Estimator:
    """What is believed of minutes and of stations after `learned_from` captured visits."""

    minutes: Belief
    stations: Belief
    learned_from: int = 0

    def after(self, captured: Iterable[CapturedVisit]) -> "Estimator":
        """The estimator that has seen these too; in any order, all at once or one by one."""
        seen = list(captured)
        counted = [past for past in seen if past.stations is not None]
        return Estimator(
            _learned(self.minutes, MINUTES, seen, [past.minutes for past in seen]),
            _learned(self.stations, STATIONS, counted, [past.stations or 0 for past in counted]),
            self.learned_from + len(seen),
        )

    def estimate(self, visit: Visit) -> Estimate:
        return Estimate(
            _range(self.minutes, MINUTES, visit, LEAST_MINUTES),
            _range(self.stations, STATIONS, visit, LEAST_STATIONS),
            self.learned_from,
        )


@lru_cache(maxsize=1)
def trade_estimator() -> Estimator:
    """What the trade's figures say, before any shoot of the office's own."""
    return Estimator(_first_belief(MINUTES), _first_belief(STATIONS))


def coverage(past: Iterable[tuple[int, int]]) -> Coverage:
    """From pairs of the P80 that was given and what the visit took."""
    kept = [actual <= promised for promised, actual in past]
    return Coverage(len(kept), sum(kept))


def replayed(captured: Sequence[CapturedVisit]) -> Coverage:
    """The coverage had each visit been estimated from those before it alone; `captured` in the order of time."""
    estimator, past = trade_estimator(), []
    for one in captured:
        past.append((estimator.estimate(one.visit).minutes.p80, one.minutes))
        estimator = estimator.after([one])
    return coverage(past)


def _first_belief(factors: tuple[Factor, ...]) -> Belief:
    import numpy as np

    means, deviations = (np.array(column) for column in zip(*((f.mean, f.deviation) for f in factors), strict=True))
    return belief_of(means, deviations, NOISE, FIRMNESS)


def _row(factors: tuple[Factor, ...], visit: Visit) -> list[float]:
    return [factor.amount(visit) for factor in factors]


def _root_of_size(visit: Visit) -> float:
    return float(max(visit.size, SMALLEST_SIZE) ** 0.5)


def _learned(belief: Belief, factors: tuple[Factor, ...], captured: list[CapturedVisit], outcomes: list[int]) -> Belief:
    if not captured:
        return belief
    import numpy as np

    roots = np.array([_root_of_size(past.visit) for past in captured])
    rows = np.array([_row(factors, past.visit) for past in captured])
    return learned(belief, rows / roots[:, None], np.array(outcomes) / roots)


def _prediction(belief: Belief, row: "Floats", root: float) -> Prediction:
    by_root = predicted(belief, row / root)
    return Prediction(by_root.centre * root, by_root.scale * root, by_root.freedom)


def _range(belief: Belief, factors: tuple[Factor, ...], visit: Visit, least: int) -> Range:
    import numpy as np

    row = np.array(_row(factors, visit))
    found = _prediction(belief, row, _root_of_size(visit))
    p50, p80 = (max(found.quantile(share), float(least)) for share in (0.5, 0.8))
    drivers = [Driver(f.name, _tenth(part)) for f, part in zip(factors, row * belief.mean, strict=True) if part]
    if found.centre < least:
        drivers.append(Driver("least of any visit", _tenth(least - found.centre)))
    return Range(_whole(p50, ROUND_HALF_UP), _whole(p80, ROUND_CEILING), tuple(sorted(drivers, key=_largest_first)))


def _largest_first(driver: Driver) -> Decimal:
    return -abs(driver.share)


def _tenth(value: float) -> Decimal:
    return Decimal(value).quantize(Decimal("0.1"), ROUND_HALF_UP)


def _whole(value: float, rounding: str) -> int:
    return int(Decimal(value).to_integral_value(rounding))
