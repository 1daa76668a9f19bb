"""The ground floor's own matters and chores."""

from collections.abc import Iterator
from datetime import datetime

from django.urls import reverse
from django.utils.translation import gettext as _

from office.actions.once import forget_old_keys
from office.models import Errand, Notice
from office.registry import Matter, registry


def matters(now: datetime) -> Iterator[Matter]:
    yield from map(_unsure, Notice.objects.unsure())
    yield from map(_given_up, Errand.objects.given_up())


def _unsure(notice: Notice) -> Matter:
    return Matter(
        key=f"unsure:{notice.pk}",
        text=_("A mail to %s may not have left") % notice.to_address,
        why=_("The program stopped while handing it over: “%s”.") % notice.subject,
        since=notice.handed_at,
        url=reverse("office:notice", args=[notice.pk]),
        action=_("Say what happened"),
        weight=80,
    )


def _given_up(errand: Errand) -> Matter:
    return Matter(
        key=f"errand:{errand.pk}",
        text=_("Work in the background failed: %s") % errand.kind,
        why=_("It was tried %(times)d times. The last time: %(error)s")
        % {"times": errand.attempts, "error": errand.last_error},
        since=errand.run_after,
        url=reverse("office:events"),
        action=_("Look at the log"),
        weight=60,
    )  # fmt: skip


def prune(now: datetime) -> None:
    forget_old_keys(now=now)


def hang_up() -> None:
    registry.matters.append(matters)
    registry.chores.append(prune)
