"""Nudges: a Celery message that says "look at your rows now". Losing one costs a second, never work."""

import logging

from django.conf import settings

log = logging.getLogger(__name__)


def nudge(task: str, *queues: str) -> None:
    """Ask a worker to run `task` soon, for a queue. The sweep would find the rows anyway: no failure here may hurt."""
    if not getattr(settings, "NUDGES", True):
        return
    from config.celery import app

    try:
        app.send_task(task, args=queues, queue=queues[0] if queues else None, retry=False)
    except Exception:
        log.warning("no nudge for %s: the broker did not answer", task, exc_info=True)
