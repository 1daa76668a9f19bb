"""Running numbers without gaps: the number is taken in the transaction that uses it."""

from django.db import connection, models

from office.models import NumberSeries


def next_number(series: str, year: int) -> int:
    """The next number of a series and year. Must run inside the transaction that stores the numbered thing."""
    assert connection.in_atomic_block
    NumberSeries.objects.bulk_create([NumberSeries(series=series, year=year)], ignore_conflicts=True)
    row = NumberSeries.objects.select_for_update().get(series=series, year=year)
    NumberSeries.objects.filter(pk=row.pk).update(last=models.F("last") + 1)
    return row.last + 1
