"""Every page as every visitor: what the access table says is what happens."""

from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client as Browser
from django.urls import URLPattern, URLResolver, get_resolver, reverse
from django.utils import timezone

from billing.models import TaxRate
from deliverables.demo.cast import invent
from deliverables.demo.story import Story, beginning
from jobs.models import EditingTask, Leave, NoAccessNote, PackageTask, PhotoNote, Station, TimedDrive
from office.access import ANYONE, CLIENT, DRAFTER, STAFF, TABLE, Visitor
from office.actions.links import token_of
from office.models import CapabilityLink, Notice, Purpose

ANSWERED = {200, 204, 302, 400, 405, 410, 422}
"""Answers of a page that opened: shown, redirected, or asked the wrong way (a button's address by GET)."""

FOR_TOTP_USERS = {"mfa_deactivate_totp", "mfa_view_recovery_codes", "mfa_download_recovery_codes"}
"""Pages that exist only for somebody who has set up one-time codes, which nobody in the story has."""


def named_pages(patterns, space="", arguments=()):
    """(name, arguments its address takes) of every page of the program."""
    for pattern in patterns:
        taken = (*arguments, *pattern.pattern.regex.groupindex)
        if isinstance(pattern, URLResolver):
            inner = f"{pattern.namespace}:" if pattern.namespace else space
            yield from named_pages(pattern.url_patterns, inner, taken)
        elif isinstance(pattern, URLPattern) and pattern.name:
            yield f"{space}{pattern.name}", taken


PAGES = dict(named_pages(get_resolver().url_patterns))


def test_the_table_names_every_page_of_ours_and_none_that_is_not_there():
    ours = {name for name in PAGES if name.partition(":")[0] in {"office", "jobs", "billing", "deliverables"}}
    assert ours <= set(TABLE) <= set(PAGES)


@pytest.mark.django_db
def test_a_page_that_the_table_does_not_name_opens_for_nobody(owner_browser):
    assert "account_email_verification_sent" not in TABLE
    assert owner_browser.get(reverse("account_email_verification_sent")).status_code == 404


def test_visitors_are_all_named_by_the_table():
    assert set().union(*TABLE.values()) == set(Visitor)


@pytest.fixture
def story(db):
    now = timezone.now()
    story = Story(invent(now=beginning(now)), now, lambda line: None)
    for step in story.steps()[:-1]:
        step()
    return story


def arguments_of(name: str, story: Story) -> dict[str, Any]:
    """Arguments by which each page of the story's own rows is found."""
    draft = story.plan_order.drafts.order_by("-number")[0]
    item = story.bundle.items.get(kind="plan")
    by_page = {
        "office:open-link": {"token": "nobody-has-this"},
        "office:link-revoke": {"pk": 0},
        "office:person": {"pk": story.cast.scanner.pk},
        "office:notice": {"pk": Notice.objects.earliest("pk").pk},
        "office:notice-settle": {"pk": Notice.objects.earliest("pk").pk},
        "jobs:feed": {"token": "nobody-has-this"},
        "jobs:entry-code-show": {"pk": 0},
        "jobs:entry-code-remove": {"pk": 0},
        "jobs:photo": {"uuid": _picture(story).uuid},
        "jobs:walk-remove": {"number": story.shoot.number, "pk": Station.objects.earliest("pk").pk},
        "jobs:crew-hours": {"pk": story.cast.scanner.pk},
        "jobs:day-order": {"pk": story.cast.scanner.pk, "day": "2027-03-02"},
        "jobs:diary-day": {"day": "2027-03-02"},
        "jobs:drive-remove": {"pk": _drive(story).pk},
        "jobs:leave-remove": {"pk": _leave(story).pk},
        "jobs:door-photo": {"number": _closed_door(story).shoot.number},
        "jobs:package-lists": {"pk": story.shoot.package_id},
        "account_reset_password_from_key": {"uidb36": "1", "key": "x-y"},
        "billing:true-up-accept": {"pk": story.quote.true_up.pk},
        "billing:true-up-waive": {"pk": story.quote.true_up.pk},
        "billing:invoice-draw-up": {"number": story.shoot.number},
        "billing:quote-offer": {"number": story.shoot.number},
        "billing:tax-rate": {"pk": TaxRate.objects.earliest("pk").pk},
    }
    by_argument = {
        "jobs": {"number": story.shoot.number},
        "jobs:task": {"pk": EditingTask.objects.earliest("pk").pk},
        "jobs:level": {"pk": story.cast.house.levels.earliest("pk").pk},
        "jobs:space": {"pk": story.cast.house.spaces.earliest("pk").pk},
        "jobs:opening": {"pk": story.cast.house.openings.earliest("pk").pk},
        "jobs:level-new": {"pk": story.cast.house.pk},
        "jobs:opening-add": {"pk": story.cast.house.pk},
        "jobs:space-add": {"pk": story.cast.house.levels.earliest("pk").pk},
        "jobs:package": {"pk": story.shoot.package_id},
        "jobs:package-task": {"pk": PackageTask.objects.earliest("pk").pk},
        "jobs:package-task-add": {"pk": story.shoot.package_id},
        "jobs:client": {"pk": story.cast.client.pk},
        "jobs:property": {"pk": story.cast.house.pk},
        "billing:quote": {"number": story.quote.number},
        "billing:client-quote": {"pk": story.quote.pk},
        "billing:invoice": {"pk": story.invoice.pk},
        "billing:client-invoice": {"pk": story.invoice.pk},
        "billing:rate-card": {"number": story.cast.card.number},
        "deliverables": {"number": story.plan_order.number},
        "deliverables:plan-order-new": {"number": story.shoot.number},
        "deliverables:draft-": {"pk": draft.pk, "page": 1},
        "deliverables:fix-": {"pk": story.plan_order.fixes.get().pk},
        "deliverables:drafter": {"pk": story.cast.drafter.pk},
        "deliverables:bundle": {"pk": story.bundle.pk},
        "deliverables:bundle-make": {"number": story.shoot.number},
        "deliverables:bundle-item": {"pk": item.pk},
        "deliverables:drafter-draft": {"pk": draft.pk},
        "deliverables:drafter-preview": {"pk": draft.pk, "page": 1},
        "deliverables:drafter-fix": {"pk": story.plan_order.fixes.get().pk},
        "deliverables:client": {"pk": item.pk, "page": 1},
    }
    general: dict[str, Any] = {"source": story.cast.house.pk, "line_pk": story.invoice.lines.earliest("pk").pk}
    general |= {"drafter_id": story.cast.drafter.pk, "shoot_id": story.shoot.pk, "quote_id": story.quote.pk}
    general |= {"invoice_id": story.invoice.pk}
    found = dict(general)
    for prefix in sorted(by_argument, key=len):
        if name.startswith(prefix):
            found |= by_argument[prefix]
    found |= by_page.get(name, {})
    return {argument: found[argument] for argument in PAGES[name]}


def _picture(story: Story) -> PhotoNote:
    taken = {"shoot": story.shoot, "taken_by": story.cast.scanner, "taken_at": timezone.now()}
    return PhotoNote.objects.create(picture=SimpleUploadedFile("door.jpg", b"pixels"), **taken)


def _drive(story: Story) -> TimedDrive:
    drive, _made = TimedDrive.objects.get_or_create(start=None, end=story.cast.house, defaults={"minutes": 20})
    return drive


def _leave(story: Story) -> Leave:
    today = timezone.localdate()
    return Leave.objects.create(person=story.cast.scanner, first_day=today, last_day=today)


def _closed_door(story: Story) -> NoAccessNote:
    note, made = NoAccessNote.objects.get_or_create(shoot=story.shoot, defaults={"noted_at": timezone.now()})
    if made:
        note.photo.save("door.jpg", SimpleUploadedFile("door.jpg", b"pixels"))
    return note


def browser_of(visitor: Visitor, story: Story) -> Browser:
    browser = Browser(raise_request_exception=True)
    purposes = {Visitor.DRAFTER: [Purpose.DRAFTER], Visitor.CLIENT: [Purpose.QUOTE, Purpose.HANDOVER, Purpose.INVOICE]}
    for purpose in purposes.get(visitor, []):
        link = CapabilityLink.objects.filter(purpose=purpose).earliest("pk")
        assert browser.get(f"/open/{token_of(link.key)}/").status_code == 302
    person = {Visitor.OWNER: story.cast.owner, Visitor.SCANNER: story.cast.scanner}.get(visitor)
    if person:
        browser.force_login(person, backend="allauth.account.auth_backends.AuthenticationBackend")
    return browser


@pytest.mark.parametrize("visitor", list(Visitor))
def test_every_page_answers_this_visitor_as_the_table_says(visitor, story):
    wrong = []
    browser = browser_of(visitor, story)
    for name in sorted(TABLE):
        address = reverse(name, kwargs=arguments_of(name, story))
        answer = browser.get(address)
        said = _verdict(answer, name, visitor)
        if said:
            wrong.append(f"{name} {address}: {said} ({answer.status_code} {answer.get('Location', '')})")
    assert wrong == []


def _verdict(answer, name, visitor) -> str:
    """What is wrong with an answer, or nothing."""
    allowed = visitor in TABLE[name]
    if TABLE[name] == ANYONE:
        return "" if answer.status_code in ANSWERED | {404} else "should answer anyone"
    if allowed and name in FOR_TOTP_USERS:
        return "" if answer.status_code in ANSWERED | {404} else "should open"
    if allowed and TABLE[name] <= STAFF | DRAFTER | CLIENT:
        asked_for_sign_in = answer.status_code == 302 and answer["Location"].startswith("/account/login")
        return "should open" if answer.status_code not in ANSWERED or asked_for_sign_in else ""
    if visitor == Visitor.STRANGER and TABLE[name] <= STAFF:
        asked = answer.status_code == 302 and answer["Location"].startswith("/account/login")
        return "" if asked else "should ask for sign-in"
    return "" if answer.status_code in {403, 404} else "should stay closed"
