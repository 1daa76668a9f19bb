"""Errands: background work that must happen. The row is the promise; a Celery message is only a nudge."""

from datetime import datetime

from django.db import models
from django.db.models import Q

MOST_ATTEMPTS = 5


class ErrandQuerySet(models.QuerySet["Errand"]):
    def waiting(self, now: datetime) -> "ErrandQuerySet":
        """Due, not done, not given up, and in nobody's hands, or in the hands of a worker that died."""
        return self.filter(
            Q(lease_until=None) | Q(lease_until__lt=now), done_at=None, run_after__lte=now, attempts__lt=MOST_ATTEMPTS
        ).order_by("run_after", "pk")

    def given_up(self) -> "ErrandQuerySet":
        return self.filter(done_at=None, attempts__gte=MOST_ATTEMPTS)


class Errand(models.Model):
    """One piece of work of a kind that some floor has registered. `key` makes asking twice one row."""

    key = models.CharField(max_length=120, unique=True)
    kind = models.CharField(max_length=40)
    subject_id = models.BigIntegerField()
    run_after = models.DateTimeField()
    lease_until = models.DateTimeField(null=True, blank=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    last_error = models.CharField(max_length=300, blank=True)
    done_at = models.DateTimeField(null=True, blank=True)

    objects = ErrandQuerySet.as_manager()

    class Meta:
        indexes = [
            models.Index(fields=["run_after"], name="errand_waiting", condition=Q(done_at=None)),
        ]

    def __str__(self) -> str:
        return self.key
