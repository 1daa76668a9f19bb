"""Orders to drafters, the drafts that came back, and what is to be put right on them."""

import uuid
from datetime import datetime

from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from jobs.models import Shoot
from office.models import Stateful
from office.models.fields import AreaField

from .drafter import Drafter


class PlanOrderState(models.TextChoices):
    TO_SEND = "to_send", _("To send")
    WITH_DRAFTER = "with_drafter", _("With drafter")
    TO_CHECK = "to_check", _("To check")
    ACCEPTED = "accepted", _("Accepted")
    WITHDRAWN = "withdrawn", _("Withdrawn")


class PlanOrderQuerySet(models.QuerySet["PlanOrder"]):
    def late(self, now: datetime) -> "PlanOrderQuerySet":
        return self.filter(state=PlanOrderState.WITH_DRAFTER, promised_at__lt=now).order_by("promised_at")

    def to_check(self) -> "PlanOrderQuerySet":
        return self.filter(state=PlanOrderState.TO_CHECK).order_by("received_at")

    def with_names(self) -> "PlanOrderQuerySet":
        return self.select_related("shoot__property", "shoot__client", "drafter")


class PlanOrder(Stateful):
    """One plan asked of one drafter, with a promised time in the drafter's working hours."""

    ALLOWED = {
        PlanOrderState.TO_SEND: frozenset({PlanOrderState.WITH_DRAFTER, PlanOrderState.WITHDRAWN}),
        PlanOrderState.WITH_DRAFTER: frozenset({PlanOrderState.TO_CHECK, PlanOrderState.WITHDRAWN}),
        PlanOrderState.TO_CHECK: frozenset(
            {PlanOrderState.WITH_DRAFTER, PlanOrderState.ACCEPTED, PlanOrderState.WITHDRAWN}
        ),
        PlanOrderState.ACCEPTED: frozenset({PlanOrderState.TO_CHECK}),
        PlanOrderState.WITHDRAWN: frozenset(),
    }

    number = models.CharField(_("number"), max_length=20, unique=True)
    shoot = models.ForeignKey(Shoot, models.PROTECT, related_name="plan_orders")
    drafter = models.ForeignKey(Drafter, models.PROTECT, related_name="orders")
    state = models.CharField(max_length=12, choices=PlanOrderState, default=PlanOrderState.TO_SEND)
    measuring_rule = models.CharField(_("measuring rule"), max_length=12, default="as-drawn")
    branded = models.BooleanField(_("with the client's contact details"), default=False)
    notes = models.TextField(_("notes for the drafter"), blank=True)
    made_at = models.DateTimeField()
    sent_at = models.DateTimeField(_("sent"), null=True, blank=True)
    promised_at = models.DateTimeField(_("promised"), null=True, blank=True)
    received_at = models.DateTimeField(_("first received"), null=True, blank=True)
    accepted_at = models.DateTimeField(_("accepted"), null=True, blank=True)
    measured_area_m2 = AreaField(_("measured area"), null=True, blank=True)
    round = models.PositiveSmallIntegerField(default=0)

    objects = PlanOrderQuerySet.as_manager()

    class Meta:
        indexes = [
            models.Index(fields=["state", "promised_at"], name="plan_order_by_promise"),
            models.Index(fields=["drafter", "-id"], name="plan_order_of_drafter"),
        ]

    def __str__(self) -> str:
        return f"Plan order {self.number}"

    def get_absolute_url(self) -> str:
        return reverse("deliverables:plan-order", args=[self.number])


class CheckState(models.TextChoices):
    WAITING = "waiting", _("Being checked")
    DONE = "done", _("Checked")
    FAILED = "failed", _("Could not be checked")


def draft_path(draft: "Draft", filename: str) -> str:
    """Where a draft is kept: a name of ours, never the sender's."""
    return f"drafts/{draft.plan_order.number}/{uuid.uuid4().hex}"


class Draft(models.Model):
    """One numbered version of a plan as received, kept byte for byte, with what the plan check found."""

    plan_order = models.ForeignKey(PlanOrder, models.PROTECT, related_name="drafts")
    number = models.PositiveSmallIntegerField()
    file = models.FileField(upload_to=draft_path)
    file_name = models.CharField(max_length=160)
    content_type = models.CharField(max_length=80)
    size = models.PositiveBigIntegerField()
    sha256 = models.CharField(max_length=64)
    note = models.TextField(blank=True)
    received_at = models.DateTimeField()
    received_from = models.CharField(max_length=160)
    check_state = models.CharField(max_length=8, choices=CheckState, default=CheckState.WAITING)
    check_result = models.JSONField(default=dict)
    checked_at = models.DateTimeField(null=True, blank=True)
    preview = models.FileField(upload_to="previews", blank=True)

    class Meta:
        ordering = ["plan_order", "-number"]
        constraints = [models.UniqueConstraint(fields=["plan_order", "number"], name="draft_number_once")]

    def __str__(self) -> str:
        return f"Draft {self.number}"


class FixState(models.TextChoices):
    ASKED = "asked", _("Asked")
    RETURNED = "returned", _("Returned")
    SETTLED = "settled", _("Settled")
    WITHDRAWN = "withdrawn", _("Withdrawn")


class FixKind(models.TextChoices):
    VOID = "void", _("Void")
    MISSING_SPACE = "missing_space", _("Missing space")
    WRONG_NAME = "wrong_name", _("Wrong name")
    WRONG_SIZE = "wrong_size", _("Wrong size")
    OPENING = "opening", _("Door, window or opening")
    CONTACT = "contact", _("Contact details shown")
    OTHER = "other", _("Something else")


class FixRequestQuerySet(models.QuerySet["FixRequest"]):
    def open(self) -> "FixRequestQuerySet":
        return self.filter(state__in=(FixState.ASKED, FixState.RETURNED))

    def late(self, now: datetime) -> "FixRequestQuerySet":
        return self.filter(state=FixState.ASKED, due_at__lt=now).order_by("due_at")


class FixRequest(Stateful):
    """One thing to put right on a draft, pinned to a place: x and y are shares of the page, 0 at left and top."""

    ALLOWED = {
        FixState.ASKED: frozenset({FixState.RETURNED, FixState.WITHDRAWN, FixState.SETTLED}),
        FixState.RETURNED: frozenset({FixState.SETTLED, FixState.ASKED, FixState.WITHDRAWN}),
        FixState.SETTLED: frozenset(),
        FixState.WITHDRAWN: frozenset(),
    }

    plan_order = models.ForeignKey(PlanOrder, models.PROTECT, related_name="fixes")
    draft = models.ForeignKey(Draft, models.PROTECT, related_name="fixes")
    number = models.PositiveSmallIntegerField()
    kind = models.CharField(_("kind"), max_length=14, choices=FixKind, default=FixKind.OTHER)
    text = models.CharField(_("what to put right"), max_length=400)
    page = models.PositiveSmallIntegerField(_("page"), default=1)
    x = models.DecimalField(max_digits=6, decimal_places=5, null=True, blank=True)
    y = models.DecimalField(max_digits=6, decimal_places=5, null=True, blank=True)
    state = models.CharField(max_length=10, choices=FixState, default=FixState.ASKED)
    round = models.PositiveSmallIntegerField(default=1)
    asked_at = models.DateTimeField()
    due_at = models.DateTimeField(null=True, blank=True)
    returned_at = models.DateTimeField(null=True, blank=True)
    settled_at = models.DateTimeField(null=True, blank=True)
    drafter_note = models.CharField(_("the drafter's note"), max_length=400, blank=True)

    objects = FixRequestQuerySet.as_manager()

    class Meta:
        ordering = ["plan_order", "number"]
        constraints = [
            models.UniqueConstraint(fields=["plan_order", "number"], name="fix_number_once"),
            models.CheckConstraint(
                condition=Q(x=None, y=None) | Q(x__gte=0, x__lte=1, y__gte=0, y__lte=1), name="pin_on_page"
            ),
        ]
        indexes = [models.Index(fields=["state", "due_at"], name="fix_by_due")]

    def __str__(self) -> str:
        return f"Fix {self.number}"
