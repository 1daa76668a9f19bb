"""Orders to drafters."""

from datetime import datetime
from typing import TYPE_CHECKING

from django.db import models
from django.db.models import Exists, OuterRef, Q
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from jobs.models import Covers, Shoot, ShootState
from office.models import Stateful
from office.models.fields import AreaField, MoneyField

from .drafter import Drafter

if TYPE_CHECKING:
    from .draft import Draft
    from .fix_request import FixRequest


class MeasuringRule(models.TextChoices):
    """What the areas on the plan are measured by; the codes are the `area` command's."""

    AS_DRAWN = "as-drawn", _("As drawn")
    ANSI_Z765 = "ansi-z765", _("ANSI Z765")
    IPMS_3B = "ipms-3b", _("IPMS 3B")


class PlanOrderState(models.TextChoices):
    TO_SEND = "to_send", _("To send")
    WITH_DRAFTER = "with_drafter", _("With drafter")
    TO_CHECK = "to_check", _("To check")
    ACCEPTED = "accepted", _("Accepted")
    WITHDRAWN = "withdrawn", _("Withdrawn")


OPEN_STATES = (PlanOrderState.TO_SEND, PlanOrderState.WITH_DRAFTER, PlanOrderState.TO_CHECK)


class PlanOrderQuerySet(models.QuerySet["PlanOrder"]):
    def open(self) -> "PlanOrderQuerySet":
        """Neither accepted nor withdrawn."""
        return self.filter(state__in=OPEN_STATES)

    def to_send(self) -> "PlanOrderQuerySet":
        return self.filter(state=PlanOrderState.TO_SEND).order_by("made_at", "pk")

    def out(self) -> "PlanOrderQuerySet":
        """With their drafters, what is due first first."""
        return self.filter(state=PlanOrderState.WITH_DRAFTER).order_by("due_at", "pk")

    def late(self, now: datetime) -> "PlanOrderQuerySet":
        return self.out().filter(due_at__lt=now)

    def to_check(self) -> "PlanOrderQuerySet":
        """Ours to check, the longest waiting first."""
        waiting = self.filter(state=PlanOrderState.TO_CHECK)
        return waiting.annotate(waits_since=models.Max("drafts__received_at")).order_by("waits_since", "pk")

    def with_fix_counts(self) -> "PlanOrderQuerySet":
        """Each with the numbers of its fixes `returned`, `untold` (asked, not sent) and `told` (with the drafter),
        and since when the longest waiting one is returned (`returned_since`) or untold (`untold_since`)."""
        asked, returned = Q(fixes__state="asked"), Q(fixes__state="returned")
        untold = asked & Q(fixes__told_at=None)
        return self.annotate(
            returned=models.Count("fixes", filter=returned, distinct=True),
            untold=models.Count("fixes", filter=untold, distinct=True),
            told=models.Count("fixes", filter=asked & Q(fixes__told_at__isnull=False), distinct=True),
            returned_since=models.Min("fixes__returned_at", filter=returned),
            untold_since=models.Min("fixes__asked_at", filter=untold),
        )

    def accepted(self) -> "PlanOrderQuerySet":
        return self.filter(state=PlanOrderState.ACCEPTED)

    def shown_to(self, drafter: Drafter) -> "PlanOrderQuerySet":
        """What a drafter may see: everything of theirs that has been sent."""
        return self.filter(drafter=drafter).exclude(sent_at=None)

    def with_names(self) -> "PlanOrderQuerySet":
        return self.select_related("shoot__property", "shoot__client", "drafter")

    def with_drafts(self) -> "PlanOrderQuerySet":
        return self.prefetch_related("drafts", "fixes")


class PlanOrder(Stateful):
    """One plan asked of one drafter.

    `promised_at` is the first promise, in the drafter's working hours, and stays; `due_at` is what is due now,
    a plan or a round of fixes.
    """

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
    measuring_rule = models.CharField(
        _("measuring rule"), max_length=12, choices=MeasuringRule, default=MeasuringRule.AS_DRAWN
    )
    branded = models.BooleanField(_("with the client's contact details"), default=False)
    notes = models.TextField(_("notes for the drafter"), blank=True)
    made_at = models.DateTimeField()
    sent_at = models.DateTimeField(_("sent"), null=True, blank=True)
    promised_at = models.DateTimeField(_("promised"), null=True, blank=True)
    due_at = models.DateTimeField(_("due"), null=True, blank=True)
    received_at = models.DateTimeField(_("first received"), null=True, blank=True)
    accepted_at = models.DateTimeField(_("accepted"), null=True, blank=True)
    accepted_draft = models.ForeignKey("Draft", models.PROTECT, null=True, blank=True, related_name="+")
    measured_area_m2 = AreaField(_("measured area"), null=True, blank=True)
    price = MoneyField(_("price"), null=True, blank=True)
    currency = models.CharField(max_length=3, blank=True)
    round = models.PositiveSmallIntegerField(default=0)

    objects = PlanOrderQuerySet.as_manager()

    class Meta:
        indexes = [
            models.Index(fields=["state", "due_at", "id"], name="plan_order_by_due"),
            models.Index(fields=["state", "-id"], name="plan_order_by_state"),
            models.Index(fields=["drafter", "-id"], name="plan_order_of_drafter"),
        ]

    def __str__(self) -> str:
        return f"Plan order {self.number}"

    @property
    def open_fixes(self) -> list["FixRequest"]:
        """Asked or returned; costs no query after `with_drafts`."""
        return [fix for fix in self.fixes.all() if fix.is_open]

    @property
    def newest_draft(self) -> "Draft | None":
        return next(iter(self.drafts.all()), None)

    def is_late(self, now: datetime) -> bool:
        return self.state == PlanOrderState.WITH_DRAFTER and self.due_at is not None and self.due_at < now

    def get_absolute_url(self) -> str:
        return reverse("deliverables:plan-order", args=[self.number])


def waiting_for_an_order() -> models.QuerySet[Shoot]:
    """Captured shoots whose package has a plan that nobody has been asked to draw."""
    orders = PlanOrder.objects.filter(shoot=OuterRef("pk")).exclude(state=PlanOrderState.WITHDRAWN)
    captured = Shoot.objects.filter(state=ShootState.CAPTURED, package__covers__in=(Covers.PLAN, Covers.BOTH))
    return captured.filter(~Exists(orders)).select_related("property").order_by("captured_at", "pk")
