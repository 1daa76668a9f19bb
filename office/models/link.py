"""Capability links: whoever holds the link may open the one thing it was made for, until it ends."""

import uuid
from datetime import datetime

from django.db import models
from django.utils.translation import gettext_lazy as _


class Purpose(models.TextChoices):
    """What a link opens. Each floor says which page that is in `office.registry`."""

    DRAFTER = "drafter", _("Drafter's page")
    QUOTE = "quote", _("Quote")
    HANDOVER = "handover", _("Handover")
    INVOICE = "invoice", _("Invoice")
    CALENDAR = "calendar", _("Calendar feed")


class CapabilityLinkQuerySet(models.QuerySet["CapabilityLink"]):
    def open(self, now: datetime) -> "CapabilityLinkQuerySet":
        """Neither revoked nor past their end."""
        return self.filter(revoked_at=None, expires_at__gt=now)

    def to(self, purpose: str, subject_id: int) -> "CapabilityLinkQuerySet":
        return self.filter(purpose=purpose, subject_id=subject_id).order_by("-pk")


class CapabilityLink(models.Model):
    """One link. The token itself is nowhere in the database: the office's secret and `key` remake it for a mail."""

    key = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    token_hash = models.CharField(max_length=64, unique=True)
    purpose = models.CharField(max_length=12, choices=Purpose)
    subject_id = models.BigIntegerField()
    holder_name = models.CharField(max_length=160)
    holder_email = models.EmailField(blank=True)
    passcode_hash = models.CharField(max_length=200, blank=True)
    made_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    revoked_at = models.DateTimeField(null=True, blank=True)

    objects = CapabilityLinkQuerySet.as_manager()

    class Meta:
        indexes = [models.Index(fields=["purpose", "subject_id"], name="link_to_subject")]

    def __str__(self) -> str:
        return f"{self.get_purpose_display()} for {self.holder_name}"

    def is_open(self, now: datetime) -> bool:
        return self.revoked_at is None and self.expires_at > now


class LinkUse(models.Model):
    """One opening of a link, with the sender's network address cut to its network."""

    link = models.ForeignKey(CapabilityLink, models.CASCADE, related_name="uses")
    at = models.DateTimeField()
    network = models.CharField(max_length=50, blank=True)
    what = models.CharField(max_length=80)

    class Meta:
        ordering = ["-pk"]

    def __str__(self) -> str:
        return f"{self.what} {self.at:%Y-%m-%d %H:%M}"
