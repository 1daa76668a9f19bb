"""Running numbers, one row per series and year."""

from django.db import models


class NumberSeries(models.Model):
    """The last number given in a series ("invoice") and year."""

    series = models.CharField(max_length=20)
    year = models.PositiveSmallIntegerField()
    last = models.PositiveIntegerField(default=0)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["series", "year"], name="one_series_a_year")]

    def __str__(self) -> str:
        return f"{self.series} {self.year}: {self.last}"
