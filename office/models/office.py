"""The office itself: one row."""

from datetime import date, datetime, time
from decimal import Decimal
from zoneinfo import ZoneInfo

from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.utils.translation import gettext_lazy as _

from office.rules.units import AreaUnit

from .fields import AreaField, ZoneField, office_week


class AreaUnitChoice(models.TextChoices):
    SQFT = AreaUnit.SQFT.value, _("square feet")
    M2 = AreaUnit.M2.value, _("square metres")


class Office(models.Model):
    """The business that uses the program. There is one; `Office.the()` finds it or makes an empty one."""

    name = models.CharField(_("name"), max_length=120, default="Our office")
    street = models.CharField(_("street"), max_length=160, blank=True)
    town = models.CharField(_("town"), max_length=80, blank=True)
    region = models.CharField(_("state or region"), max_length=80, blank=True)
    postcode = models.CharField(_("postcode"), max_length=20, blank=True)
    country = models.CharField(_("country"), max_length=2, default="US", help_text=_("Two letters, such as US."))
    email = models.EmailField(_("email"), blank=True)
    phone = models.CharField(_("phone"), max_length=40, blank=True)
    tax_number = models.CharField(_("tax number"), max_length=40, blank=True)
    latitude = models.DecimalField(_("latitude"), max_digits=9, decimal_places=6, null=True, blank=True)
    longitude = models.DecimalField(_("longitude"), max_digits=9, decimal_places=6, null=True, blank=True)

    zone = ZoneField(_("time zone"), default="America/Chicago")
    locale = models.CharField(_("language of numbers and dates"), max_length=16, default="en_US")
    currency = models.CharField(_("currency"), max_length=3, default="USD")
    area_unit = models.CharField(_("area unit"), max_length=4, choices=AreaUnitChoice, default=AreaUnitChoice.SQFT)
    hours = models.JSONField(_("working hours"), default=office_week)
    holidays = models.JSONField(_("days closed"), default=list, blank=True)

    hold_hours = models.PositiveSmallIntegerField(_("hours a pencilled shoot is held"), default=48)
    quote_days = models.PositiveSmallIntegerField(_("days a quote stands"), default=14)
    deposit_percent = models.DecimalField(
        _("deposit, percent of a quote"), max_digits=5, decimal_places=2, default=Decimal(0),
        validators=[MinValueValidator(0), MaxValueValidator(100)],
    )  # fmt: skip
    invoice_days = models.PositiveSmallIntegerField(_("days to pay"), default=14)
    link_days = models.PositiveSmallIntegerField(_("days a link stays open"), default=90)
    area_tolerance_percent = models.DecimalField(
        _("area difference that calls for a true-up, percent"), max_digits=5, decimal_places=2, default=Decimal(5),
        validators=[MinValueValidator(0), MaxValueValidator(100)],
    )  # fmt: skip
    order_page_open = models.BooleanField(_("the public order page is open"), default=False)
    largest_area_m2 = AreaField(_("largest area priced by itself"), default=Decimal("929.0304"))
    most_levels = models.PositiveSmallIntegerField(_("most levels priced by themselves"), default=4)
    quote_terms = models.TextField(
        _("terms on quotes"),
        default=_(
            "Free to move until two days before the visit. "
            "If nobody lets us in, the visit may be charged. Areas are approximate and for marketing only."
        ),
    )
    payment_text = models.TextField(
        _("how to pay"), blank=True, default=_("Please pay by bank transfer and give the invoice number.")
    )

    class Meta:
        constraints = [models.CheckConstraint(condition=models.Q(pk=1), name="one_office")]

    def __str__(self) -> str:
        return self.name

    @classmethod
    def the(cls) -> "Office":
        """The one office of this installation."""
        office, _made = cls.objects.get_or_create(pk=1)
        return office

    def day_of(self, at: datetime) -> date:
        """The date of an instant where the office is: cards, papers, numbers and diaries go by it, never by UTC's."""
        return at.astimezone(ZoneInfo(self.zone)).date()

    def midnight(self, day: date) -> datetime:
        """The first moment of a day where the office is."""
        return datetime.combine(day, time(), ZoneInfo(self.zone))

    @property
    def address_lines(self) -> list[str]:
        town = " ".join(part for part in (self.town, self.region, self.postcode) if part)
        return [line for line in (self.street, town) if line]
