"""Rate cards: dated, numbered sets of prices. A card that a quote has used is frozen and only followed by the next."""

from datetime import date

from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from jobs.models import AddOn, Client, Package
from office.models import AreaUnitChoice
from office.models.fields import MoneyField


class TaxRounding(models.TextChoices):
    INVOICE = "invoice", _("Once per rate")
    LINE = "line", _("On each line")


class RateCardQuerySet(models.QuerySet["RateCard"]):
    def in_force(self, day: date, client: Client | None = None) -> "RateCard | None":
        """The card that prices an order of this day: the client's own newest, else the newest for everyone."""
        begun = self.filter(starts_on__lte=day).order_by("-starts_on", "-number")
        own = begun.filter(client=client).first() if client else None
        return own or begun.filter(client=None).first()

    def with_rows(self) -> "RateCardQuerySet":
        """With every row that prices something at hand."""
        return self.select_related("client").prefetch_related(
            "packages__package", "packages__bands", "add_ons__add_on", "travel", "short_notice", "volume"
        )


class RateCard(models.Model):
    """One set of prices in one currency and one area unit."""

    number = models.PositiveIntegerField(_("number"), unique=True)
    name = models.CharField(_("name"), max_length=80, blank=True)
    client = models.ForeignKey(Client, models.PROTECT, null=True, blank=True, related_name="rate_cards")
    starts_on = models.DateField(_("from"))
    currency = models.CharField(_("currency"), max_length=3)
    area_unit = models.CharField(_("area unit"), max_length=4, choices=AreaUnitChoice)
    weekend_percent = models.DecimalField(_("weekend, percent"), max_digits=6, decimal_places=2, default=0)
    minimum = MoneyField(_("minimum"), default=0)
    round_net_to = MoneyField(_("round net to"))
    tax_rounding = models.CharField(_("tax is rounded"), max_length=7, choices=TaxRounding, default=TaxRounding.INVOICE)
    frozen_at = models.DateTimeField(null=True, blank=True)

    objects = RateCardQuerySet.as_manager()

    class Meta:
        indexes = [models.Index(fields=["client", "-starts_on", "-number"], name="card_in_force")]

    def __str__(self) -> str:
        return f"Rate card {self.number}"

    def get_absolute_url(self) -> str:
        return reverse("billing:rate-card", args=[self.number])


class CardPackage(models.Model):
    """What one package costs: a base that includes some area and levels, and what goes beyond."""

    card = models.ForeignKey(RateCard, models.CASCADE, related_name="packages")
    package = models.ForeignKey(Package, models.PROTECT, related_name="+")
    base = MoneyField(_("base"))
    includes_area = models.DecimalField(_("includes area"), max_digits=12, decimal_places=4, default=0)
    includes_levels = models.PositiveSmallIntegerField(_("includes levels"), default=1)
    per_extra_level = MoneyField(_("each further level"), default=0)

    class Meta:
        ordering = ["card", "package__order", "pk"]
        constraints = [models.UniqueConstraint(fields=["card", "package"], name="package_once_a_card")]

    def __str__(self) -> str:
        return str(self.package)


class CardAreaBand(models.Model):
    """A graduated price per unit of area, up to a total area (the last band has no end)."""

    card_package = models.ForeignKey(CardPackage, models.CASCADE, related_name="bands")
    up_to = models.DecimalField(_("up to"), max_digits=12, decimal_places=4, null=True, blank=True)
    per_unit = MoneyField(_("per unit"), max_digits=12, decimal_places=6)

    class Meta:
        ordering = ["card_package", models.F("up_to").asc(nulls_last=True)]

    def __str__(self) -> str:
        return f"up to {self.up_to or '…'}"


class AddOnPricing(models.TextChoices):
    FIXED = "fixed", _("Fixed, each")
    PER_UNIT_AREA = "per_unit_area", _("Per unit of area")
    PERCENT = "percent", _("Percent of package, area and levels")


class CardAddOn(models.Model):
    """What one add-on costs."""

    card = models.ForeignKey(RateCard, models.CASCADE, related_name="add_ons")
    add_on = models.ForeignKey(AddOn, models.PROTECT, related_name="+")
    pricing = models.CharField(_("priced"), max_length=13, choices=AddOnPricing, default=AddOnPricing.FIXED)
    amount = MoneyField(_("amount or percent"), max_digits=14, decimal_places=6)
    at_least = MoneyField(_("at least"), null=True, blank=True)

    class Meta:
        ordering = ["card", "add_on__code"]
        constraints = [models.UniqueConstraint(fields=["card", "add_on"], name="add_on_once_a_card")]

    def __str__(self) -> str:
        return str(self.add_on)


class CardTravel(models.Model):
    """A fee up to a distance (empty: any), and what each km beyond another adds. The first row that fits holds."""

    card = models.ForeignKey(RateCard, models.CASCADE, related_name="travel")
    position = models.PositiveSmallIntegerField(default=0)
    up_to_km = models.DecimalField(_("up to km"), max_digits=8, decimal_places=2, null=True, blank=True)
    fee = MoneyField(_("fee"))
    per_km_beyond = MoneyField(_("each km beyond"), null=True, blank=True)
    beyond_km = models.DecimalField(_("beyond km"), max_digits=8, decimal_places=2, null=True, blank=True)

    class Meta:
        ordering = ["card", "position", "pk"]

    def __str__(self) -> str:
        return f"up to {self.up_to_km or '…'} km"


class CardShortNotice(models.Model):
    """A surcharge for visits wanted soon. The first row that fits holds."""

    card = models.ForeignKey(RateCard, models.CASCADE, related_name="short_notice")
    position = models.PositiveSmallIntegerField(default=0)
    under_hours = models.DecimalField(_("under hours"), max_digits=8, decimal_places=2)
    percent = models.DecimalField(_("percent"), max_digits=6, decimal_places=2)

    class Meta:
        ordering = ["card", "position", "pk"]

    def __str__(self) -> str:
        return f"under {self.under_hours} h"


class CardVolume(models.Model):
    """A discount for clients with many shoots in the last 90 days."""

    card = models.ForeignKey(RateCard, models.CASCADE, related_name="volume")
    position = models.PositiveSmallIntegerField(default=0)
    from_shoots = models.PositiveIntegerField(_("from shoots"))
    percent_off = models.DecimalField(_("percent off"), max_digits=6, decimal_places=2)

    class Meta:
        ordering = ["card", "position", "pk"]

    def __str__(self) -> str:
        return f"from {self.from_shoots}"


class TaxRateQuerySet(models.QuerySet["TaxRate"]):
    def on(self, day: date) -> "TaxRateQuerySet":
        """The rates that hold on a day."""
        return self.filter(Q(ends_on=None) | Q(ends_on__gte=day), starts_on__lte=day).order_by("name", "pk")


class TaxRate(models.Model):
    """A tax the office adds, from a day to a day. The office says which; the program does not know tax law."""

    name = models.CharField(_("name"), max_length=60)
    percent = models.DecimalField(_("percent"), max_digits=7, decimal_places=4)
    starts_on = models.DateField(_("from"))
    ends_on = models.DateField(_("until"), null=True, blank=True)

    objects = TaxRateQuerySet.as_manager()

    class Meta:
        ordering = ["name", "starts_on"]

    def __str__(self) -> str:
        return f"{self.name} {self.percent.normalize():f} %"
