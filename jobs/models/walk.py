"""The logged walk: stations, and what is to be done to the capture afterwards."""

import uuid
from datetime import datetime

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from office.models import Person, Stateful

from .package import Severity
from .property import Level, Opening, Space
from .shoot import Shoot


class Pass(models.TextChoices):
    PLAN = "plan", _("Plan")
    TOUR = "tour", _("Tour")
    BOTH = "both", _("Both")


class StationQuerySet(models.QuerySet["Station"]):
    def in_order(self) -> "StationQuerySet":
        return self.select_related("level", "space__level", "opening").order_by("number", "pk")


class Station(models.Model):
    """One numbered capture position. `uuid` is made by the phone, so that sending it twice makes one row."""

    uuid = models.UUIDField(default=uuid.uuid4, unique=True)
    shoot = models.ForeignKey(Shoot, models.CASCADE, related_name="stations")
    number = models.PositiveIntegerField(_("station"))
    level = models.ForeignKey(Level, models.PROTECT, related_name="+")
    space = models.ForeignKey(Space, models.PROTECT, related_name="stations")
    captured_for = models.CharField(_("pass"), max_length=4, choices=Pass, default=Pass.BOTH)
    pair_of = models.PositiveIntegerField(_("pair of"), null=True, blank=True)
    opening = models.ForeignKey(Opening, models.SET_NULL, null=True, blank=True, related_name="+")
    ties_to = models.PositiveIntegerField(_("ties to"), null=True, blank=True)
    x = models.DecimalField(max_digits=8, decimal_places=3, null=True, blank=True)
    y = models.DecimalField(max_digits=8, decimal_places=3, null=True, blank=True)
    note = models.CharField(_("note"), max_length=200, blank=True)
    logged_by = models.ForeignKey(Person, models.PROTECT, related_name="+")
    logged_at = models.DateTimeField()

    objects = StationQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["shoot", "number"], name="station_number_once"),
            models.CheckConstraint(condition=Q(number__gt=0), name="station_number_positive"),
        ]

    def __str__(self) -> str:
        return f"{self.number} in {self.space}"


class RemovedStation(models.Model):
    """A station that was taken out of the log: a phone that sends it again, late, must not bring it back."""

    uuid = models.UUIDField(unique=True)
    shoot = models.ForeignKey(Shoot, models.CASCADE, related_name="removed_stations")
    removed_at = models.DateTimeField()

    def __str__(self) -> str:
        return str(self.uuid)


def photo_path(photo: "PhotoNote", _name: str) -> str:
    return f"photos/{photo.shoot_id}/{photo.uuid}.jpg"


class PhotoNote(models.Model):
    """A picture with a few words, taken by the crew for the office. `uuid` is made by the phone."""

    uuid = models.UUIDField(default=uuid.uuid4, unique=True)
    shoot = models.ForeignKey(Shoot, models.CASCADE, related_name="photos")
    station = models.ForeignKey(Station, models.SET_NULL, null=True, blank=True, related_name="photos")
    picture = models.FileField(upload_to=photo_path)
    note = models.CharField(_("note"), max_length=200, blank=True)
    taken_by = models.ForeignKey(Person, models.PROTECT, related_name="+")
    taken_at = models.DateTimeField()

    class Meta:
        ordering = ["shoot", "pk"]

    def __str__(self) -> str:
        return self.note or str(self.uuid)


class TaskState(models.TextChoices):
    OPEN = "open", _("Open")
    DONE = "done", _("Done")
    WITHDRAWN = "withdrawn", _("Withdrawn")


class EditingTaskQuerySet(models.QuerySet["EditingTask"]):
    def open(self) -> "EditingTaskQuerySet":
        return self.filter(state=TaskState.OPEN)

    def first_overdue(self, now: datetime) -> dict[int, datetime]:
        """Since when each shoot with an overdue task has had one, by the shoot's key."""
        late = self.open().filter(due_at__lt=now).order_by()
        return dict(late.values_list("shoot").annotate(since=models.Min("due_at")))

    def blocking(self, shoot: Shoot) -> "EditingTaskQuerySet":
        """What must be done before the shoot's tour may be handed over."""
        return self.open().filter(shoot=shoot, severity=Severity.MUST)


class EditingTask(Stateful):
    """One thing to do to the capture before it may be shown or drafted."""

    ALLOWED = {
        TaskState.OPEN: frozenset({TaskState.DONE, TaskState.WITHDRAWN}),
        TaskState.DONE: frozenset({TaskState.OPEN}),
        TaskState.WITHDRAWN: frozenset({TaskState.OPEN}),
    }

    shoot = models.ForeignKey(Shoot, models.CASCADE, related_name="tasks")
    code = models.CharField(max_length=40)
    text = models.CharField(_("task"), max_length=400)
    severity = models.CharField(max_length=6, choices=Severity, default=Severity.SHOULD)
    state = models.CharField(max_length=10, choices=TaskState, default=TaskState.OPEN)
    stations = models.JSONField(default=list, blank=True)
    due_at = models.DateTimeField(null=True, blank=True)
    done_at = models.DateTimeField(null=True, blank=True)
    done_by = models.ForeignKey(Person, models.SET_NULL, null=True, blank=True, related_name="+")
    note = models.CharField(_("note"), max_length=200, blank=True)

    objects = EditingTaskQuerySet.as_manager()

    class Meta:
        ordering = ["shoot", "pk"]
        constraints = [models.UniqueConstraint(fields=["shoot", "code"], name="task_once_a_shoot")]
        indexes = [models.Index(fields=["state", "due_at"], name="task_by_due")]

    def __str__(self) -> str:
        return self.text
