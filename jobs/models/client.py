"""Who orders and pays."""

from django.db import models
from django.utils.translation import gettext_lazy as _


class ClientKind(models.TextChoices):
    AGENT = "agent", _("Agent")
    BROKER = "broker", _("Broker")
    BUILDER = "builder", _("Builder")
    LANDLORD = "landlord", _("Landlord")
    OWNER = "owner", _("Home owner")


class Client(models.Model):
    """A person or firm that orders shoots. `is_business` matters for late charges and tax papers."""

    name = models.CharField(_("name"), max_length=160)
    company = models.CharField(_("company"), max_length=160, blank=True)
    kind = models.CharField(_("kind"), max_length=10, choices=ClientKind, default=ClientKind.AGENT)
    email = models.EmailField(_("email"), db_index=True)
    phone = models.CharField(_("phone"), max_length=40, blank=True)
    street = models.CharField(_("street"), max_length=160, blank=True)
    town = models.CharField(_("town"), max_length=80, blank=True)
    region = models.CharField(_("state or region"), max_length=80, blank=True)
    postcode = models.CharField(_("postcode"), max_length=20, blank=True)
    country = models.CharField(_("country"), max_length=2, blank=True)
    tax_number = models.CharField(_("tax number"), max_length=40, blank=True)
    is_business = models.BooleanField(_("buys as a business"), default=True)
    notes = models.TextField(_("notes"), blank=True)
    since = models.DateTimeField(_("since"), auto_now_add=True)

    class Meta:
        ordering = ["name", "pk"]
        indexes = [models.Index(fields=["name", "id"], name="client_by_name")]

    def __str__(self) -> str:
        return f"{self.name}, {self.company}" if self.company else self.name

    @property
    def address_lines(self) -> list[str]:
        town = " ".join(part for part in (self.town, self.region, self.postcode) if part)
        return [line for line in (self.company, self.street, town, self.country) if line]
