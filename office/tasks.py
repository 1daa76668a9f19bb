"""Celery entry points of the ground floor: each finds its rows again, so running one twice is harmless."""

import logging

from celery import shared_task
from django.utils import timezone

from office.actions.errands import run_waiting
from office.actions.notices import mark_unsure, send_waiting
from office.registry import registry

log = logging.getLogger(__name__)


@shared_task
def send_waiting_notices() -> int:
    now = timezone.now()
    mark_unsure(now=now)
    return send_waiting(now=now)


@shared_task
def run_waiting_errands(queue: str) -> int:
    return run_waiting(now=timezone.now(), queue=queue)


@shared_task
def run_chores() -> None:
    """Everything that falls due by the clock: holds that lapse, chasing, pruning."""
    now = timezone.now()
    for chore in registry.chores:
        try:
            chore(now)
        except Exception:
            log.exception("a chore failed; the others go on")
