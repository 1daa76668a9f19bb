"""The outbox: writing notices, sending them once, and finding those a dying process left unsure."""

import logging
import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from email.utils import formataddr
from typing import Any

from django.core.mail import EmailMultiAlternatives
from django.db import transaction
from django.template.loader import render_to_string
from django.utils import timezone
from django.utils.translation import gettext as _

from office.errors import Refused
from office.models import CapabilityLink, Enclosure, Notice, NoticeState, Office

from .actors import Actor
from .events import record
from .links import url_of
from .nudges import nudge
from .states import move

log = logging.getLogger(__name__)

HANDED_FOR = timedelta(minutes=2)
RETRY_AFTER = (timedelta(minutes=1), timedelta(minutes=10), timedelta(hours=1), timedelta(hours=6))


@dataclass(frozen=True)
class Attachment:
    """A file to go with a notice."""

    name: str
    content_type: str
    content: bytes


def write_notice(
    *, key: str, template: str, to_name: str, to_address: str, now: datetime, job: str = "",
    link: CapabilityLink | None = None, send_after: datetime | None = None,
    enclosures: Sequence[Attachment] = (), **context: Any,
) -> Notice:  # fmt: skip
    """Put a mail in the outbox, in the caller's transaction; the same `key` a second time changes nothing.

    `templates/mail/<template>.subject.txt`, `.txt` and `.html` are rendered now. A link stands in the text as a
    marker and becomes an address only while sending, so the outbox holds no token.
    """
    context |= {"office": Office.the(), "to_name": to_name, "link": _marker(link) if link else ""}
    notice, made = Notice.objects.get_or_create(
        key=key,
        defaults={
            "to_name": to_name,
            "to_address": to_address,
            "subject": " ".join(render_to_string(f"mail/{template}.subject.txt", context).split())[:200],
            "text": render_to_string(f"mail/{template}.txt", context),
            "html": render_to_string(f"mail/{template}.html", context),
            "job": job,
            "written_at": now,
            "send_after": send_after or now,
        },
    )
    if made:
        Enclosure.objects.bulk_create([Enclosure(notice=notice, **vars(enclosure)) for enclosure in enclosures])
        transaction.on_commit(lambda: nudge("office.tasks.send_waiting_notices"))
    return notice


def withdraw_notices(*, key_prefix: str) -> int:
    """Take back what is still waiting under keys that begin so: what they chase has come."""
    waiting = Notice.objects.filter(key__startswith=key_prefix, state=NoticeState.WAITING, handed_at=None)
    return waiting.update(state=NoticeState.WITHDRAWN)


def send_waiting(*, now: datetime, most: int = 100) -> int:
    """Send what is due; returns how many left. Safe to run in several workers at once."""
    return sum(_send_if_mine(notice) for notice in Notice.objects.ready(now)[:most])


def mark_unsure(*, now: datetime) -> int:
    """Notices that a process handed over and never came back from may or may not have left: a person decides."""
    left = Notice.objects.handed_before(now - HANDED_FOR)
    return left.update(state=NoticeState.UNSURE)


def settle_unsure(*, notice: Notice, send_again: bool, by: Actor, now: datetime) -> Notice:
    """The owner's word on an unsure notice: it arrived, or send it again."""
    if notice.state != NoticeState.UNSURE:
        raise Refused(_("This notice is no longer unsure."))
    with transaction.atomic():
        if send_again:
            move(notice, NoticeState.WAITING, handed_at=None, send_after=now)
            text = _("had a notice sent again: %s")
        else:
            move(notice, NoticeState.SENT, sent_at=notice.handed_at)
            text = _("found that a notice had arrived: %s")
        record(by=by, now=now, verb="notice-settled", text=text % notice, subject=notice, job=notice.job)
    return notice


def _send_if_mine(notice: Notice) -> bool:
    """Claim, hand over, note. Between handing over and noting lies the only moment a notice can become unsure."""
    handed_at = timezone.now()
    mine = Notice.objects.filter(pk=notice.pk, state=NoticeState.WAITING, handed_at=None)
    if not mine.update(handed_at=handed_at):
        return False
    try:
        _as_mail(notice).send()
    except Exception as error:
        _put_back(notice, error)
        return False
    Notice.objects.filter(pk=notice.pk).update(state=NoticeState.SENT, sent_at=timezone.now())
    return True


def _put_back(notice: Notice, error: Exception) -> None:
    """The mail server refused or was away, so the mail did not leave: try again later, ever more slowly."""
    log.warning("notice %s could not be sent: %s", notice.key, type(error).__name__)
    pause = RETRY_AFTER[min(notice.attempts, len(RETRY_AFTER) - 1)]
    Notice.objects.filter(pk=notice.pk).update(
        handed_at=None,
        send_after=timezone.now() + pause,
        attempts=notice.attempts + 1,
        last_error=f"{type(error).__name__}: {error}"[:300],
    )


def _as_mail(notice: Notice) -> EmailMultiAlternatives:
    links = _links_in(notice)
    mail = EmailMultiAlternatives(
        subject=notice.subject, body=_with_links(notice.text, links), to=[_address(notice)]
    )  # fmt: skip
    if notice.html:
        mail.attach_alternative(_with_links(notice.html, links), "text/html")
    for enclosure in notice.enclosures.all():
        mail.attach(enclosure.name, bytes(enclosure.content), enclosure.content_type)
    return mail


def _address(notice: Notice) -> str:
    return formataddr((notice.to_name, notice.to_address)) if notice.to_name else notice.to_address


def _marker(link: CapabilityLink) -> str:
    return f"open-link:{link.key}"


def _links_in(notice: Notice) -> list[CapabilityLink]:
    keys = set(re.findall(r"open-link:([0-9a-f-]{36})", notice.text + notice.html))
    return list(CapabilityLink.objects.filter(key__in=keys))


def _with_links(text: str, links: list[CapabilityLink]) -> str:
    for link in links:
        text = text.replace(_marker(link), url_of(link))
    return text
