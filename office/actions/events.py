"""Writing the event log."""

from datetime import datetime
from typing import Any

from django.db import models

from office.models import Event

from .actors import Actor


def record(
    *, by: Actor, now: datetime, verb: str, text: str, subject: models.Model, job: str = "", **details: Any
) -> Event:
    """Note what `by` did to `subject`, within the transaction that did it."""
    return Event.objects.create(
        at=now,
        actor_kind=by.kind,
        actor_name=by.name[:160],
        person=by.person,
        verb=verb,
        text=text,
        subject_kind=subject._meta.model_name,
        subject_id=subject.pk,
        subject_text=str(subject)[:200],
        job=job,
        details=details,
    )
