"""The people of the office: inviting, changing, letting go."""

from datetime import datetime
from typing import Any

from allauth.account.forms import default_token_generator
from allauth.account.utils import user_pk_to_url_str
from django.conf import settings
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils.translation import gettext as _

from office.errors import Refused
from office.models import Person, Role

from .actors import Actor
from .events import record
from .notices import write_notice


@transaction.atomic
def invite_person(*, fields: dict[str, Any], by: Actor, now: datetime) -> Person:
    """Add somebody and mail them the address where they choose a password."""
    try:
        with transaction.atomic():
            person = Person.objects.create_user(password=None, **fields)
    except IntegrityError:
        raise Refused(_("Somebody with this email is here already."), field="email") from None
    record(by=by, now=now, verb="person-invited", text=_("invited %s") % person, subject=person)
    write_notice(
        key=f"person-invited:{person.pk}",
        template="person_invited",
        to_name=person.name,
        to_address=person.email,
        now=now,
        choose_password=_password_address(person),
    )
    return person


@transaction.atomic
def change_person(*, person: Person, fields: dict[str, Any], by: Actor, now: datetime) -> Person:
    """Change somebody's details; the last owner stays an owner."""
    person = Person.objects.select_for_update().get(pk=person.pk)
    if person.is_owner and not (fields["role"] == Role.OWNER and fields["is_active"]):
        _keep_an_owner(person)
    for name, value in fields.items():
        setattr(person, name, value)
    person.save(update_fields=list(fields))
    record(by=by, now=now, verb="person-changed", text=_("changed the details of %s") % person, subject=person)
    return person


def _keep_an_owner(person: Person) -> None:
    others = Person.objects.select_for_update().filter(role=Role.OWNER, is_active=True).exclude(pk=person.pk)
    if not others.exists():
        raise Refused(_("This is the last owner; make somebody else an owner first."), field="role")


def _password_address(person: Person) -> str:
    key = f"{user_pk_to_url_str(person)}-{default_token_generator.make_token(person)}"
    uid, token = key.split("-", 1)
    path = reverse("account_reset_password_from_key", kwargs={"uidb36": uid, "key": token})
    return f"{settings.OUTSIDE_ADDRESS}{path}"
