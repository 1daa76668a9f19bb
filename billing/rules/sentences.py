"""Why a line costs what it costs: one sentence for the person who pays. Areas are in the card's unit."""

from decimal import Decimal

from billing.rules.card import AreaBand, Card, Job, NoticeRow, Package, TravelRow, VolumeRow
from office.rules.money_format import format_money, format_number, format_rate, shortest
from office.rules.units import AREA_WORDS

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


def why_package(card: Card, package: Package) -> str:
    area, levels = package.includes_area, package.includes_levels
    included = [_area(card, area)] * bool(area) + [_counted(levels, "level")] * bool(levels)
    return f"The base price, {' and '.join(included)} included" if included else "The base price"


def why_area(card: Card, package: Package, band: AreaBand, area: Decimal, start: Decimal) -> str:
    included = " included" if start == package.includes_area else ""
    beyond = f" over the {format_number(start)}{included}" if start else ""
    return f"{_area(card, area)}{beyond}, at {_rate(card, band.per_unit)}"


def why_levels(card: Card, package: Package, extra: int) -> str:
    beyond = f" over the {package.includes_levels:,} included" if package.includes_levels else ""
    return f"{_counted(extra, 'level')}{beyond}, at {_rate(card, package.per_extra_level)}"


def why_each(card: Card, quantity: int, rate: Decimal) -> str:
    return f"{quantity:,} at {_rate(card, rate)}"


def why_whole_area(card: Card, area: Decimal, rate: Decimal, quantity: int) -> str:
    return f"{_area(card, area)} at {_rate(card, rate)}{_only_once(quantity)}"


def why_at_least(card: Card, area: Decimal, rate: Decimal, least: Decimal, quantity: int) -> str:
    reckoned = f"{_area(card, area)} at {_rate(card, rate)}"
    return f"{reckoned} is under {_rate(card, least)}, the least for this{_only_once(quantity)}"


def why_part_of_house(card: Card, percent: Decimal, base: Decimal, quantity: int) -> str:
    return f"{_part(card, percent, base)} for package, area and levels{_only_once(quantity)}"


def why_short_notice(card: Card, row: NoticeRow, job: Job, base: Decimal) -> str:
    notice, limit = format_number(job.hours_notice), format_number(row.under_hours)
    return f"{notice} hours' notice is under {limit}: {_part(card, row.percent, base)} for house and add-ons"


def why_weekend(card: Card, job: Job, base: Decimal) -> str:
    day = WEEKDAYS[job.starts_at.weekday()]
    return f"{day}: {_part(card, card.weekend_percent, base)} for house and add-ons"


def why_minimum(card: Card, reached: Decimal) -> str:
    return f"The lines above come to {_money(card, reached)}, the least for a visit is {_rate(card, card.minimum)}"


def why_volume(card: Card, row: VolumeRow, job: Job, base: Decimal) -> str:
    shoots = _counted(job.shoots_last_90_days, "shoot")
    return f"{shoots} in the last 90 days, {row.from_shoots:,} or more: {_part(card, row.percent_off, base)} off"


def why_travel(card: Card, row: TravelRow, job: Job) -> str:
    limit = "any distance" if row.up_to_km is None else f"up to {format_number(row.up_to_km)} km"
    fee = f"{format_number(job.distance_km)} km, {limit}: {_rate(card, row.fee)}"
    if row.per_km_beyond is None or row.beyond_km is None or job.distance_km <= row.beyond_km:
        return fee
    beyond = f"{format_number(job.distance_km - row.beyond_km)} km over {format_number(row.beyond_km)}"
    return f"{fee} and {beyond}, at {_rate(card, row.per_km_beyond)}"


def why_rounding(card: Card) -> str:
    return f"Brings the net to a multiple of {_rate(card, card.round_net_to)}"


def _money(card: Card, amount: Decimal) -> str:
    return format_money(amount, card.currency)


def _rate(card: Card, rate: Decimal) -> str:
    return format_rate(rate, card.currency)


def _area(card: Card, area: Decimal) -> str:
    return f"{format_number(area)} {AREA_WORDS[card.area_unit]}"


def _part(card: Card, percent: Decimal, base: Decimal) -> str:
    return f"{shortest(percent)}% of {_money(card, base)}"


def _counted(count: int, word: str) -> str:
    return f"{count:,} {word}" if count == 1 else f"{count:,} {word}s"


def _only_once(quantity: int) -> str:
    return f"; charged once for the house, though {quantity:,} are ordered" if quantity > 1 else ""
