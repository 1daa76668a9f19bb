"""Orders that came in by the public order page."""

from django.db import models

from jobs.models import Shoot, ShootState
from office.models.fields import MoneyField

from .quote import STANDING


class PlacedOrderQuerySet(models.QuerySet["PlacedOrder"]):
    def unanswered(self) -> "PlacedOrderQuerySet":
        """Still pencilled, and no quote stands: somebody waits for our word."""
        return (
            self.filter(shoot__state=ShootState.PENCILLED)
            .exclude(shoot__quotes__state__in=STANDING)
            .order_by("placed_at", "pk")
        )


class PlacedOrder(models.Model):
    """What the visitor of the order page saw when ordering; no `shown_total` means "we will call you"."""

    shoot = models.OneToOneField(Shoot, models.CASCADE, related_name="placed_order")
    placed_at = models.DateTimeField()
    shown_total = MoneyField(null=True, blank=True)
    shown_currency = models.CharField(max_length=3, blank=True)

    objects = PlacedOrderQuerySet.as_manager()

    def __str__(self) -> str:
        return f"Order of {self.shoot_id}"
