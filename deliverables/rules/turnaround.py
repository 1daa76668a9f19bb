"""How long drafters take and how well they keep their promises.

A turnaround runs from sent to received, in working hours when a calendar is given, else as the clock runs.
An order still out has taken at least until now; it enters the estimate so, and is not left out.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from fractions import Fraction

import numpy as np

from deliverables.rules.survival import Curve, kaplan_meier, quantile
from office.rules.calendar import Calendar, instant_from_text
from office.rules.money import half_up
from office.rules.reading import BadInput, read_csv
from office.rules.worktime import hours_of
from office.rules.worktime_many import instants, working_time_many

COLUMNS = ("drafter", "sent_at", "promised_at", "received_at")
SHOWN_HOURS = Decimal("0.0001")
SHOWN_PERCENT = Decimal("0.01")


@dataclass(frozen=True)
class Order:
    """One plan order; `received_at` is None while it is out. Aware datetimes."""

    drafter: str
    sent_at: datetime
    promised_at: datetime
    received_at: datetime | None


@dataclass(frozen=True)
class Record:
    """What one drafter's orders tell; None where it is not yet known.

    `on_time_percent` to two places, of the orders that were received or whose promise has passed; hours to four.
    """

    orders: int
    on_time_percent: Decimal | None
    median_hours: Decimal | None
    p90_hours: Decimal | None
    still_out: int


def records(orders: Sequence[Order], now: datetime, calendar: Calendar | None = None) -> dict[str, Record]:
    """Each drafter's record by name; raises `ValueError` when something was sent or received after `now`."""
    names = sorted({order.drafter for order in orders})
    return {name: record([order for order in orders if order.drafter == name], now, calendar) for name in names}


def record(orders: Sequence[Order], now: datetime, calendar: Calendar | None = None) -> Record:
    """One drafter's record of these orders; raises `ValueError` as `records` does."""
    curve = turnaround_curve(orders, now, calendar)
    return Record(
        orders=len(orders),
        on_time_percent=on_time_percent(orders, now),
        median_hours=hours_at(curve, Fraction(1, 2)),
        p90_hours=hours_at(curve, Fraction(9, 10)),
        still_out=sum(order.received_at is None for order in orders),
    )


def turnaround_curve(orders: Sequence[Order], now: datetime, calendar: Calendar | None = None) -> Curve:
    """The estimated distribution of turnaround in microseconds; orders still out are cut short at `now`."""
    if any(last_known(order) > now for order in orders):
        raise ValueError("expected nothing sent or received after now")
    starts = instants([order.sent_at for order in orders])
    ends = instants([order.received_at or now for order in orders])
    took = working_time_many(calendar, starts, ends) if calendar else ends - starts
    came = np.array([order.received_at is not None for order in orders], dtype=bool)
    return kaplan_meier(took.astype(np.int64), came)


def hours_at(curve: Curve, share: Fraction) -> Decimal | None:
    """The hours within which that share of orders comes back, to four places; None when not yet known."""
    found = quantile(curve, share)
    return None if found is None else half_up(hours_of(timedelta(microseconds=found)), SHOWN_HOURS)


def on_time_percent(orders: Sequence[Order], now: datetime) -> Decimal | None:
    """Received by the promise, in percent of those received or past their promise; None when there are none.

    An order still out past its promise is late already; one still out before it says nothing yet.
    """
    judged = [order for order in orders if order.received_at or order.promised_at < now]
    if not judged:
        return None
    kept = sum(order.received_at is not None and order.received_at <= order.promised_at for order in judged)
    return half_up(Decimal(100 * kept) / len(judged), SHOWN_PERCENT)


def last_known(order: Order) -> datetime:
    """The last thing that happened to an order: received, or else sent."""
    return order.received_at or order.sent_at


def read_orders(source: str) -> list[Order]:
    """The orders of an ORDERS file; raises `BadInput`."""
    return [order_from_row(row, source, number) for number, row in enumerate(read_csv(source, COLUMNS), 1)]


def order_from_row(row: dict[str, str], source: str, number: int) -> Order:
    """One row of ORDERS, `number` counted from 1 below the header; raises `BadInput`."""

    def instant(column: str) -> datetime:
        try:
            return instant_from_text(row[column])
        except ValueError as error:
            raise BadInput(source, f"row {number}: {column}", str(error)) from None

    if not row["drafter"]:
        raise BadInput(source, f"row {number}: drafter", "expected a name")
    received = instant("received_at") if row["received_at"] else None
    order = Order(row["drafter"], instant("sent_at"), instant("promised_at"), received)
    if last_known(order) < order.sent_at:
        raise BadInput(source, f"row {number}: received_at", "expected a time at or after sent_at")
    return order
