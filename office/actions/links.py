"""Making, opening and ending capability links (W3C, Good Practices for Capability URLs)."""

import base64
import hashlib
import hmac
import ipaddress
from datetime import datetime, timedelta
from uuid import UUID

from django.conf import settings
from django.contrib.auth.hashers import check_password, make_password
from django.db import transaction
from django.utils.translation import gettext as _

from office.errors import Refused
from office.models import CapabilityLink, LinkUse, Office, Purpose

from .actors import Actor
from .events import record


def token_of(key: UUID) -> str:
    """The 256-bit token of a link, remade from the office's secret, so that it need not be stored."""
    digest = hmac.digest(settings.LINK_SECRET.encode(), key.bytes, "sha256")
    return base64.urlsafe_b64encode(digest).rstrip(b"=").decode()


def hashed(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()


def url_of(link: CapabilityLink) -> str:
    """The address to send to the holder."""
    return f"{settings.OUTSIDE_ADDRESS}/open/{token_of(link.key)}/"


def make_link(
    *, purpose: Purpose, subject_id: int, holder_name: str, holder_email: str, by: Actor, now: datetime,
    days: int | None = None, passcode: str = "", job: str = "",
) -> CapabilityLink:  # fmt: skip
    """A new link to one subject, open for `days` (the office's own figure when not said)."""
    link = CapabilityLink(
        purpose=purpose,
        subject_id=subject_id,
        holder_name=holder_name,
        holder_email=holder_email,
        passcode_hash=make_password(passcode) if passcode else "",
        made_at=now,
        expires_at=now + timedelta(days=Office.the().link_days if days is None else days),
    )
    link.token_hash = hashed(token_of(link.key))
    with transaction.atomic():
        link.save(force_insert=True)
        record(by=by, now=now, verb="link-made", text=_("made a link: %s") % link, subject=link, job=job)
    return link


def open_link_to(
    *, purpose: Purpose, subject_id: int, holder_name: str, holder_email: str, by: Actor, now: datetime, job: str = ""
) -> CapabilityLink:
    """The newest link that is still open, or a new one."""
    holder = {"holder_name": holder_name, "holder_email": holder_email}
    found = CapabilityLink.objects.open(now).to(purpose, subject_id).filter(holder_email=holder_email).first()
    return found or make_link(purpose=purpose, subject_id=subject_id, **holder, by=by, now=now, job=job)


def find_link(token: str, now: datetime) -> CapabilityLink | None:
    """The open link of a token. The look-up is by hash, so its timing tells nothing of a token."""
    return CapabilityLink.objects.open(now).filter(token_hash=hashed(token)).first()


def passcode_fits(link: CapabilityLink, passcode: str) -> bool:
    return not link.passcode_hash or check_password(passcode, link.passcode_hash)


def note_use(*, link: CapabilityLink, what: str, address: str, now: datetime) -> None:
    """Log an opening; the address is cut to its network, enough to tell a stranger from the client."""
    LinkUse.objects.create(link=link, at=now, network=_network(address), what=what)


def revoke_link(*, link: CapabilityLink, by: Actor, now: datetime, job: str = "") -> CapabilityLink:
    """End a link at once."""
    with transaction.atomic():
        if not CapabilityLink.objects.filter(pk=link.pk, revoked_at=None).update(revoked_at=now):
            raise Refused(_("This link was ended already."))
        record(by=by, now=now, verb="link-revoked", text=_("ended the link: %s") % link, subject=link, job=job)
    link.revoked_at = now
    return link


def _network(address: str) -> str:
    try:
        version = ipaddress.ip_address(address).version
    except ValueError:
        return ""
    return str(ipaddress.ip_network(f"{address}/{24 if version == 4 else 48}", strict=False))
