"""Handover: the set of files and links one client gets, and the proof of what was given."""

import uuid

from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from jobs.models import Shoot
from office.models import Stateful


class BundleState(models.TextChoices):
    BEING_MADE = "being_made", _("Being made")
    HANDED_OVER = "handed_over", _("Handed over")
    REPLACED = "replaced", _("Replaced")
    WITHDRAWN = "withdrawn", _("Withdrawn")


class ReleaseRule(models.TextChoices):
    AT_ONCE = "at_once", _("At once")
    ON_APPROVAL = "on_approval", _("On approval")
    ON_PAYMENT = "on_payment", _("On payment")


class Bundle(Stateful):
    """One handover: Bundle 1, Bundle 2 … of a shoot."""

    ALLOWED = {
        BundleState.BEING_MADE: frozenset({BundleState.HANDED_OVER, BundleState.WITHDRAWN}),
        BundleState.HANDED_OVER: frozenset({BundleState.REPLACED, BundleState.WITHDRAWN}),
        BundleState.REPLACED: frozenset(),
        BundleState.WITHDRAWN: frozenset(),
    }

    shoot = models.ForeignKey(Shoot, models.PROTECT, related_name="bundles")
    number = models.PositiveSmallIntegerField()
    state = models.CharField(max_length=12, choices=BundleState, default=BundleState.BEING_MADE)
    release_rule = models.CharField(max_length=12, choices=ReleaseRule, default=ReleaseRule.AT_ONCE)
    message = models.TextField(_("message to the client"), blank=True)
    made_at = models.DateTimeField()
    handed_over_at = models.DateTimeField(null=True, blank=True)
    approved_at = models.DateTimeField(null=True, blank=True)
    approved_by = models.CharField(max_length=160, blank=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["shoot", "number"], name="bundle_number_once")]
        indexes = [models.Index(fields=["state", "-id"], name="bundle_by_state")]

    def __str__(self) -> str:
        return f"Bundle {self.number} of {self.shoot.number}"

    def get_absolute_url(self) -> str:
        return reverse("deliverables:bundle", args=[self.pk])


class ItemKind(models.TextChoices):
    TOUR_BRANDED = "tour_branded", _("Tour, branded")
    TOUR_UNBRANDED = "tour_unbranded", _("Tour, unbranded")
    PLAN = "plan", _("Floor plan")
    AREA_SHEET = "area_sheet", _("Area sheet")
    COVER_SHEET = "cover_sheet", _("Cover sheet")
    OTHER = "other", _("Other file")


def item_path(item: "BundleItem", filename: str) -> str:
    return f"bundles/{item.bundle_id}/{uuid.uuid4().hex}"


class BundleItem(models.Model):
    """One file or one link of a bundle."""

    bundle = models.ForeignKey(Bundle, models.CASCADE, related_name="items")
    position = models.PositiveSmallIntegerField(default=0)
    kind = models.CharField(max_length=14, choices=ItemKind)
    title = models.CharField(max_length=160)
    url = models.URLField(max_length=500, blank=True)
    file = models.FileField(upload_to=item_path, blank=True)
    file_name = models.CharField(max_length=160, blank=True)
    content_type = models.CharField(max_length=80, blank=True)
    size = models.PositiveBigIntegerField(default=0)
    sha256 = models.CharField(max_length=64, blank=True)

    class Meta:
        ordering = ["bundle", "position", "pk"]
        constraints = [
            models.CheckConstraint(condition=~Q(url="") | ~Q(file=""), name="item_is_link_or_file"),
        ]

    def __str__(self) -> str:
        return self.title


class Receipt(models.Model):
    """What a client did with a bundle: opened it, collected an item or the whole."""

    bundle = models.ForeignKey(Bundle, models.CASCADE, related_name="receipts")
    item = models.ForeignKey(BundleItem, models.SET_NULL, null=True, blank=True, related_name="receipts")
    what = models.CharField(max_length=20)
    by = models.CharField(max_length=160)
    at = models.DateTimeField()

    class Meta:
        ordering = ["-pk"]
        indexes = [models.Index(fields=["bundle", "what"], name="receipt_of_bundle")]

    def __str__(self) -> str:
        return f"{self.what} {self.at:%Y-%m-%d %H:%M}"
