"""Handover: the set of files and links one client gets, and the proof of what was given."""

import uuid
from datetime import datetime

from django.db import models
from django.db.models import Exists, OuterRef, Q
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from jobs.models import Covers, Shoot, ShootState
from office.models import Stateful

from .draft import Draft
from .plan_order import PlanOrder


class BundleState(models.TextChoices):
    BEING_MADE = "being_made", _("Being made")
    HANDED_OVER = "handed_over", _("Handed over")
    REPLACED = "replaced", _("Replaced")
    WITHDRAWN = "withdrawn", _("Withdrawn")


class ReleaseRule(models.TextChoices):
    AT_ONCE = "at_once", _("At once")
    ON_APPROVAL = "on_approval", _("On approval")
    ON_PAYMENT = "on_payment", _("On payment")


class BundleQuerySet(models.QuerySet["Bundle"]):
    def standing(self) -> "BundleQuerySet":
        """Being made or in the client's hands."""
        return self.filter(state__in=(BundleState.BEING_MADE, BundleState.HANDED_OVER))

    def handed_over(self) -> "BundleQuerySet":
        return self.filter(state=BundleState.HANDED_OVER)

    def unopened_since(self, moment: datetime) -> "BundleQuerySet":
        """Handed over before `moment` and never looked at by the client."""
        opened = Receipt.objects.filter(bundle=OuterRef("pk"))
        given = self.handed_over().filter(~Exists(opened), handed_over_at__lt=moment)
        return given.order_by("handed_over_at", "pk")

    def with_receipts(self) -> "BundleQuerySet":
        """Each with `opened_at` and `collected_at`, the first of either."""
        first = Receipt.objects.filter(bundle=OuterRef("pk")).order_by("pk").values("at")
        opened = Q(what=ReceiptKind.OPENED)
        return self.annotate(
            opened_at=models.Subquery(first.filter(opened)[:1]), collected_at=models.Subquery(first.filter(~opened)[:1])
        )

    def with_names(self) -> "BundleQuerySet":
        return self.select_related("shoot__property", "shoot__client", "shoot__package")


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
    release_rule = models.CharField(
        _("may be collected"), max_length=12, choices=ReleaseRule, default=ReleaseRule.AT_ONCE
    )
    message = models.TextField(_("message to the client"), blank=True)
    made_at = models.DateTimeField()
    handed_over_at = models.DateTimeField(null=True, blank=True)
    override_why = models.CharField(_("why it left incomplete"), max_length=300, blank=True)
    approved_at = models.DateTimeField(null=True, blank=True)
    approved_by = models.CharField(max_length=160, blank=True)

    objects = BundleQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["shoot", "number"], name="bundle_number_once"),
            models.UniqueConstraint(fields=["shoot"], condition=Q(state="handed_over"), name="one_bundle_in_hand"),
            models.UniqueConstraint(fields=["shoot"], condition=Q(state="being_made"), name="one_bundle_in_making"),
        ]
        indexes = [models.Index(fields=["state", "-id"], name="bundle_by_state")]

    def __str__(self) -> str:
        return f"Bundle {self.number} of {self.shoot.number}"

    def get_absolute_url(self) -> str:
        return reverse("deliverables:bundle", args=[self.pk])


def waiting_for_a_bundle() -> models.QuerySet[Shoot]:
    """Captured shoots that have what was ordered and no bundle yet; each with `ready_at`."""
    plans = PlanOrder.objects.filter(shoot=OuterRef("pk"))
    accepted = plans.accepted().order_by("-accepted_at").values("accepted_at")[:1]
    bundles = Bundle.objects.standing().filter(shoot=OuterRef("pk"))
    drawn = Q(package__covers__in=(Covers.PLAN, Covers.BOTH), plan_accepted_at__isnull=False)
    shown = Q(package__covers=Covers.TOUR) & ~Q(tour_branded_url="", tour_unbranded_url="")
    return (
        Shoot.objects.filter(state=ShootState.CAPTURED)
        .annotate(plan_accepted_at=models.Subquery(accepted))
        .filter(~Exists(plans.open()), ~Exists(bundles), drawn | shown)
        .annotate(ready_at=models.functions.Coalesce("plan_accepted_at", "captured_at"))
        .select_related("client", "property", "package")
        .order_by("ready_at", "pk")
    )


class ItemKind(models.TextChoices):
    TOUR_BRANDED = "tour_branded", _("Tour, branded")
    TOUR_UNBRANDED = "tour_unbranded", _("Tour, unbranded")
    PLAN = "plan", _("Floor plan")
    AREA_SHEET = "area_sheet", _("Area sheet")
    COVER_SHEET = "cover_sheet", _("Cover sheet")
    CHECKSUMS = "checksums", _("Checksums")
    OTHER = "other", _("Other file")


TOURS = (ItemKind.TOUR_BRANDED, ItemKind.TOUR_UNBRANDED)


def item_path(item: "BundleItem", filename: str) -> str:
    return f"bundles/{item.bundle_id}/{uuid.uuid4().hex}"


class BundleItemQuerySet(models.QuerySet["BundleItem"]):
    def files(self) -> "BundleItemQuerySet":
        return self.exclude(file="")

    def links(self) -> "BundleItemQuerySet":
        return self.exclude(url="")


class BundleItem(models.Model):
    """One file or one link of a bundle. The file of a plan is the accepted draft's own, not a copy.

    `gathered` items came from the job by themselves; the others somebody added.
    """

    bundle = models.ForeignKey(Bundle, models.CASCADE, related_name="items")
    position = models.PositiveSmallIntegerField(default=0)
    kind = models.CharField(_("what it is"), max_length=14, choices=ItemKind)
    title = models.CharField(_("title"), max_length=160)
    url = models.URLField(_("link"), max_length=500, blank=True)
    file = models.FileField(_("file"), upload_to=item_path, blank=True)
    draft = models.ForeignKey(Draft, models.PROTECT, null=True, blank=True, related_name="items")
    file_name = models.CharField(max_length=160, blank=True)
    content_type = models.CharField(max_length=80, blank=True)
    size = models.PositiveBigIntegerField(default=0)
    sha256 = models.CharField(max_length=64, blank=True)
    gathered = models.BooleanField(default=False)

    objects = BundleItemQuerySet.as_manager()

    class Meta:
        ordering = ["bundle", "position", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=(Q(url="") & ~Q(file="")) | (~Q(url="") & Q(file="")), name="item_is_link_or_file"
            ),
            models.UniqueConstraint(fields=["bundle", "file_name"], condition=~Q(file=""), name="file_name_once"),
        ]

    def __str__(self) -> str:
        return self.title


class ReceiptKind(models.TextChoices):
    OPENED = "opened", _("Opened")
    COLLECTED = "collected", _("Collected")
    COLLECTED_ALL = "collected_all", _("Collected everything")


class Receipt(models.Model):
    """What a client did with a bundle: opened it, collected an item or the whole."""

    bundle = models.ForeignKey(Bundle, models.CASCADE, related_name="receipts")
    item = models.ForeignKey(BundleItem, models.SET_NULL, null=True, blank=True, related_name="receipts")
    what = models.CharField(max_length=20, choices=ReceiptKind)
    by = models.CharField(max_length=160)
    at = models.DateTimeField()

    class Meta:
        ordering = ["-pk"]
        indexes = [models.Index(fields=["bundle", "what"], name="receipt_of_bundle")]

    def __str__(self) -> str:
        return f"{self.what} {self.at:%Y-%m-%d %H:%M}"
