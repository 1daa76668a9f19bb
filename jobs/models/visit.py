"""What happens around a visit: who is on site, what was tried at a closed door, the kit, and what was written."""

from datetime import datetime

from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from office.models import Notice, Person

from .package import Covers
from .shoot import Shoot


class CheckInQuerySet(models.QuerySet["CheckIn"]):
    def open(self) -> "CheckInQuerySet":
        """Who is on site now."""
        return self.filter(left_at=None)

    def due_before(self, moment: datetime) -> "CheckInQuerySet":
        """Still on site, and expected out before that moment."""
        return self.open().filter(due_out_at__lt=moment).select_related("person", "shoot__property")


class CheckIn(models.Model):
    """One person's time on one site. `due_out_at` is when they are expected to be out."""

    shoot = models.ForeignKey(Shoot, models.CASCADE, related_name="check_ins")
    person = models.ForeignKey(Person, models.PROTECT, related_name="check_ins")
    arrived_at = models.DateTimeField()
    due_out_at = models.DateTimeField()
    left_at = models.DateTimeField(null=True, blank=True)

    objects = CheckInQuerySet.as_manager()

    class Meta:
        ordering = ["arrived_at", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["person"], condition=Q(left_at=None), name="on_one_site_at_once"),
            models.CheckConstraint(condition=Q(left_at=None) | Q(left_at__gte=F("arrived_at")), name="out_after_in"),
        ]
        indexes = [models.Index(fields=["due_out_at"], name="check_in_due", condition=Q(left_at=None))]

    def __str__(self) -> str:
        return f"{self.person} at {self.shoot}"


class Tried(models.TextChoices):
    RANG = "rang", _("Rang the bell and knocked")
    CALLED = "called", _("Called the client")
    CALLED_OFFICE = "called_office", _("Called the office")
    WENT_ROUND = "went_round", _("Went round the house")
    LEFT_CARD = "left_card", _("Left a card")


class NoAccessNote(models.Model):
    """What the crew tried before a closed door, and a photo of it."""

    shoot = models.OneToOneField(Shoot, models.CASCADE, related_name="no_access")
    tried = models.JSONField(_("tried"), default=list)
    waited_minutes = models.PositiveSmallIntegerField(_("waited, minutes"), default=0)
    photo = models.FileField(upload_to="no-access/", blank=True)
    noted_at = models.DateTimeField()
    noted_by = models.ForeignKey(Person, models.PROTECT, null=True, related_name="+")

    def __str__(self) -> str:
        return f"no access at {self.shoot}"

    @property
    def tried_words(self) -> list[str]:
        return [str(Tried(code).label) for code in self.tried]


class Stage(models.TextChoices):
    OFFICE = "office", _("Leaving the office")
    PROPERTY = "property", _("Leaving the property")


class KitTick(models.Model):
    """One thing of the kit list, seen to be in the bag at one of the two moments."""

    shoot = models.ForeignKey(Shoot, models.CASCADE, related_name="kit_ticks")
    stage = models.CharField(max_length=10, choices=Stage)
    item = models.CharField(max_length=120)
    ticked_at = models.DateTimeField()
    ticked_by = models.ForeignKey(Person, models.PROTECT, null=True, related_name="+")

    class Meta:
        constraints = [models.UniqueConstraint(fields=["shoot", "stage", "item"], name="kit_ticked_once")]

    def __str__(self) -> str:
        return f"{self.item}, {self.get_stage_display()}"


class MessageKind(models.TextChoices):
    CONFIRMED = "confirmed", _("Visit confirmed")
    MOVED = "moved", _("Visit moved")
    OFF = "off", _("Visit called off")
    REMINDER = "reminder", _("Reminder")
    ON_WAY = "on_way", _("On our way")
    WEATHER = "weather", _("Weather hold")
    GOES_AHEAD = "goes_ahead", _("Goes ahead")


class VisitMessage(models.Model):
    """What the client was written about the visit; the notice says whether it has left."""

    shoot = models.ForeignKey(Shoot, models.CASCADE, related_name="messages")
    kind = models.CharField(max_length=10, choices=MessageKind)
    notice = models.OneToOneField(Notice, models.PROTECT, related_name="+")
    written_at = models.DateTimeField()

    class Meta:
        ordering = ["written_at", "pk"]

    def __str__(self) -> str:
        return f"{self.get_kind_display()}: {self.shoot}"


class PastVisit(models.Model):
    """A captured visit as estimates learn from it, frozen as it was: what was there, and what it took."""

    shoot = models.OneToOneField(Shoot, models.CASCADE, related_name="past_visit")
    area_m2 = models.DecimalField(max_digits=10, decimal_places=4)
    levels = models.PositiveSmallIntegerField()
    closets = models.PositiveSmallIntegerField()
    baths = models.PositiveSmallIntegerField()
    garage = models.BooleanField()
    covers = models.CharField(max_length=4, choices=Covers)
    crew = models.PositiveSmallIntegerField()
    minutes = models.PositiveIntegerField()
    stations = models.PositiveIntegerField(null=True)
    promised_p80 = models.PositiveIntegerField(null=True)
    left_at = models.DateTimeField()

    class Meta:
        ordering = ["left_at", "pk"]
        constraints = [models.CheckConstraint(condition=Q(minutes__gt=0), name="past_visit_took_time")]
        indexes = [models.Index(fields=["-left_at", "-id"], name="past_visit_newest")]

    def __str__(self) -> str:
        return f"{self.shoot}: {self.minutes} min"
