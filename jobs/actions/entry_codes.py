"""Entry codes: sealed when written, shown to the crew of a confirmed visit around its time, deleted soon after.

A code stands nowhere but in its sealed row and on the page that shows it: not in events, notices, calendars, files
or logs.
"""

import base64
from datetime import datetime

from cryptography.fernet import Fernet, InvalidToken, MultiFernet
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from django.conf import settings
from django.db import transaction
from django.utils.translation import gettext as _
from django.views.decorators.debug import sensitive_variables

from jobs.models import EntryCode, Shoot, ShootState, WalkSettings
from office.actions.actors import PROGRAM, Actor
from office.actions.events import record
from office.actions.states import locked
from office.errors import Refused
from office.models import Office, Person
from office.rules.date_format import format_span

LONGEST_CODE = 80
MOST_CODES = 8
PURPOSE = b"stairhead entry codes"
WRITTEN_WHILE = {ShootState.PENCILLED, ShootState.CONFIRMED}


@sensitive_variables("code")
@transaction.atomic
def write_entry_code(*, shoot: Shoot, kind: str, code: str, by: Actor, now: datetime) -> EntryCode:
    """Keep a code for the visit; from now on nobody but its crew reads it."""
    shoot = locked(shoot)
    if shoot.state not in WRITTEN_WHILE:
        raise Refused(_("A %s visit needs no entry code.") % shoot.get_state_display().lower(), field="code")
    if shoot.entry_codes.count() >= MOST_CODES:
        raise Refused(_("A visit has at most %d entry codes.") % MOST_CODES, field="code")
    row = EntryCode.objects.create(
        shoot=shoot, kind=kind, sealed=_seal().encrypt(code.encode()).decode(), written_by=by.person, written_at=now
    )
    _tell(row, by, now, "entry-code-written", _("wrote an entry code: %s") % row)
    return row


@transaction.atomic
def remove_entry_code(*, entry_code: EntryCode, by: Actor, now: datetime) -> None:
    row = locked(entry_code)
    _tell(row, by, now, "entry-code-removed", _("removed an entry code: %s") % row)
    row.delete()


@transaction.atomic
def show_entry_code(*, entry_code: EntryCode, by: Actor, now: datetime) -> str:
    """The code itself, for the crew within the window; each showing is an event. Raises `Refused`."""
    row = locked(entry_code)
    why_not = why_hidden(row.shoot, by.person, now)
    if why_not:
        raise Refused(why_not)
    try:
        code = _seal().decrypt(row.sealed.encode()).decode()
    except InvalidToken:
        raise Refused(
            _("This code can no longer be opened, as the office's key has changed. Ask for it again.")
        ) from None
    _tell(row, by, now, "entry-code-shown", _("looked at an entry code: %s") % row)
    return code


def why_hidden(shoot: Shoot, person: Person | None, now: datetime) -> str:
    """Why this person does not see the codes now; "" when they do."""
    if person is None or not shoot.members.filter(person=person).exists():
        return _("Only the crew of this visit sees its entry codes.")
    if shoot.state != ShootState.CONFIRMED:
        return _("Entry codes are shown while the visit is confirmed; this one is %s.") % (
            shoot.get_state_display().lower()
        )
    opens, closes = shown_between(shoot)
    if opens <= now <= closes:
        return ""
    span = format_span(opens, closes, shoot.property.zone, Office.the().locale)
    return _("The entry codes of this visit are shown %s.") % span


def shown_between(shoot: Shoot) -> tuple[datetime, datetime]:
    """The window around a timed visit, by the office's settings."""
    margins = WalkSettings.the()
    return shoot.starts_at - margins.shown_before, shoot.ends_at + margins.shown_after


def purge_entry_codes(now: datetime) -> int:
    """Delete the codes of visits that are over; a chore, so running it twice is harmless."""
    over = EntryCode.objects.no_longer_needed(now, WalkSettings.the().codes_kept).values_list("shoot_id", flat=True)
    return sum(_purge(shoot, now) for shoot in Shoot.objects.filter(pk__in=set(over)))


@transaction.atomic
def _purge(shoot: Shoot, now: datetime) -> int:
    shoot = locked(shoot)
    over = EntryCode.objects.no_longer_needed(now, WalkSettings.the().codes_kept).filter(shoot=shoot)
    deleted, _per_model = EntryCode.objects.filter(pk__in=list(over.values_list("pk", flat=True))).delete()
    if deleted:
        text = _("deleted the entry codes")
        record(by=PROGRAM, now=now, verb="entry-codes-purged", text=text, subject=shoot, job=shoot.number)
    return deleted


def _tell(row: EntryCode, by: Actor, now: datetime, verb: str, text: str) -> None:
    record(by=by, now=now, verb=verb, text=text, subject=row.shoot, job=row.shoot.number)


def _seal() -> MultiFernet:
    """Sealed with the newest secret, opened with any that is still listed, so that secrets can be changed."""
    secrets = [getattr(settings, "ENTRY_CODE_SECRET", "") or settings.SECRET_KEY, *settings.SECRET_KEY_FALLBACKS]
    return MultiFernet([Fernet(_key_of(secret)) for secret in secrets])


def _key_of(secret: str) -> bytes:
    """A key for this purpose alone (HKDF, RFC 5869)."""
    derived = HKDF(algorithm=SHA256(), length=32, salt=None, info=PURPOSE).derive(secret.encode())
    return base64.urlsafe_b64encode(derived)
