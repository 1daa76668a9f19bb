"""How much faster a million jobs are repriced in bulk than one by one.

Run as `python -m tests.bench.bench_reprice`. The one-by-one engine prices a sample and its time is scaled up; both
must agree on the sample.
"""

import csv
import tempfile
import time
from collections.abc import Callable
from datetime import datetime, timedelta, timezone
from decimal import Decimal
from pathlib import Path
from typing import TypeVar

import numpy as np

from billing.rules.card import AddOnOrder, Job, job_to_json
from billing.rules.job_columns import COLUMNS, JobsFile, columns_of
from billing.rules.pricing import price
from billing.rules.reprice import reprice
from office.rules.units import AreaUnit
from tests.billing.cards_and_jobs import card

T = TypeVar("T")

MANY, SAMPLE = 1_000_000, 5_000
CHICAGO = timezone(timedelta(hours=-6))


def main() -> None:
    rates = card(tax_rounding="line", round_net_to="0.05")
    sample = some_jobs(SAMPLE)
    singly, priced = timed(lambda: [price(rates, job) for job in sample])
    path = str(written(sample * 20))
    reading, file = timed(lambda: JobsFile(path))
    columns = columns_of(sample * (MANY // SAMPLE))
    bulk, repriced = timed(lambda: reprice(rates, columns))
    assert [int(each.total * 100) for each in priced] == repriced.total[:SAMPLE].tolist()
    expected = singly / SAMPLE * MANY
    print(f"one by one: {singly / SAMPLE * 1e6:.0f} µs a job, {expected:.0f} s for {MANY:,}")
    print(f"in bulk:    {bulk:.2f} s for {MANY:,}, {expected / bulk:.0f} times as fast")
    print(f"reading:    {reading:.2f} s for a file of {len(file.jobs):,} jobs")


def some_jobs(count: int) -> list[Job]:
    """Jobs with areas to the hundredth, in both units, with a handful of add-ons."""
    random = np.random.default_rng(20270101)
    return [a_job(random) for _ in range(count)]


def a_job(random: np.random.Generator) -> Job:
    metric = bool(random.random() < 0.1)
    square_feet = random.gamma(6, 300)
    codes = [code for code in ("exterior", "area_sheet", "staging_pass") if random.random() < 0.3]
    return Job(
        package="both",
        area=Decimal(f"{square_feet * (0.09290304 if metric else 1):.2f}"),
        area_unit=AreaUnit.M2 if metric else AreaUnit.SQFT,
        levels=int(random.integers(1, 5)),
        add_ons=tuple(AddOnOrder(code=code, quantity=int(random.integers(1, 3))) for code in codes),
        distance_km=Decimal(f"{random.exponential(30):.1f}"),
        hours_notice=Decimal(int(random.integers(1, 200))),
        starts_at=datetime(2027, 1, 1, 9, tzinfo=CHICAGO) + timedelta(hours=int(random.integers(0, 8760))),
        shoots_last_90_days=int(random.integers(0, 20)),
    )


def written(jobs: list[Job]) -> Path:
    """A JOBS file."""
    path = Path(tempfile.mkdtemp()) / "jobs.csv"
    with path.open("w", newline="") as file:
        rows = csv.DictWriter(file, COLUMNS)
        rows.writeheader()
        for row in map(job_to_json, jobs):
            rows.writerow(
                row | {"add_ons": ";".join(f"{order['code']}:{order['quantity']}" for order in row["add_ons"])}
            )
    return path


def timed(work: Callable[[], T]) -> tuple[float, T]:
    started = time.perf_counter()
    result = work()
    return time.perf_counter() - started, result


if __name__ == "__main__":
    main()
