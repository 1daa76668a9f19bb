"""The event log: who did what, when, on what. Rows outlive their subjects, so names and texts stand on them."""

from django.db import models
from django.utils.translation import gettext_lazy as _


class ActorKind(models.TextChoices):
    PERSON = "person", _("Person of the office")
    LINK = "link", _("By link")
    PROGRAM = "program", _("The program")


class EventQuerySet(models.QuerySet["Event"]):
    def of_job(self, job: str) -> "EventQuerySet":
        """The history of one job, newest first."""
        return self.filter(job=job).order_by("-pk")

    def of_subject(self, subject: models.Model) -> "EventQuerySet":
        return self.filter(subject_kind=subject._meta.model_name, subject_id=subject.pk).order_by("-pk")


class Event(models.Model):
    """One thing that happened. Never changed, never deleted by the program's pages."""

    at = models.DateTimeField(db_index=True)
    actor_kind = models.CharField(max_length=8, choices=ActorKind)
    actor_name = models.CharField(max_length=160)
    person = models.ForeignKey("office.Person", models.SET_NULL, null=True, related_name="+")
    verb = models.CharField(max_length=40)
    text = models.TextField()
    subject_kind = models.CharField(max_length=40)
    subject_id = models.BigIntegerField()
    subject_text = models.CharField(max_length=200)
    job = models.CharField(max_length=20, blank=True)
    details = models.JSONField(default=dict)

    objects = EventQuerySet.as_manager()

    class Meta:
        indexes = [
            models.Index(fields=["job", "-id"], name="event_of_job"),
            models.Index(fields=["subject_kind", "subject_id", "-id"], name="event_of_subject"),
        ]

    def __str__(self) -> str:
        return f"{self.at:%Y-%m-%d %H:%M} {self.actor_name}: {self.text}"
