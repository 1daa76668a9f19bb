"""Clients: adding, changing, finding again."""

from datetime import datetime
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from jobs.models import Client
from office.actions.actors import Actor
from office.actions.events import record
from office.actions.states import locked


@transaction.atomic
def add_client(*, fields: dict[str, Any], by: Actor, now: datetime) -> Client:
    client = Client.objects.create(**fields)
    record(by=by, now=now, verb="client-added", text=_("added the client %s") % client, subject=client)
    return client


@transaction.atomic
def change_client(*, client: Client, fields: dict[str, Any], by: Actor, now: datetime) -> Client:
    """Change details; papers already issued keep the old ones."""
    client = locked(client)
    for name, value in fields.items():
        setattr(client, name, value)
    client.save(update_fields=list(fields))
    record(by=by, now=now, verb="client-changed", text=_("changed the client %s") % client, subject=client)
    return client


@transaction.atomic
def find_or_add_client(*, fields: dict[str, Any], by: Actor, now: datetime) -> Client:
    """The client with this email, untouched, or a new one."""
    found = Client.objects.filter(email__iexact=fields["email"]).order_by("pk").first()
    return found or add_client(fields=fields, by=by, now=now)
