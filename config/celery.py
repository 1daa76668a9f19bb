"""The Celery application. Tasks are thin: each finds its rows again and calls an action."""

import os

from celery import Celery

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings.laptop")

app = Celery("stairhead")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()
