"""How fast due times are: one at a time, many at once, pandas' custom business hours, bare numpy counting days.

Run as `python -m tests.bench.bench_worktime`.
"""

from datetime import UTC, datetime, timedelta
from time import perf_counter

import numpy as np
import pandas as pd

from office.rules.calendar import calendar_of
from office.rules.worktime import due, hours_of
from office.rules.worktime_many import due_many, instants

ROWS, PANDAS_ROWS = 20_000, 500
HOLIDAYS = ["2026-01-01", "2026-05-25", "2026-07-03", "2026-09-07", "2026-11-26", "2026-12-25"]
WEEKDAYS = ("mon", "tue", "wed", "thu", "fri")


def seconds_a_row(rows: int, work) -> float:
    began = perf_counter()
    work()
    return (perf_counter() - began) / rows


def main() -> None:
    calendar = calendar_of("America/Chicago", {day: [["09:00", "17:00"]] for day in WEEKDAYS}, HOLIDAYS)
    random = np.random.default_rng(1)
    first = datetime(2026, 1, 1, tzinfo=UTC)
    starts = [first + timedelta(minutes=int(late)) for late in random.integers(0, 340 * 1440, ROWS)]
    lengths = [timedelta(hours=int(hours)) for hours in random.integers(1, 60, ROWS)]
    step = pd.offsets.CustomBusinessHour(start="09:00", end="17:00", holidays=HOLIDAYS)
    days = np.array([start.date() for start in starts], "datetime64[D]")
    some = list(zip(starts, lengths, strict=True))[:PANDAS_ROWS]

    def with_pandas() -> None:
        for start, length in some:
            (
                pd.Timestamp(start.astimezone(calendar.tz).replace(tzinfo=None))
                + int(length.total_seconds() // 3600) * step
            )

    one = seconds_a_row(ROWS, lambda: [due(calendar, *row) for row in zip(starts, map(hours_of, lengths), strict=True)])
    many = seconds_a_row(ROWS, lambda: due_many(calendar, instants(starts), np.array(lengths, "timedelta64[us]")))
    theirs = seconds_a_row(PANDAS_ROWS, with_pandas)
    whole_days = seconds_a_row(ROWS, lambda: np.busday_offset(days, 3, roll="forward", holidays=HOLIDAYS))
    for name, took in (
        ("one at a time", one),
        ("many at once", many),
        ("pandas, no zone", theirs),
        ("numpy, days", whole_days),
    ):
        print(f"{name:<16} {took * 1e6:9.3f} µs a row {theirs / took:10.1f} × pandas")


if __name__ == "__main__":
    main()
