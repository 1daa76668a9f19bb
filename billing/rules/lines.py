"""The lines of a quote, in their order; each function yields the lines that may apply, some of them of zero.

Areas are reckoned in square metres, where both units are exact. The division by the card's unit comes last, so that
a half is still a half when it is rounded.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from billing.rules import sentences as say
from billing.rules.card import AddOnOrder, Card, Job, Package, TravelRow, on_weekend, too_far, unlisted
from office.rules.money import half_up, rounded
from office.rules.money_format import format_number
from office.rules.units import AREA_WORDS, STORED_AREA, AreaUnit, converted_area

ZERO, ONE, HUNDRED = Decimal(0), Decimal(1), Decimal(100)


@dataclass(frozen=True)
class Line:
    """One line of a quote. `amount` is rounded, `unit_price` is as the card has it, `why` is one sentence."""

    code: str
    text: str
    quantity: Decimal
    unit_price: Decimal
    amount: Decimal
    why: str


def package_of(card: Card, job: Job) -> Package:
    """The package ordered; raises `NotOnCard`."""
    if job.package not in card.packages:
        raise unlisted("package", card.packages, job.package)
    return card.packages[job.package]


def package_line(card: Card, job: Job) -> Line:
    package = package_of(card, job)
    reason = say.why_package(card, package)
    return _each(card, "package", f"Package: {job.package}", 1, package.base, reason)


def area_lines(card: Card, job: Job) -> Iterator[Line]:
    """One line for each band that the area reaches into, beyond what the package includes."""
    package, size = package_of(card, job), _square_metres(job.area, job.area_unit)
    start = _square_metres(package.includes_area, card.area_unit)
    for band in package.area_bands:
        end = size if band.up_to is None else min(size, _square_metres(band.up_to, card.area_unit))
        if end > start:
            area, beyond = _area_shown(card, job, end - start), _in_card_unit(card, start)
            text = f"Area over {format_number(beyond)} {AREA_WORDS[card.area_unit]}" if beyond else "Area"
            reason = say.why_area(card, package, band, area, beyond)
            yield _line(card, "area", text, area, band.per_unit, _area_price(card, end - start, band.per_unit), reason)
            start = end


def level_lines(card: Card, job: Job) -> Iterator[Line]:
    """The levels beyond those that the package includes."""
    package = package_of(card, job)
    extra = job.levels - package.includes_levels
    if extra > 0:
        reason = say.why_levels(card, package, extra)
        yield _each(card, "levels", "Further levels", extra, package.per_extra_level, reason)


def add_on_lines(card: Card, job: Job, house: Decimal) -> Iterator[Line]:
    """The add-ons in the order of the job; `house` is what package, area and levels come to. Raises `NotOnCard`."""
    for number, order in enumerate(job.add_ons):
        if order.code not in card.add_ons:
            raise unlisted(f"add_ons[{number}].code", card.add_ons, order.code)
        yield _add_on_line(card, job, order, house)


def _add_on_line(card: Card, job: Job, order: AddOnOrder, house: Decimal) -> Line:
    """A quantity multiplies a fixed price; what goes by area or percent is for the whole house, and charged once."""
    add_on, code = card.add_ons[order.code], order.code
    if add_on.fixed is not None:
        reason = say.why_each(card, order.quantity, add_on.fixed)
        return _each(card, code, _title(code), order.quantity, add_on.fixed, reason)
    if add_on.percent is not None:
        reason = say.why_part_of_house(card, add_on.percent, house, order.quantity)
        return _once(card, code, _title(code), part(house, add_on.percent), reason)
    return _whole_area_line(card, job, order, add_on.per_unit_area or ZERO, add_on.at_least or ZERO)


def _whole_area_line(card: Card, job: Job, order: AddOnOrder, rate: Decimal, least: Decimal) -> Line:
    size = _square_metres(job.area, job.area_unit)
    area, amount, text = _area_shown(card, job, size), _area_price(card, size, rate), _title(order.code)
    if amount < least:
        reason = say.why_at_least(card, area, rate, least, order.quantity)
        return _once(card, order.code, text, least, reason)
    return _line(card, order.code, text, area, rate, amount, say.why_whole_area(card, area, rate, order.quantity))


def surcharge_lines(card: Card, job: Job, ordered: Decimal) -> Iterator[Line]:
    """Short notice and weekend, each a part of what house and add-ons come to."""
    for row in card.short_notice:
        if job.hours_notice < row.under_hours:
            reason = say.why_short_notice(card, row, job, ordered)
            yield _once(card, "short_notice", "Short notice", part(ordered, row.percent), reason)
            break
    if on_weekend(job.starts_at):
        reason = say.why_weekend(card, job, ordered)
        yield _once(card, "weekend", "Weekend", part(ordered, card.weekend_percent), reason)


def minimum_lines(card: Card, reached: Decimal) -> Iterator[Line]:
    """What is missing to the least a visit costs."""
    if reached < card.minimum:
        yield _once(card, "minimum", "Minimum", card.minimum - reached, say.why_minimum(card, reached))


def volume_lines(card: Card, job: Job, visit: Decimal) -> Iterator[Line]:
    """The best discount that the client has reached, off everything but travel."""
    rows = [row for row in card.client_volume if job.shoots_last_90_days >= row.from_shoots]
    if rows:
        best = max(rows, key=lambda row: row.percent_off)
        reason = say.why_volume(card, best, job, visit)
        yield _once(card, "volume", "Volume discount", -part(visit, best.percent_off), reason)


def travel_lines(card: Card, job: Job) -> Iterator[Line]:
    """The first row that reaches the distance; a card without rows charges no travel. Raises `NotOnCard`."""
    if card.travel:
        row = _travel_row(card, job)
        fee = row.fee
        if row.per_km_beyond is not None and row.beyond_km is not None:
            fee += max(job.distance_km - row.beyond_km, ZERO) * row.per_km_beyond
        yield _once(card, "travel", "Travel", fee, say.why_travel(card, row, job))


def _travel_row(card: Card, job: Job) -> TravelRow:
    for row in card.travel:
        if row.up_to_km is None or job.distance_km <= row.up_to_km:
            return row
    raise too_far(card, job.distance_km)


def rounding_lines(card: Card, net: Decimal) -> Iterator[Line]:
    """What brings the net to a multiple of the card's step, up or down."""
    yield _once(card, "rounding", "Rounding", half_up(net, card.round_net_to) - net, say.why_rounding(card))


def part(amount: Decimal, percent: Decimal) -> Decimal:
    """So many percent of an amount, not rounded."""
    return amount * percent / HUNDRED


def _each(card: Card, code: str, text: str, quantity: int, price: Decimal, reason: str) -> Line:
    return _line(card, code, text, Decimal(quantity), price, quantity * price, reason)


def _once(card: Card, code: str, text: str, amount: Decimal, reason: str) -> Line:
    return _line(card, code, text, ONE, rounded(amount, card.currency), amount, reason)


def _line(
    card: Card, code: str, text: str, quantity: Decimal, unit_price: Decimal, amount: Decimal, reason: str
) -> Line:
    return Line(code, text, quantity, unit_price, rounded(amount, card.currency), reason)


def _title(code: str) -> str:
    return code.replace("_", " ").capitalize()


def _area_price(card: Card, square_metres: Decimal, per_unit: Decimal) -> Decimal:
    return _in_card_unit(card, square_metres * per_unit)


def _area_shown(card: Card, job: Job, square_metres: Decimal) -> Decimal:
    """An area as a line shows it: the job's own figure, or one converted to the places that areas are stored with."""
    area = _in_card_unit(card, square_metres)
    return area if job.area_unit == card.area_unit else half_up(area, STORED_AREA)


def _square_metres(area: Decimal, unit: AreaUnit) -> Decimal:
    return converted_area(area, unit, AreaUnit.M2)


def _in_card_unit(card: Card, square_metres: Decimal) -> Decimal:
    return converted_area(square_metres, AreaUnit.M2, card.area_unit)
