"""A form that is sent twice counts once."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta
from uuid import UUID

from django.db import IntegrityError, transaction
from django.http import HttpRequest
from django.utils import timezone
from django.utils.translation import gettext as _

from office.errors import AlreadyDone, Refused
from office.models import OnceKey

KEPT_FOR = timedelta(days=30)


@contextmanager
def once(request: HttpRequest) -> Iterator[None]:
    """Run the block in one transaction, unless this very form was already taken; then raise `AlreadyDone`."""
    try:
        key = UUID(request.POST.get("once", ""))
    except ValueError:
        raise Refused(_("This form is incomplete. Load the page again.")) from None
    with transaction.atomic():
        _claim(key)
        yield


def _claim(key: UUID) -> None:
    try:
        with transaction.atomic():
            OnceKey.objects.create(key=key, used_at=timezone.now())
    except IntegrityError:
        raise AlreadyDone(_("This was done already; nothing was changed a second time.")) from None


def forget_old_keys(*, now: datetime) -> int:
    """Drop keys that no open page can still hold."""
    deleted, _per_model = OnceKey.objects.filter(used_at__lt=now - KEPT_FOR).delete()
    return deleted
