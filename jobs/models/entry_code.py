"""Entry codes: how to get in. Kept sealed, shown to the crew around the visit, gone soon after."""

from datetime import datetime, timedelta

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from office.models import Person

from .shoot import Shoot, ShootState


class EntryKind(models.TextChoices):
    DOOR = "door", _("Door")
    LOCKBOX = "lockbox", _("Lockbox")
    GATE = "gate", _("Gate")
    GARAGE = "garage", _("Garage")
    ALARM = "alarm", _("Alarm")


class EntryCodeQuerySet(models.QuerySet["EntryCode"]):
    def no_longer_needed(self, now: datetime, kept_for: timedelta) -> "EntryCodeQuerySet":
        """Of visits that will not take place, and of those captured, or ended without a word, so long ago."""
        over = (ShootState.CANCELLED, ShootState.NO_ACCESS, ShootState.CLOSED)
        long_ago = now - kept_for
        return self.filter(
            Q(shoot__state__in=over)
            | Q(shoot__captured_at__lte=long_ago)
            | Q(shoot__state=ShootState.CONFIRMED, shoot__ends_at__lte=long_ago)
        )


class EntryCode(models.Model):
    """One way in. `sealed` is the code, encrypted; nothing else about it is kept."""

    shoot = models.ForeignKey(Shoot, models.CASCADE, related_name="entry_codes")
    kind = models.CharField(_("for"), max_length=8, choices=EntryKind, default=EntryKind.DOOR)
    sealed = models.TextField()
    written_by = models.ForeignKey(Person, models.PROTECT, related_name="+")
    written_at = models.DateTimeField()

    objects = EntryCodeQuerySet.as_manager()

    class Meta:
        ordering = ["shoot", "pk"]

    def __str__(self) -> str:
        return self.get_kind_display()
