"""Template tags of the diary's pages."""

from collections.abc import Iterable
from datetime import time
from typing import Any

from babel.dates import format_time
from django import template
from django.utils import timezone

from jobs.models import CheckIn, Shoot
from office.models import Person

register = template.Library()


@register.inclusion_tag("jobs/day_button.html", takes_context=True)
def day_button(context: dict[str, Any], url: str, label: str, day: str, style: str = "secondary") -> dict[str, Any]:
    """One action that leads back to the day it was pressed on."""
    return {"url": url, "label": label, "day": day, "style": style, "csrf_token": context.get("csrf_token")}


@register.inclusion_tag("jobs/diary_nav.html", takes_context=True)
def diary_nav(context: dict[str, Any], here: str) -> dict[str, Any]:
    """The diary's own pages; `here` is the one shown."""
    return {"here": here, "today": timezone.localdate(), "user": context["user"]}


@register.filter
def on_site(check_ins: Iterable[CheckIn], person: Person) -> bool:
    """Whether the person is checked in and not out again."""
    return any(row.person_id == person.pk and row.left_at is None for row in check_ins)


@register.filter
def has_on_crew(shoot: Shoot, person: Person) -> bool:
    return any(member.pk == person.pk for member in shoot.crew.all())


@register.simple_tag(takes_context=True)
def hour(context: dict[str, Any], number: int) -> str:
    """A full hour as short as the office's language writes it: "9 AM", or "09"."""
    text: str = format_time(time(number), "short", locale=context["office"].locale)
    return text.replace(":00", "").replace("\N{NARROW NO-BREAK SPACE}", "\N{NO-BREAK SPACE}")
