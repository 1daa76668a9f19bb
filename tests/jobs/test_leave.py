"""Hours, leave, the rules of the diary and drives that somebody timed: what they change in the diary."""

from datetime import date, timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
from django.urls import reverse

from jobs.actions.calendars import working_days
from jobs.actions.diary_rules import change_rules, follow_the_office, remove_drive, set_drive
from jobs.actions.leave import add_leave, remove_leave, set_hours, visits_in_leave
from jobs.actions.properties import change_property
from jobs.models import CrewHours, CrewMember, DiaryRules, Leave, TimedDrive
from office.errors import Refused
from office.models import Event
from office.registry import registry
from tests.cast import NOW

pytestmark = pytest.mark.django_db

TUESDAY, WEDNESDAY = date(2027, 3, 2), date(2027, 3, 3)


def works(office, person, day):
    calendar = working_days(office, DiaryRules.the(), day, day).calendar(person)
    return bool(calendar and day not in calendar.holidays and calendar.hours[day.weekday()])


def test_a_person_works_the_offices_hours_or_their_own(office, scanner, by_owner):
    assert works(office, scanner, TUESDAY)
    set_hours(person=scanner, hours={"wed": [["12:00", "20:00"]]}, by=by_owner, now=NOW)
    assert not works(office, scanner, TUESDAY)
    assert works(office, scanner, WEDNESDAY)
    set_hours(person=scanner, hours={}, by=by_owner, now=NOW)
    assert not works(office, scanner, WEDNESDAY)
    set_hours(person=scanner, hours=None, by=by_owner, now=NOW)
    assert works(office, scanner, TUESDAY)
    assert not CrewHours.objects.exists()


def test_leave_takes_whole_dates_both_included(office, scanner, owner, by_owner):
    leave = add_leave(person=scanner, first_day=TUESDAY, last_day=WEDNESDAY, why="", by=by_owner, now=NOW)
    days = [TUESDAY + timedelta(days=n) for n in (-1, 0, 1, 2)]
    assert [works(office, scanner, day) for day in days] == [True, False, False, True]
    assert works(office, owner, TUESDAY)
    remove_leave(leave=leave, by=by_owner, now=NOW)
    assert works(office, scanner, TUESDAY)
    assert {"leave-added", "leave-removed"} <= set(Event.objects.values_list("verb", flat=True))


@pytest.mark.parametrize("last", [TUESDAY - timedelta(days=1), TUESDAY + timedelta(days=367)])
def test_impossible_leave_is_refused(scanner, by_owner, last):
    with pytest.raises(Refused) as refusal:
        add_leave(person=scanner, first_day=TUESDAY, last_day=last, why="", by=by_owner, now=NOW)
    assert refusal.value.field == "last_day"
    assert not Leave.objects.exists()


def test_a_visit_in_somebodys_leave_is_on_the_desk_until_it_moves(confirmed, scanner, by_owner):
    leave = add_leave(person=scanner, first_day=WEDNESDAY, last_day=WEDNESDAY, why="dentist", by=by_owner, now=NOW)
    matter = next(matter for matter in registry.desk(NOW) if matter.key.startswith("away:"))
    assert "Tobias Renn is away on the day of S-2027-0001" in matter.text
    assert matter.why == "dentist"
    assert [row for _member, row in visits_in_leave(NOW)] == [leave]
    assert visits_in_leave(NOW + timedelta(days=3)) == []


@pytest.mark.parametrize("day", [date(2027, 7, 5), date(2027, 11, 25), date(2027, 12, 24)])  # pandas' federal calendar
def test_public_holidays_of_the_office_are_closed(office, scanner, day):
    assert not works(office, scanner, day)
    DiaryRules.objects.create(pk=1, public_holidays=False)
    assert works(office, scanner, day)


def test_days_the_office_closes_are_closed_and_named(office, scanner):
    office.holidays = ["2027-03-02"]
    office.save()
    assert not works(office, scanner, TUESDAY)
    assert working_days(office, DiaryRules.the(), TUESDAY, TUESDAY).why_away(scanner, TUESDAY) == "closed"


def test_an_office_in_a_country_without_known_holidays_works_on(office, scanner):
    office.country = "XX"
    office.save()
    assert works(office, scanner, date(2027, 12, 24))


def busy_from(shoot):
    return CrewMember.objects.get(shoot=shoot).busy_from


def test_a_timed_drive_counts_at_once_and_until_it_is_taken_back(timed, house, by_owner):
    assert busy_from(timed) == timed.starts_at - timedelta(minutes=30)  # no coordinates: the office's own figure
    drive = set_drive(start=None, end=house, minutes=12, by=by_owner, now=NOW)
    assert busy_from(timed) == timed.starts_at - timedelta(minutes=12)
    set_drive(start=None, end=house, minutes=14, by=by_owner, now=NOW)
    assert TimedDrive.objects.count() == 1
    assert busy_from(timed) == timed.starts_at - timedelta(minutes=14)
    remove_drive(drive=drive, by=by_owner, now=NOW)
    assert busy_from(timed) == timed.starts_at - timedelta(minutes=30)


def test_a_drive_needs_two_places(house, by_owner):
    with pytest.raises(Refused):
        set_drive(start=house, end=house, minutes=5, by=by_owner, now=NOW)


def test_changed_driving_rules_reckon_coming_visits_anew(timed, by_owner):
    change_rules(fields={"unknown_drive_minutes": 50}, by=by_owner, now=NOW)
    assert busy_from(timed) == timed.starts_at - timedelta(minutes=50)
    assert "unknown_drive_minutes" in Event.objects.get(verb="diary-rules-changed").text
    change_rules(fields={"unknown_drive_minutes": 50}, by=by_owner, now=NOW)
    assert Event.objects.filter(verb="diary-rules-changed").count() == 1


def test_past_visits_keep_the_drives_they_had(timed, by_owner):
    change_rules(fields={"unknown_drive_minutes": 50}, by=by_owner, now=timed.starts_at + timedelta(days=1))
    assert busy_from(timed) == timed.starts_at - timedelta(minutes=30)


def test_coordinates_found_later_are_followed(timed, house, office, by_owner):
    office.latitude, office.longitude = Decimal("41.60"), Decimal("-93.60")
    office.save()
    assert follow_the_office(NOW)
    near = busy_from(timed)
    assert timed.starts_at - timedelta(minutes=15) < near < timed.starts_at
    assert not follow_the_office(NOW)
    change_property(house=house, fields={"latitude": Decimal("41.9")}, by=by_owner, now=NOW)
    assert busy_from(timed) < near


def test_the_pages_keep_what_is_typed(owner_browser, office, scanner, house):
    typed = {"person": scanner.pk, "first_day": "2027-03-02", "last_day": "2027-03-01", "once": str(uuid4())}
    assert "comes before the first" in owner_browser.post(reverse("jobs:leave-new"), typed).content.decode()
    typed |= {"last_day": "", "once": str(uuid4())}
    assert owner_browser.post(reverse("jobs:leave-new"), typed).status_code == 302
    assert str(Leave.objects.get()) == "Tobias Renn, 2027-03-02 – 2027-03-02"
    drive = {"start": "", "end": house.pk, "minutes": "17", "once": str(uuid4())}
    owner_browser.post(reverse("jobs:drives"), drive)
    assert "17" in owner_browser.get(reverse("jobs:drives")).content.decode()
    hours = {"hours_mon": "10:00-16:00", "once": str(uuid4())}
    assert "Tick this" in owner_browser.post(reverse("jobs:crew-hours", args=[scanner.pk]), hours).content.decode()
    owner_browser.post(reverse("jobs:crew-hours", args=[scanner.pk]), hours | {"own": "on", "once": str(uuid4())})
    assert CrewHours.objects.get().hours == {"mon": [["10:00", "16:00"]]}
    assert "10:00–16:00" in owner_browser.get(reverse("jobs:crew")).content.decode()


def rules_typed(**changes):
    fields = DiaryRules._meta.get_fields()
    values = {
        field.name: getattr(DiaryRules(), field.name) for field in fields if field.editable and field.name != "id"
    }
    return {k: v for k, v in (values | changes).items() if v not in (None, False)} | {"once": str(uuid4())}


def test_the_rules_are_changed_on_their_page(owner_browser, office):
    typed = rules_typed(check_out_limit=10, subdivision="ia")
    assert owner_browser.post(reverse("jobs:diary-rules"), typed).status_code == 302
    assert (DiaryRules.the().check_out_limit, DiaryRules.the().subdivision) == (10, "IA")


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"subdivision": "ZZ"}, "No public holidays are known for US ZZ."),
        ({"near_km": 50}, "Expected farther than the near kilometres."),
        ({"late_move_percent": 101}, "less than or equal to 100"),
        ({"road_factor": "0.5"}, "greater than or equal to 1"),
    ],
)
def test_impossible_rules_stand_beside_their_fields(owner_browser, office, changes, words):
    page = owner_browser.post(reverse("jobs:diary-rules"), rules_typed(**changes)).content.decode()
    assert words in page
    assert not DiaryRules.objects.exists()
