"""The outside people who draw."""

from decimal import Decimal

from django.core.validators import MinValueValidator
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from office.models.fields import MoneyField, ZoneField, office_week

LEAST_HOURS = Decimal("0.25")


class DrafterQuerySet(models.QuerySet["Drafter"]):
    def taking_orders(self) -> "DrafterQuerySet":
        return self.filter(active=True).order_by("name", "pk")

    def with_orders_out(self) -> "DrafterQuerySet":
        """Each with `orders_out`, the number of plans that are with them now."""
        return self.annotate(orders_out=models.Count("orders", filter=Q(orders__state="with_drafter")))


class Drafter(models.Model):
    """A person or firm that draws plans, with the hours in which their promises run."""

    name = models.CharField(_("name"), max_length=160)
    contact_name = models.CharField(_("contact"), max_length=160, blank=True)
    email = models.EmailField(_("email"))
    second_email = models.EmailField(_("second contact"), blank=True)
    phone = models.CharField(_("phone"), max_length=40, blank=True)
    zone = ZoneField(_("time zone"))
    hours = models.JSONField(_("working hours"), default=office_week)
    holidays = models.JSONField(_("days closed"), default=list, blank=True)
    plan_hours = models.DecimalField(
        _("working hours promised for a plan"), max_digits=6, decimal_places=2, default=Decimal(16),
        validators=[MinValueValidator(LEAST_HOURS)],
    )  # fmt: skip
    fix_hours = models.DecimalField(
        _("working hours promised for a fix"), max_digits=6, decimal_places=2, default=Decimal(8),
        validators=[MinValueValidator(LEAST_HOURS)],
    )  # fmt: skip
    price_per_plan = MoneyField(_("price of a plan"), default=0, validators=[MinValueValidator(0)])
    price_per_m2 = MoneyField(_("and per square metre"), default=0, validators=[MinValueValidator(0)])
    price_per_level = MoneyField(_("and per level"), default=0, validators=[MinValueValidator(0)])
    currency = models.CharField(_("currency"), max_length=3, default="USD")
    active = models.BooleanField(_("takes orders"), default=True)

    objects = DrafterQuerySet.as_manager()

    class Meta:
        ordering = ["name", "pk"]

    def __str__(self) -> str:
        return self.name
