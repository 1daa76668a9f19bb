"""Editing tasks: from the package, from the walk, by hand; due by the promise; ticked off, withdrawn, open again."""

from datetime import UTC, datetime, timedelta

import pytest
from django.urls import reverse

from jobs.actions.packages import (
    add_package,
    add_package_task,
    change_package_task,
    change_walk_settings,
    remove_package_task,
)
from jobs.actions.shoots import note_captured
from jobs.actions.tasks import add_task, finish_task, make_editing_tasks, reopen_task, withdraw_task
from jobs.actions.verdicts import judge, minutes_of, planned_walk
from jobs.actions.walks import import_walk, log_station, remove_station
from jobs.desk import matters
from jobs.models import EditingTask, Package, PackageTask, Station, TaskState, WalkSettings
from office.errors import Refused, WrongState
from office.models import Event, Office
from tests.cast import NOW
from tests.jobs.conftest import WALK

pytestmark = pytest.mark.django_db
ONCE = "11111111-1111-4111-8111-11111111111"
MONDAY_NOON = datetime(2027, 3, 1, 18, 0, tzinfo=UTC)
"""Twelve in Chicago; the office works nine to five, Monday to Friday."""


def captured_at(shoot, by, now, walk=WALK):
    import_walk(shoot=shoot, content=walk.encode(), file_name="walk.csv", by=by, now=now)
    return note_captured(shoot=shoot, by=by, now=now)


@pytest.fixture
def captured(confirmed, by_owner):
    return captured_at(confirmed, by_owner, MONDAY_NOON)


def task(code: str) -> EditingTask:
    return EditingTask.objects.get(code=code)


def test_tasks_are_due_by_the_promise_in_the_offices_working_hours(captured):
    # 24 h of work from Monday noon: 5 h on Monday, 8 on Tuesday, 8 on Wednesday, 3 on Thursday
    assert task("blur").due_at == datetime(2027, 3, 4, 18, 0, tzinfo=UTC)
    assert task("keep-out").due_at == task("blur").due_at


def test_a_task_may_be_due_before_the_promise(confirmed, package, by_owner):
    PackageTask.objects.filter(code="blur").update(due_hours=6)
    captured_at(confirmed, by_owner, MONDAY_NOON)
    assert task("blur").due_at == datetime(2027, 3, 2, 16, 0, tzinfo=UTC)  # five hours on Monday, one on Tuesday
    assert task("opening-view").due_at == datetime(2027, 3, 4, 18, 0, tzinfo=UTC)


def test_an_office_that_never_opens_promises_nothing(confirmed, by_owner):
    Office.objects.update(hours={})
    captured_at(confirmed, by_owner, MONDAY_NOON)
    assert task("blur").due_at is None


def test_the_keep_out_task_names_the_stations_and_the_one_piece_task_follows_it(captured):
    assert task("keep-out").text == "Keep stations 4 and 5 out of the public tour"
    assert task("one-piece").stations == task("keep-out").stations == [4, 5]


def test_a_walk_that_changes_after_the_capture_opens_what_was_done_for_other_stations(captured, by_owner):
    for code in ("keep-out", "one-piece", "blur"):
        finish_task(task=task(code), note="", by=by_owner, now=NOW)
    closet = captured.property.spaces.get(code="C")
    log_station(shoot=captured, fields={"number": 7, "space": closet, "captured_for": "plan"}, by=by_owner, now=NOW)
    assert task("keep-out").state == TaskState.OPEN
    assert "4, 5 and 7" in task("keep-out").text
    assert (task("one-piece").state, task("blur").state) == (TaskState.OPEN, TaskState.DONE)
    opened = Event.objects.filter(verb="task-reopened")
    assert {event.actor_name for event in opened} == {"Stairhead"}


def test_a_change_that_leaves_the_keep_out_list_alone_opens_nothing(captured, by_owner):
    finish_task(task=task("keep-out"), note="", by=by_owner, now=NOW)
    hall = captured.property.spaces.get(code="H")
    log_station(shoot=captured, fields={"number": 7, "space": hall, "captured_for": "both"}, by=by_owner, now=NOW)
    assert task("keep-out").state == TaskState.DONE


def test_when_nothing_is_left_to_hide_the_open_tasks_are_withdrawn(captured, by_owner):
    for number in (5, 6, 4):
        remove_station(station=Station.objects.get(number=number), by=by_owner, now=NOW)
    assert {task(code).state for code in ("keep-out", "one-piece")} == {TaskState.WITHDRAWN}
    closet = captured.property.spaces.get(code="C")
    log_station(shoot=captured, fields={"number": 9, "space": closet, "captured_for": "plan"}, by=by_owner, now=NOW)
    assert {task(code).state for code in ("keep-out", "one-piece")} == {TaskState.OPEN}


def test_musts_left_when_the_crew_leaves_become_a_task_and_go_with_the_finding(confirmed, by_owner):
    captured_at(confirmed, by_owner, MONDAY_NOON, "\n".join(WALK.splitlines()[:5]) + "\n")
    assert "things the walk check calls a must" in task("walk-check").text
    import_walk(shoot=confirmed, content=WALK.encode(), file_name="walk.csv", by=by_owner, now=NOW)
    assert judge(confirmed).findings == ()
    assert task("walk-check").state == TaskState.WITHDRAWN


def test_a_tour_cannot_be_handed_over_while_a_must_is_open(captured, by_owner):
    blocking = EditingTask.objects.blocking(captured)
    assert {found.code for found in blocking} == {"blur", "keep-out", "one-piece"}
    for code in ("blur", "keep-out", "one-piece"):
        finish_task(task=task(code), note="", by=by_owner, now=NOW)
    assert not EditingTask.objects.blocking(captured).exists()


def test_the_owner_withdraws_a_task_and_says_why(captured, by_owner):
    withdraw_task(task=task("blur"), why="an empty house", by=by_owner, now=NOW)
    assert (task("blur").state, task("blur").note) == (TaskState.WITHDRAWN, "an empty house")
    assert "an empty house" in Event.objects.get(verb="task-withdrawn").text
    make_editing_tasks(shoot=captured, now=NOW)
    assert task("blur").state == TaskState.WITHDRAWN
    reopen_task(task=task("blur"), by=by_owner, now=NOW)
    assert task("blur").state == TaskState.OPEN


def test_a_task_done_is_not_withdrawn(captured, by_owner):
    finish_task(task=task("blur"), note="", by=by_owner, now=NOW)
    with pytest.raises(WrongState):
        withdraw_task(task=task("blur"), why="x", by=by_owner, now=NOW)


@pytest.mark.parametrize("start", TaskState.values)
@pytest.mark.parametrize("end", TaskState.values)
def test_the_table_of_states_is_what_the_actions_do(captured, by_owner, start, end):
    EditingTask.objects.filter(code="blur").update(state=start)
    moves = {"done": (finish_task, {"note": ""}), "withdrawn": (withdraw_task, {"why": "x"}), "open": (reopen_task, {})}
    action, more = moves[end]
    if end in EditingTask.ALLOWED[start]:
        action(task=task("blur"), **more, by=by_owner, now=NOW)
        assert task("blur").state == end
    else:
        with pytest.raises(WrongState):
            action(task=task("blur"), **more, by=by_owner, now=NOW)


def test_tasks_added_by_hand_each_get_a_code_of_their_own(captured, by_owner):
    fields = {"text": "Brighten the hall", "severity": "should", "due_at": None}
    assert [add_task(shoot=captured, fields=fields, by=by_owner, now=NOW).code for _ in range(2)] == ["own-1", "own-2"]


def test_overdue_tasks_are_a_weightier_matter_than_open_ones(captured):
    before, after = task("blur").due_at - timedelta(seconds=1), task("blur").due_at + timedelta(seconds=1)
    weights = [
        [(found.weight, found.text) for found in matters(now) if found.key == f"tasks:{captured.pk}"]
        for now in (before, after)
    ]
    assert [found[0][0] for found in weights] == [50, 85]
    assert "overdue" in weights[1][0][1]


# Packages and the office's figures


def test_tasks_of_a_package_get_codes_from_their_words_and_stand_in_order(package, by_owner):
    fields = {"text": "Straighten the horizon", "severity": "should", "due_hours": None}
    codes = [add_package_task(package=package, fields=fields, by=by_owner, now=NOW).code for _ in range(2)]
    assert codes == ["task-straighten-the-horizon", "task-straighten-the-horizon-2"]
    assert [found.code for found in package.tasks.all()][-2:] == codes


def test_a_code_of_the_walks_own_tasks_is_not_taken_by_a_package(confirmed, package, by_owner):
    add_package_task(package=package, fields={"text": "Keep out", "severity": "should"}, by=by_owner, now=NOW)
    captured_at(confirmed, by_owner, NOW)
    assert task("keep-out").text.startswith("Keep stations")
    assert task("task-keep-out").text == "Keep out"


def test_jobs_captured_before_keep_the_old_words_of_a_task(captured, package, by_owner):
    of_package = package.tasks.get(code="blur")
    change_package_task(task=of_package, fields={"text": "Blur everything"}, by=by_owner, now=NOW)
    assert task("blur").text == "Blur faces, papers, screens and family pictures"
    remove_package_task(task=of_package, by=by_owner, now=NOW)
    assert task("blur").state == TaskState.OPEN


def test_two_packages_of_one_code_are_refused(package, by_owner):
    fields = {"code": "both", "name": "Again", "covers": "both"}
    with pytest.raises(Refused) as refusal:
        add_package(fields=fields, by=by_owner, now=NOW)
    assert refusal.value.field == "code"


def test_the_offices_own_distances_judge_its_walks(confirmed, by_owner):
    walk = (
        "station,level,space,pass,pair_of,opening,ties_to,x,y\n"
        "1,1,H,both,,,,0,0\n2,1,H,both,,,,3,0\n3,1,H,both,,,1,0.4,0\n"
    )
    import_walk(shoot=confirmed, content=walk.encode(), file_name="walk.csv", by=by_owner, now=NOW)
    assert "tie-in-off" in {finding.code for finding in judge(confirmed).findings}
    change_walk_settings(fields={"tie_in_should_m": WalkSettings.the().tie_in_must_m}, by=by_owner, now=NOW)
    assert "tie-in-off" not in {finding.code for finding in judge(confirmed).findings}
    assert "tie_in_should_m" in Event.objects.get(verb="walk-settings-changed").text


def test_the_spacing_and_the_areas_change_the_plan_and_its_minutes(confirmed, by_owner):
    from decimal import Decimal

    few = len(planned_walk(confirmed))
    confirmed.property.spaces.filter(code="B").update(area_m2=Decimal(64))
    many = planned_walk(confirmed)
    assert len(many) == few - 3 + 16  # one to every 2 m square, instead of a room's usual three
    assert minutes_of(many) == len(many)
    change_walk_settings(fields={"spacing_m": Decimal(4), "minutes_a_station": Decimal("1.5")}, by=by_owner, now=NOW)
    assert len(planned_walk(confirmed)) == few - 3 + 4
    assert minutes_of(planned_walk(confirmed)) == -(-3 * (few + 1) // 2)


# The pages


def test_a_task_is_ticked_off_with_a_note_on_the_job(scanner_browser, captured):
    address = reverse("jobs:task-finish", args=[task("blur").pk])
    answer = scanner_browser.post(address, {"note": "in all rooms", "once": ONCE + "1"}, follow=True)
    assert "in all rooms" in answer.text
    assert "Tobias Renn" in answer.text


def test_a_note_that_is_too_long_is_cut_and_the_tick_counts(scanner_browser, captured):
    scanner_browser.post(reverse("jobs:task-finish", args=[task("blur").pk]), {"note": "x" * 300, "once": ONCE + "1"})
    assert (task("blur").state, len(task("blur").note)) == (TaskState.DONE, 200)


def test_only_the_owner_withdraws(client, captured, owner, scanner):
    address = reverse("jobs:task-withdraw", args=[task("blur").pk])
    for person, status in ((scanner, 403), (owner, 302)):
        client.force_login(person, backend="allauth.account.auth_backends.AuthenticationBackend")
        assert client.post(address, {"why": "empty", "once": ONCE + str(person.pk % 10)}).status_code == status


def test_a_task_is_added_on_the_job(scanner_browser, captured):
    address = reverse("jobs:task-add", args=[captured.number])
    typed = {"text": "Brighten the hall", "severity": "must", "due_at": "2027-03-02T12:00", "once": ONCE + "1"}
    scanner_browser.post(address, typed)
    assert task("own-1").due_at == MONDAY_NOON + timedelta(days=1)
    assert "Brighten the hall" in scanner_browser.get(captured.get_absolute_url()).text


def test_the_owner_makes_a_package_and_gives_it_tasks(owner_browser):
    made = owner_browser.post(
        reverse("jobs:package-new"),
        {"code": "plan", "name": "Plan", "covers": "plan", "promise_hours": "16", "offered": "on", "once": ONCE + "1"},
    )
    package = Package.objects.get(code="plan")
    assert made.url == reverse("jobs:package", args=[package.pk])
    typed = {"text": "Name the levels", "severity": "must", "due_hours": "4", "once": ONCE + "2"}
    owner_browser.post(reverse("jobs:package-task-add", args=[package.pk]), typed)
    page = owner_browser.get(made.url).text
    assert "Name the levels" in page
    assert "4 working hours" in page
    of_package = package.tasks.get()
    typed = {"text": "Name all levels", "severity": "should", "due_hours": "", "order": "5", "once": ONCE + "3"}
    owner_browser.post(reverse("jobs:package-task", args=[of_package.pk]), typed)
    assert "by the promise" in owner_browser.get(made.url).text
    owner_browser.post(reverse("jobs:package-task-remove", args=[of_package.pk]), {"once": ONCE + "4"})
    assert not package.tasks.exists()


def test_a_package_without_its_name_is_shown_again_with_what_was_typed(owner_browser, package):
    address = reverse("jobs:package", args=[package.pk])
    answer = owner_browser.post(address, {"name": "", "promise_hours": "8", "once": ONCE + "1"})
    assert answer.status_code == 200
    assert "This field is required" in answer.text


def test_the_list_of_packages_counts_their_tasks(owner_browser, package):
    page = owner_browser.get(reverse("jobs:packages"))
    assert [found.task_number for found in page.context["packages"]] == [2]


def test_the_walks_figures_are_set_on_their_page(owner_browser):
    address = reverse("jobs:walk-settings")
    initial = owner_browser.get(address).context["form"].initial
    owner_browser.post(address, {**initial, "code_days": "10", "once": ONCE + "1"})
    assert WalkSettings.the().code_days == 10
    wrong = owner_browser.post(address, {**initial, "spacing_m": "0.1", "once": ONCE + "2"})
    assert "greater than or equal to 0.5" in wrong.text


def test_the_job_page_asks_the_database_as_often_for_many_stations_as_for_few(
    owner_browser, captured, by_owner, django_assert_num_queries
):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    owner_browser.get(captured.get_absolute_url())
    with CaptureQueriesContext(connection) as few:
        owner_browser.get(captured.get_absolute_url())
    hall = captured.property.spaces.get(code="H")
    Station.objects.bulk_create(
        Station(
            shoot=captured, number=number, level=hall.level, space=hall, captured_for="both",
            logged_by=by_owner.person, logged_at=NOW,
        )
        for number in range(20, 60)
    )  # fmt: skip
    with django_assert_num_queries(len(few)):
        owner_browser.get(captured.get_absolute_url())
