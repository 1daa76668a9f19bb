"""The booked visit: its state, its time, its crew."""

import uuid
from datetime import datetime

from django.db import models
from django.db.models import F, Q
from django.urls import reverse
from django.utils.translation import gettext_lazy as _

from office.models import Person, Stateful
from office.models.fields import LinkField

from .client import Client
from .package import AddOn, Package
from .property import Property


class ShootState(models.TextChoices):
    PENCILLED = "pencilled", _("Pencilled")
    CONFIRMED = "confirmed", _("Confirmed")
    CAPTURED = "captured", _("Captured")
    CLOSED = "closed", _("Closed")
    CANCELLED = "cancelled", _("Cancelled")
    NO_ACCESS = "no_access", _("No access")


BUSY_STATES = (ShootState.PENCILLED, ShootState.CONFIRMED)


class ShootQuerySet(models.QuerySet["Shoot"]):
    def between(self, start: datetime, end: datetime) -> "ShootQuerySet":
        """Visits that begin in the span, in the order of the clock."""
        return self.filter(starts_at__gte=start, starts_at__lt=end).order_by("starts_at", "pk")

    def standing(self) -> "ShootQuerySet":
        """All but those that will not take place."""
        return self.exclude(state__in=(ShootState.CANCELLED, ShootState.NO_ACCESS))

    def with_people(self) -> "ShootQuerySet":
        return self.select_related("client", "property", "package").prefetch_related("crew")

    def without_time(self) -> "ShootQuerySet":
        """Orders that nobody has given a time yet, the oldest first."""
        return self.filter(state=ShootState.PENCILLED, starts_at=None).order_by("pk")

    def hold_ends_before(self, moment: datetime) -> "ShootQuerySet":
        """Timed holds that somebody should confirm or let go."""
        return self.filter(state=ShootState.PENCILLED, starts_at__isnull=False, hold_until__lte=moment)

    def ended_without_word(self, now: datetime) -> "ShootQuerySet":
        """Confirmed visits past their end of which the crew has not spoken."""
        return self.filter(state=ShootState.CONFIRMED, ends_at__lt=now)

    def never_checked_in(self, moment: datetime) -> "ShootQuerySet":
        """Confirmed visits that should have ended before that moment and to which nobody ever checked in."""
        return self.ended_without_word(moment).filter(check_ins=None)

    def with_open_tasks(self) -> "ShootQuerySet":
        """Captured shoots with editing tasks still to do, each with `open_tasks`, their number."""
        open_tasks = models.Count("tasks", filter=Q(tasks__state="open"))
        captured = self.filter(state=ShootState.CAPTURED).select_related("property")
        return captured.annotate(open_tasks=open_tasks).filter(open_tasks__gt=0)

    def held_past(self, now: datetime) -> "ShootQuerySet":
        """Pencilled shoots whose hold has run out."""
        return self.filter(state=ShootState.PENCILLED, hold_until__lte=now)

    def past_weather_decision(self, now: datetime) -> "ShootQuerySet":
        """Visits held for the weather of which somebody should have said by now whether they take place."""
        return self.filter(state__in=BUSY_STATES, weather_decide_at__lte=now)

    def to_remind(self, now: datetime, until: datetime) -> "ShootQuerySet":
        """Confirmed visits that begin in the span and of whose time the client has not been reminded."""
        reminded = Q(reminded_for__isnull=False, reminded_for=F("starts_at"))
        return self.filter(state=ShootState.CONFIRMED).exclude(reminded).between(now, until)

    def of_person(self, person: Person) -> "ShootQuerySet":
        return self.filter(members__person=person)

    def of_client_since(self, client: Client, since: datetime, until: datetime) -> int:
        """How many captured or booked visits a client had in the span."""
        return self.standing().filter(client=client, starts_at__gte=since, starts_at__lt=until).count()


class Shoot(Stateful):
    """One booked visit of a crew to a property; the number is the job's number everywhere.

    The crew arrives within [starts_at, window_end] and is expected to leave at ends_at, however late it arrives.
    `fee_percent` is what a late change may cost the client, for the invoice to take up.
    """

    ALLOWED = {
        ShootState.PENCILLED: frozenset({ShootState.CONFIRMED, ShootState.CANCELLED}),
        ShootState.CONFIRMED: frozenset({ShootState.CAPTURED, ShootState.CANCELLED, ShootState.NO_ACCESS}),
        ShootState.CAPTURED: frozenset({ShootState.CLOSED}),
        ShootState.NO_ACCESS: frozenset({ShootState.CLOSED}),
        ShootState.CLOSED: frozenset(),
        ShootState.CANCELLED: frozenset(),
    }

    number = models.CharField(_("number"), max_length=20, unique=True)
    client = models.ForeignKey(Client, models.PROTECT, related_name="shoots")
    property = models.ForeignKey(Property, models.PROTECT, related_name="shoots")
    package = models.ForeignKey(Package, models.PROTECT, related_name="+")
    state = models.CharField(max_length=10, choices=ShootState, default=ShootState.PENCILLED)
    crew = models.ManyToManyField(Person, through="CrewMember", related_name="shoots")

    starts_at = models.DateTimeField(_("arrival from"), null=True, blank=True)
    window_end = models.DateTimeField(_("arrival until"), null=True, blank=True)
    ends_at = models.DateTimeField(_("leaves at"), null=True, blank=True)
    hold_until = models.DateTimeField(_("held until"), null=True, blank=True)
    wished_days = models.CharField(_("wished days"), max_length=200, blank=True)
    notes = models.TextField(_("notes"), blank=True)
    calendar_uid = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    calendar_sequence = models.PositiveIntegerField(default=0)
    estimated_p50 = models.PositiveIntegerField(_("estimated minutes, half of such visits"), null=True, blank=True)
    estimated_p80 = models.PositiveIntegerField(_("estimated minutes, four in five"), null=True, blank=True)
    on_way_at = models.DateTimeField(null=True, blank=True)
    reminded_for = models.DateTimeField(null=True, blank=True)
    weather_decide_at = models.DateTimeField(_("held for the weather; decided by"), null=True, blank=True)
    weather_note = models.CharField(_("what we wait for"), max_length=200, blank=True)
    fee_percent = models.DecimalField(
        _("late fee, percent of the price"), max_digits=5, decimal_places=2, null=True, blank=True
    )
    fee_note = models.CharField(_("why a fee"), max_length=300, blank=True)

    capture_url = LinkField(_("capture link for the drafter"), blank=True)
    tour_branded_url = LinkField(_("branded tour link"), blank=True)
    tour_unbranded_url = LinkField(_("unbranded tour link"), blank=True)

    ordered_at = models.DateTimeField(_("ordered"))
    confirmed_at = models.DateTimeField(null=True, blank=True)
    captured_at = models.DateTimeField(null=True, blank=True)
    closed_at = models.DateTimeField(null=True, blank=True)
    ended_why = models.CharField(_("why it did not take place"), max_length=300, blank=True)

    objects = ShootQuerySet.as_manager()

    class Meta:
        indexes = [
            models.Index(fields=["starts_at", "id"], name="shoot_by_time"),
            models.Index(fields=["state", "hold_until"], name="shoot_by_state"),
            models.Index(fields=["client", "-id"], name="shoot_of_client"),
            models.Index(
                fields=["weather_decide_at"], name="shoot_weather", condition=Q(weather_decide_at__isnull=False)
            ),
        ]
        constraints = [
            models.CheckConstraint(
                condition=Q(starts_at=None) | Q(window_end__gte=F("starts_at"), ends_at__gt=F("starts_at")),
                name="shoot_time_in_order",
            )
        ]

    def __str__(self) -> str:
        return f"{self.number} {self.property.street}"

    def get_absolute_url(self) -> str:
        return reverse("jobs:shoot", args=[self.number])

    def planned_minutes(self) -> int | None:
        """Minutes on site, once the crew is there."""
        return int((self.ends_at - self.window_end).total_seconds()) // 60 if self.starts_at else None


class ShootAddOn(models.Model):
    """An extra ordered with a shoot."""

    shoot = models.ForeignKey(Shoot, models.CASCADE, related_name="add_ons")
    add_on = models.ForeignKey(AddOn, models.PROTECT, related_name="+")
    quantity = models.PositiveSmallIntegerField(default=1)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["shoot", "add_on"], name="add_on_once_a_shoot")]

    def __str__(self) -> str:
        return f"{self.quantity} × {self.add_on}"


class CrewMemberQuerySet(models.QuerySet["CrewMember"]):
    def standing(self, start: datetime, end: datetime) -> "CrewMemberQuerySet":
        """On visits that begin in the span and take place or took place, in the order of the clock."""
        off = Q(shoot__state__in=(ShootState.CANCELLED, ShootState.NO_ACCESS)) | ~Q(shoot__ended_why="")
        return (
            self.exclude(off)
            .filter(shoot__starts_at__gte=start, shoot__starts_at__lte=end)
            .select_related("shoot__property")
            .order_by("shoot__starts_at", "pk")
        )

    def holding(self, start: datetime, end: datetime) -> "CrewMemberQuerySet":
        """What keeps people busy within the span, in the order of the clock; spans that only touch do not count."""
        return (
            self.filter(busy_from__lt=end, busy_until__gt=start)
            .select_related("shoot__property")
            .order_by("shoot__starts_at", "pk")
        )


class CrewMember(models.Model):
    """One person on one shoot, and the time that shoot keeps them busy, the way there and back included.

    Both times are empty once the shoot no longer holds the person.
    """

    shoot = models.ForeignKey(Shoot, models.CASCADE, related_name="members")
    person = models.ForeignKey(Person, models.PROTECT, related_name="memberships")
    busy_from = models.DateTimeField(null=True)
    busy_until = models.DateTimeField(null=True)

    objects = CrewMemberQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["shoot", "person"], name="person_once_a_shoot"),
            models.CheckConstraint(
                condition=Q(busy_from=None, busy_until=None) | Q(busy_until__gt=F("busy_from")), name="busy_in_order"
            ),
        ]
        indexes = [models.Index(fields=["person", "busy_from"], name="busy_of_person")]

    def __str__(self) -> str:
        return f"{self.person} on {self.shoot_id}"
