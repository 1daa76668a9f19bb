"""What is to be put right on a draft."""

from datetime import datetime

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from office.models import Stateful

from .draft import Draft
from .plan_order import PlanOrder


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


OPEN_STATES = (FixState.ASKED, FixState.RETURNED)


class FixRequestQuerySet(models.QuerySet["FixRequest"]):
    def open(self) -> "FixRequestQuerySet":
        return self.filter(state__in=OPEN_STATES)

    def asked(self) -> "FixRequestQuerySet":
        return self.filter(state=FixState.ASKED)

    def untold(self) -> "FixRequestQuerySet":
        """Asked, and the drafter has not been told yet."""
        return self.asked().filter(told_at=None)

    def told(self) -> "FixRequestQuerySet":
        """Asked, and in the drafter's hands."""
        return self.asked().exclude(told_at=None)

    def shown_to_drafter(self) -> "FixRequestQuerySet":
        """Only what the drafter has been told of."""
        return self.exclude(told_at=None)

    def returned(self) -> "FixRequestQuerySet":
        return self.filter(state=FixState.RETURNED).order_by("returned_at", "pk")

    def late(self, now: datetime) -> "FixRequestQuerySet":
        return self.asked().filter(due_at__lt=now).order_by("due_at", "pk")


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
    asked_by = models.CharField(max_length=160)
    told_at = models.DateTimeField(null=True, blank=True)
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

    @property
    def is_open(self) -> bool:
        return self.state in OPEN_STATES

    def is_late(self, now: datetime) -> bool:
        return self.state == FixState.ASKED and self.due_at is not None and self.due_at < now
