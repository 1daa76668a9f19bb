"""Logging the walk: station by station and from a file."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from jobs.actions.tasks import finish_task, make_editing_tasks, reopen_task
from jobs.actions.walks import import_walk, judge, log_station, remove_station, walk_csv
from jobs.models import EditingTask, Station, TaskState
from office.errors import Refused, WrongState
from tests.cast import NOW
from tests.jobs.conftest import WALK

pytestmark = pytest.mark.django_db


def bring_in(shoot, by, text=WALK):
    return import_walk(shoot=shoot, content=text.encode(), file_name="walk.csv", by=by, now=NOW)


def test_a_walk_goes_out_as_it_came_in(confirmed, by_owner):
    bring_in(confirmed, by_owner)
    assert walk_csv(confirmed).replace("\r\n", "\n") == WALK


def test_bringing_in_a_walk_replaces_the_log(confirmed, by_owner):
    bring_in(confirmed, by_owner)
    bring_in(confirmed, by_owner)
    assert confirmed.stations.count() == 6


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("7,1,Z,both,,,,,", "no space “Z”"),
        ("7,2,H,both,,,,,", "not on level 2"),
        ("1,1,H,both,,,,,", "station 1 stands twice"),
        ("7,1,H,sometimes,,,,,", "pass: expected plan, tour or both"),
        ("x,1,H,both,,,,,", "station: expected a whole number"),
    ],
)
def test_a_row_that_does_not_fit_is_named_and_the_old_log_stays(confirmed, by_owner, row, said):
    bring_in(confirmed, by_owner)
    with pytest.raises(Refused, match=said):
        bring_in(confirmed, by_owner, WALK + row + "\n")
    assert confirmed.stations.count() == 6


def test_a_file_that_is_no_text_is_refused(confirmed, by_owner):
    with pytest.raises(Refused, match="UTF-8"):
        import_walk(shoot=confirmed, content=b"\xff\xfe\x00", file_name="walk.csv", by=by_owner, now=NOW)


def test_a_pencilled_shoot_has_no_walk(timed, by_owner):
    with pytest.raises(Refused, match="pencilled"):
        bring_in(timed, by_owner)


def test_the_verdict_names_what_is_missing(confirmed, by_owner):
    bring_in(confirmed, by_owner, "\n".join(WALK.splitlines()[:4]) + "\n")
    codes = {finding.code for finding in judge(confirmed).findings}
    assert "space-not-captured" in codes


def test_a_station_is_logged_by_hand_on_the_page(owner_browser, confirmed):
    hall = confirmed.property.spaces.get(code="H")
    once = "11111111-1111-4111-8111-111111111111"
    typed = {"number": 1, "space": hall.pk, "captured_for": "both", "once": once}
    owner_browser.post(f"/shoots/{confirmed.number}/walk/", typed)
    owner_browser.post(f"/shoots/{confirmed.number}/walk/", typed)
    assert [str(station) for station in Station.objects.all()] == ["1 in Hall"]


def test_a_tie_to_a_station_that_is_not_there_is_refused_beside_its_field(confirmed, by_owner):
    hall = confirmed.property.spaces.get(code="H")
    fields = {"number": 1, "space": hall, "captured_for": "both", "ties_to": 9}
    with pytest.raises(Refused) as refusal:
        log_station(shoot=confirmed, fields=fields, by=by_owner, now=NOW)
    assert refusal.value.field == "ties_to"


def test_another_houses_space_cannot_be_chosen(owner_browser, confirmed):
    from jobs.models import Level, Space
    from tests.cast import make_house

    level = Level.objects.create(property=make_house(), number=1, name="Ground")
    foreign = Space.objects.create(property=level.property, level=level, code="X", name="Elsewhere")
    once = "11111111-1111-4111-8111-111111111111"
    answer = owner_browser.post(
        f"/shoots/{confirmed.number}/walk/", {"number": 1, "space": foreign.pk, "captured_for": "both", "once": once}
    )
    assert "not one of the available choices" in answer.content.decode()
    assert not Station.objects.exists()


def test_a_station_can_be_taken_out_again(confirmed, by_owner):
    bring_in(confirmed, by_owner)
    remove_station(station=confirmed.stations.get(number=6), by=by_owner, now=NOW)
    assert confirmed.stations.count() == 5


def test_the_page_takes_a_file_and_gives_it_back(owner_browser, confirmed):
    once = "11111111-1111-4111-8111-111111111111"
    upload = SimpleUploadedFile("walk.csv", WALK.encode())
    owner_browser.post(f"/shoots/{confirmed.number}/walk/import/", {"walk": upload, "once": once})
    saved = owner_browser.get(f"/shoots/{confirmed.number}/walk/walk.csv")
    assert saved.content.decode().replace("\r\n", "\n") == WALK


def test_making_the_tasks_again_keeps_what_is_done(confirmed, by_owner):
    bring_in(confirmed, by_owner)
    make_editing_tasks(shoot=confirmed, now=NOW)
    finish_task(task=EditingTask.objects.get(code="blur"), note="in all rooms", by=by_owner, now=NOW)
    make_editing_tasks(shoot=confirmed, now=NOW)
    task = EditingTask.objects.get(code="blur")
    assert (task.state, task.note, str(task.done_by)) == (TaskState.DONE, "in all rooms", "Maren Quist")


def test_a_task_is_done_once_and_can_be_opened_again(confirmed, by_owner):
    bring_in(confirmed, by_owner)
    make_editing_tasks(shoot=confirmed, now=NOW)
    task = EditingTask.objects.get(code="keep-out")
    finish_task(task=task, note="", by=by_owner, now=NOW)
    with pytest.raises(WrongState):
        finish_task(task=task, note="", by=by_owner, now=NOW)
    reopen_task(task=task, by=by_owner, now=NOW)
    assert list(EditingTask.objects.blocking(confirmed)) != []
