"""Entry codes: sealed, shown to the crew around the visit alone, each look noted, gone soon after."""

from datetime import timedelta

import pytest
from django.core import mail
from django.core.management import call_command
from django.db import connection
from django.urls import reverse

from jobs.actions.entry_codes import MOST_CODES, purge_entry_codes, remove_entry_code, show_entry_code, write_entry_code
from jobs.actions.feeds import feed_of
from jobs.actions.shoots import cancel_shoot, note_captured, note_no_access, set_time
from jobs.actions.walks import import_walk
from jobs.models import EntryCode, ShootState, WalkSettings
from office.actions.actors import Actor
from office.actions.notices import send_waiting
from office.errors import Refused
from office.models import Event, Notice
from office.registry import registry
from tests.cast import NOW, visit
from tests.jobs.conftest import WALK

pytestmark = pytest.mark.django_db
CODE = "Kx7391#blue"
ONCE = "11111111-1111-4111-8111-11111111111"
VISIT = NOW + timedelta(days=2)
"""When the visit of the fixtures begins; it ends ninety minutes later."""


@pytest.fixture
def by_scanner(scanner):
    return Actor.of_person(scanner)


@pytest.fixture
def written(confirmed, by_owner):
    return write_entry_code(shoot=confirmed, kind="lockbox", code=CODE, by=by_owner, now=NOW)


@pytest.fixture
def at_the_visit(time_machine):
    time_machine.move_to(VISIT, tick=False)


def everything_stored() -> str:
    """Every value of every table, as the database holds it."""
    with connection.cursor() as cursor:
        names = connection.introspection.table_names(cursor)
        found = []
        for name in names:
            cursor.execute(f'SELECT * FROM "{name}"')
            found.append(str(cursor.fetchall()))
    return "".join(found)


def test_the_crew_reads_the_code_while_the_visit_lasts(written, by_scanner):
    assert show_entry_code(entry_code=written, by=by_scanner, now=VISIT) == CODE


def test_the_code_stands_nowhere_in_the_database(written, by_scanner, confirmed):
    show_entry_code(entry_code=written, by=by_scanner, now=VISIT)
    assert CODE not in everything_stored()
    assert "7391" not in everything_stored()


def test_two_seals_of_one_code_differ(written, confirmed, by_owner):
    again = write_entry_code(shoot=confirmed, kind="gate", code=CODE, by=by_owner, now=NOW)
    assert again.sealed != written.sealed


def test_each_look_is_an_event_without_the_code(written, by_scanner, confirmed):
    for _ in range(2):
        show_entry_code(entry_code=written, by=by_scanner, now=VISIT)
    looks = Event.objects.of_job(confirmed.number).filter(verb="entry-code-shown")
    assert [(look.actor_name, look.text, look.details) for look in looks] == [
        ("Tobias Renn", "looked at an entry code: Lockbox", {})
    ] * 2


@pytest.mark.parametrize(
    ("at", "shown"),
    [
        (VISIT - timedelta(minutes=60), True),
        (VISIT - timedelta(minutes=60, seconds=1), False),
        (VISIT + timedelta(minutes=90 + 60), True),
        (VISIT + timedelta(minutes=90 + 60, seconds=1), False),
    ],
)
def test_the_window_opens_an_hour_before_and_closes_an_hour_after(written, by_scanner, at, shown):
    if shown:
        assert show_entry_code(entry_code=written, by=by_scanner, now=at) == CODE
    else:
        with pytest.raises(Refused, match="are shown Wed, Mar 3"):
            show_entry_code(entry_code=written, by=by_scanner, now=at)
        assert not Event.objects.filter(verb="entry-code-shown").exists()


def test_the_office_sets_the_window(written, by_scanner):
    settings = WalkSettings.the()
    settings.code_minutes_before = 0
    settings.save()
    with pytest.raises(Refused):
        show_entry_code(entry_code=written, by=by_scanner, now=VISIT - timedelta(seconds=1))


def test_the_owner_who_wrote_it_does_not_read_it(written, by_owner):
    with pytest.raises(Refused, match="Only the crew"):
        show_entry_code(entry_code=written, by=by_owner, now=VISIT)


def test_a_scanner_taken_off_the_visit_no_longer_reads_it(written, confirmed, by_scanner, owner, by_owner):
    set_time(shoot=confirmed, crew=[owner], by=by_owner, now=NOW, **visit(VISIT))
    with pytest.raises(Refused, match="Only the crew"):
        show_entry_code(entry_code=written, by=by_scanner, now=VISIT)


@pytest.mark.parametrize("state", [state for state in ShootState if state != ShootState.CONFIRMED])
def test_only_a_confirmed_visit_shows_its_codes(written, confirmed, by_scanner, state):
    type(confirmed).objects.filter(pk=confirmed.pk).update(state=state)
    written.refresh_from_db()
    with pytest.raises(Refused, match="confirmed"):
        show_entry_code(entry_code=written, by=by_scanner, now=VISIT)


def test_a_visit_that_is_over_takes_no_code(written, confirmed, by_owner):
    cancelled = cancel_shoot(shoot=confirmed, why="sold", by=by_owner, now=NOW)
    with pytest.raises(Refused, match="cancelled visit needs no entry code"):
        write_entry_code(shoot=cancelled, kind="door", code=CODE, by=by_owner, now=NOW)


def test_a_visit_has_so_many_codes_and_no_more(confirmed, by_owner):
    for _ in range(MOST_CODES):
        write_entry_code(shoot=confirmed, kind="door", code=CODE, by=by_owner, now=NOW)
    with pytest.raises(Refused, match="at most"):
        write_entry_code(shoot=confirmed, kind="door", code=CODE, by=by_owner, now=NOW)


def test_a_changed_secret_still_opens_what_the_old_one_sealed(written, by_scanner, settings):
    settings.SECRET_KEY_FALLBACKS = [settings.SECRET_KEY]
    settings.SECRET_KEY = "another-secret"
    assert show_entry_code(entry_code=written, by=by_scanner, now=VISIT) == CODE
    settings.SECRET_KEY_FALLBACKS = []
    with pytest.raises(Refused, match="key has changed"):
        show_entry_code(entry_code=written, by=by_scanner, now=VISIT)


def test_no_mail_calendar_or_file_carries_it(written, confirmed, scanner, by_owner, owner_browser):
    set_time(shoot=confirmed, crew=[scanner], by=by_owner, now=NOW, **visit(VISIT + timedelta(hours=1)))
    send_waiting(now=NOW)
    sent = "".join(message.body + message.alternatives[0].content for message in mail.outbox)
    assert sent
    files = [
        owner_browser.get(reverse("jobs:property-export", args=[confirmed.property_id])).content.decode(),
        owner_browser.get(reverse("jobs:walk-export", args=[confirmed.number])).content.decode(),
        owner_browser.get(reverse("jobs:shoot", args=[confirmed.number])).content.decode(),
    ]
    for text in (sent, feed_of(scanner, NOW).decode(), *files, *Notice.objects.values_list("text", flat=True)):
        assert CODE not in text


# Gone soon after


@pytest.mark.parametrize(("days", "left"), [(2, 1), (3, 0)])
def test_codes_go_some_days_after_the_capture(written, confirmed, by_owner, days, left):
    import_walk(shoot=confirmed, content=WALK.encode(), file_name="walk.csv", by=by_owner, now=VISIT)
    note_captured(shoot=confirmed, by=by_owner, now=VISIT)
    purge_entry_codes(VISIT + timedelta(days=days))
    assert EntryCode.objects.count() == left


@pytest.mark.parametrize("end", [cancel_shoot, note_no_access])
def test_codes_of_a_visit_that_does_not_take_place_go_at_once(written, confirmed, by_owner, end):
    end(shoot=confirmed, why="nobody there", by=by_owner, now=NOW)
    assert purge_entry_codes(NOW) == 1
    assert purge_entry_codes(NOW) == 0
    (gone,) = Event.objects.filter(verb="entry-codes-purged")
    assert (gone.actor_name, gone.text) == ("Stairhead", "deleted the entry codes")


def test_codes_of_a_visit_nobody_spoke_of_go_too(written):
    assert purge_entry_codes(VISIT + timedelta(days=3)) == 0
    assert purge_entry_codes(VISIT + timedelta(days=3, minutes=90)) == 1


def test_codes_of_a_visit_to_come_stay(written):
    assert purge_entry_codes(NOW) == 0


def test_the_purge_is_one_of_the_chores():
    assert purge_entry_codes in registry.chores


def test_a_code_can_be_removed(written, by_owner, confirmed):
    remove_entry_code(entry_code=written, by=by_owner, now=NOW)
    assert not confirmed.entry_codes.exists()


# The pages


def test_the_owner_writes_it_and_sees_it_never_again(owner_browser, confirmed):
    address = reverse("jobs:entry-code-write", args=[confirmed.number])
    answer = owner_browser.post(address, {"kind": "lockbox", "code": CODE, "once": ONCE + "1"}, follow=True)
    assert "Lockbox" in answer.text
    assert CODE not in answer.text


def test_a_code_typed_beside_an_error_is_not_shown_again(owner_browser, confirmed):
    address = reverse("jobs:entry-code-write", args=[confirmed.number])
    answer = owner_browser.post(address, {"kind": "window", "code": CODE, "once": ONCE + "1"})
    assert "window" in answer.text
    assert CODE not in answer.text
    assert not EntryCode.objects.exists()


def test_the_crew_looks_at_it_on_a_page_that_is_not_kept(at_the_visit, scanner_browser, written, confirmed):
    listed = scanner_browser.get(reverse("jobs:entry-codes", args=[confirmed.number]))
    assert "Show the code" in listed.text
    assert CODE not in listed.text
    address = reverse("jobs:entry-code-show", args=[confirmed.number, written.pk])
    shown = scanner_browser.post(address, {"once": ONCE + "2"})
    assert CODE in shown.text
    assert "no-store" in shown["Cache-Control"]
    assert Event.objects.filter(verb="entry-code-shown").count() == 1


def test_looking_needs_a_button_not_an_address(at_the_visit, scanner_browser, written, confirmed):
    address = reverse("jobs:entry-code-show", args=[confirmed.number, written.pk])
    assert scanner_browser.get(address).status_code == 405


def test_outside_the_window_the_page_says_when(scanner_browser, written, confirmed):
    address = reverse("jobs:entry-code-show", args=[confirmed.number, written.pk])
    answer = scanner_browser.post(address, {"once": ONCE + "3"}, follow=True)
    assert CODE not in answer.text
    listed = scanner_browser.get(reverse("jobs:entry-codes", args=[confirmed.number])).text
    assert "are shown Wed, Mar 3" in listed
    assert "Show the code" not in listed


@pytest.mark.parametrize("name", ["entry-code-write", "entry-code-remove"])
def test_a_scanner_neither_writes_nor_removes(scanner_browser, written, confirmed, name):
    args = [confirmed.number] if name.endswith("write") else [confirmed.number, written.pk]
    answer = scanner_browser.post(reverse(f"jobs:{name}", args=args), {"kind": "door", "code": "1", "once": ONCE + "4"})
    assert answer.status_code == 403
    assert EntryCode.objects.count() == 1


def test_a_code_is_not_reached_through_another_visit(at_the_visit, scanner_browser, written):
    answer = scanner_browser.post(f"/shoots/S-1999-0001/entry/{written.pk}/show/", {"once": ONCE + "5"})
    assert answer.status_code == 404


def test_no_log_line_holds_it(at_the_visit, client, owner, scanner, confirmed, caplog):
    caplog.set_level("DEBUG")
    backend = "allauth.account.auth_backends.AuthenticationBackend"
    client.force_login(owner, backend=backend)
    typed = {"kind": "lockbox", "code": CODE}
    client.post(reverse("jobs:entry-code-write", args=[confirmed.number]), typed)
    client.post(reverse("jobs:entry-code-write", args=[confirmed.number]), {**typed, "once": ONCE + "6"})
    client.force_login(scanner, backend=backend)
    address = reverse("jobs:entry-code-show", args=[confirmed.number, EntryCode.objects.get().pk])
    assert CODE in client.post(address, {"once": ONCE + "7"}).text
    assert CODE not in caplog.text


def test_a_dump_of_the_data_does_not_hold_it(written, capsys):
    call_command("dumpdata", "jobs")
    assert CODE not in capsys.readouterr().out
