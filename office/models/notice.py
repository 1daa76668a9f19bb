"""The outbox. A notice is waiting, sent, unsure or withdrawn; never sent twice, never silently lost."""

from datetime import datetime

from django.db import models
from django.utils.translation import gettext_lazy as _

from .state import Stateful


class NoticeState(models.TextChoices):
    WAITING = "waiting", _("Waiting")
    SENT = "sent", _("Sent")
    UNSURE = "unsure", _("Unsure")
    WITHDRAWN = "withdrawn", _("Withdrawn")


class NoticeQuerySet(models.QuerySet["Notice"]):
    def ready(self, now: datetime) -> "NoticeQuerySet":
        """Waiting, due, and in nobody's hands."""
        return self.filter(state=NoticeState.WAITING, handed_at=None, send_after__lte=now).order_by("send_after", "pk")

    def handed_before(self, moment: datetime) -> "NoticeQuerySet":
        """Given to the mail server by a process that never came back to say so."""
        return self.filter(state=NoticeState.WAITING, handed_at__lt=moment)

    def unsure(self) -> "NoticeQuerySet":
        return self.filter(state=NoticeState.UNSURE).order_by("handed_at")


class Notice(Stateful):
    """One mail to one person. `key` says what it is about, so that writing it twice makes one row."""

    ALLOWED = {
        NoticeState.WAITING: frozenset({NoticeState.SENT, NoticeState.UNSURE, NoticeState.WITHDRAWN}),
        NoticeState.UNSURE: frozenset({NoticeState.SENT, NoticeState.WAITING, NoticeState.WITHDRAWN}),
        NoticeState.SENT: frozenset(),
        NoticeState.WITHDRAWN: frozenset(),
    }

    key = models.CharField(max_length=120, unique=True)
    to_name = models.CharField(max_length=160, blank=True)
    to_address = models.EmailField()
    subject = models.CharField(max_length=200)
    text = models.TextField()
    html = models.TextField(blank=True)
    job = models.CharField(max_length=20, blank=True)
    state = models.CharField(max_length=10, choices=NoticeState, default=NoticeState.WAITING)
    written_at = models.DateTimeField()
    send_after = models.DateTimeField()
    handed_at = models.DateTimeField(null=True, blank=True)
    sent_at = models.DateTimeField(null=True, blank=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    last_error = models.CharField(max_length=300, blank=True)

    objects = NoticeQuerySet.as_manager()

    class Meta:
        indexes = [models.Index(fields=["state", "send_after"], name="notice_ready")]

    def __str__(self) -> str:
        return f"{self.subject} to {self.to_address}"


class Enclosure(models.Model):
    """A file that goes with a notice."""

    notice = models.ForeignKey(Notice, models.CASCADE, related_name="enclosures")
    name = models.CharField(max_length=120)
    content_type = models.CharField(max_length=80)
    content = models.BinaryField()

    def __str__(self) -> str:
        return self.name
