"""Errands: promised by a row, claimed by a lease, found again by the sweep when a worker dies."""

import logging
from datetime import datetime, timedelta

from django.db import transaction
from django.utils import timezone

from office.models import Errand
from office.registry import QUICK, registry

from .nudges import nudge

log = logging.getLogger(__name__)

LEASE = timedelta(seconds=90)


def promise_errand(
    *, kind: str, subject_id: int, now: datetime, run_after: datetime | None = None, key: str = ""
) -> Errand:
    """Write the errand in the caller's transaction; the same key a second time is the same errand."""
    errand, made = Errand.objects.get_or_create(
        key=key or f"{kind}:{subject_id}",
        defaults={"kind": kind, "subject_id": subject_id, "run_after": run_after or now},
    )
    if made:
        queue = registry.slow_errands.get(kind, QUICK)
        transaction.on_commit(lambda: nudge("office.tasks.run_waiting_errands", queue))
    return errand


def run_waiting(*, now: datetime, queue: str = "", most: int = 20) -> int:
    """Run what is due in a queue, or in all; returns how many were done. Safe in several workers at once."""
    due = Errand.objects.waiting(now)
    if queue:
        due = due.filter(kind__in=registry.kinds_in(queue))
    return sum(_run_if_mine(errand) for errand in due[:most])


def _run_if_mine(errand: Errand) -> bool:
    now = timezone.now()
    mine = Errand.objects.waiting(now).filter(pk=errand.pk)
    if not mine.update(lease_until=now + LEASE, attempts=errand.attempts + 1):
        return False
    try:
        registry.errands[errand.kind](errand.subject_id)
    except Exception as error:
        log.exception("errand %s failed", errand.key)
        _put_back(errand, error)
        return False
    Errand.objects.filter(pk=errand.pk).update(done_at=timezone.now(), lease_until=None)
    return True


def _put_back(errand: Errand, error: Exception) -> None:
    pause = timedelta(seconds=10 * 2**errand.attempts)
    Errand.objects.filter(pk=errand.pk).update(
        lease_until=None, run_after=timezone.now() + pause, last_error=f"{type(error).__name__}: {error}"[:300]
    )
