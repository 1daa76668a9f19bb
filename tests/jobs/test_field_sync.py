"""Taking in what phones logged: once each, in the server's order, whatever arrives when."""

import threading
from datetime import timedelta
from uuid import uuid4

import pytest
from django.db import connection
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from jobs.actions.field_sync import sync_walk
from jobs.actions.shoots import cancel_shoot, note_captured
from jobs.actions.spaces import remove_space
from jobs.actions.walks import import_walk, remove_station, walk_csv
from jobs.models import EditingTask, Property, RemovedStation, Shoot, ShootState, Station, TaskState
from jobs.rules.field_ops import LogStation, RemoveStation, Unread, WriteNote
from office.actions.actors import Actor
from office.errors import Refused
from office.models import Event
from tests.cast import NOW
from tests.jobs.conftest import WALK

AS_JSON = {"Accept": "application/json"}
AT = "2027-03-03T15:12:00Z"


def log(number=1, space="H", uuid=None, **more):
    fields = {"captured_for": "both", "at": NOW, **more}
    return LogStation(kind="log", uuid=uuid or uuid4(), number=number, space=space, **fields)


def remove(uuid):
    return RemoveStation(kind="remove", uuid=uuid)


def send(shoot, by, *ops):
    return sync_walk(shoot=shoot, ops=ops, by=by, now=NOW)


def numbers(shoot):
    return list(shoot.stations.order_by("number").values_list("number", "space__code"))


@pytest.fixture
def by_scanner(scanner):
    return Actor.of_person(scanner)


pytestmark = pytest.mark.django_db


def test_stations_arrive_in_order_with_who_and_when(confirmed, by_scanner):
    taken = send(confirmed, by_scanner, log(1), log(2, "S", level=2))
    assert [one.number for one in taken] == [1, 2]
    station = confirmed.stations.get(number=2)
    assert (station.level.number, station.logged_by, station.logged_at) == (2, by_scanner.person, NOW)


def test_the_same_batch_twice_is_one_batch(confirmed, by_scanner):
    ops = [log(1), log(2, "S")]
    first, second = send(confirmed, by_scanner, *ops), send(confirmed, by_scanner, *ops)
    assert first == second
    assert numbers(confirmed) == [(1, "H"), (2, "S")]
    assert Event.objects.filter(verb="walk-synced").count() == 1


def test_two_phones_that_propose_one_number_both_keep_their_station(confirmed, by_scanner, by_owner):
    send(confirmed, by_scanner, log(1), log(2, "S"))
    mine, next_of_mine = log(2, "B"), log(3, "B")
    taken = send(confirmed, by_owner, mine, next_of_mine)
    assert [one.number for one in taken] == [3, 4]
    assert numbers(confirmed) == [(1, "H"), (2, "S"), (3, "B"), (4, "B")]


def test_a_later_station_of_a_phone_never_comes_before_its_earlier_one(confirmed, by_scanner, by_owner):
    send(confirmed, by_owner, log(2), log(9))
    first = log(2, "S")
    taken = send(confirmed, by_scanner, first, log(3, "B", after=first.uuid))
    assert [one.number for one in taken] == [10, 11]


def test_pairs_and_ties_follow_the_numbers_that_stations_got(confirmed, by_scanner, by_owner):
    send(confirmed, by_owner, log(1))
    opened = log(1, "B", captured_for="plan", opening="D3")
    closed = log(2, "B", captured_for="tour", opening="D3", pair_of=opened.uuid, ties_to=opened.uuid)
    send(confirmed, by_scanner, opened, closed)
    station = confirmed.stations.get(uuid=closed.uuid)
    assert (station.number, station.pair_of, station.ties_to) == (3, 2, 2)


def test_a_tie_to_a_station_that_was_taken_out_meanwhile_is_dropped_and_the_station_kept(confirmed, by_scanner):
    gone, late = log(1), log(2, "S")
    send(confirmed, by_scanner, gone)
    send(confirmed, by_scanner, remove(gone.uuid), late, log(3, "B", ties_to=gone.uuid))
    assert list(confirmed.stations.values_list("number", "ties_to")) == [(2, None), (3, None)]


def test_a_station_taken_out_does_not_come_back_when_its_log_arrives_late(confirmed, by_scanner):
    op = log(1)
    send(confirmed, by_scanner, op, remove(op.uuid))
    (again,) = send(confirmed, by_scanner, op)
    assert (again.number, again.why) == (None, "")
    assert not confirmed.stations.exists()


def test_a_removal_that_overtakes_its_log_still_counts(confirmed, by_scanner):
    op = log(1)
    send(confirmed, by_scanner, remove(op.uuid))
    send(confirmed, by_scanner, op)
    assert not confirmed.stations.exists()


@pytest.mark.parametrize("how", ["desk", "file"])
def test_what_the_desk_took_out_does_not_come_back_either(confirmed, by_scanner, by_owner, how):
    op = log(1)
    send(confirmed, by_scanner, op)
    if how == "desk":
        remove_station(station=confirmed.stations.get(), by=by_owner, now=NOW)
    else:
        import_walk(shoot=confirmed, content=WALK.encode(), file_name="walk.csv", by=by_owner, now=NOW)
    before = walk_csv(confirmed)
    send(confirmed, by_scanner, op)
    assert walk_csv(confirmed) == before


def test_one_op_that_cannot_be_taken_stops_no_other(confirmed, by_scanner):
    taken = send(
        confirmed, by_scanner, log(1, "Z"), log(2, "H", level=2), log(3, "B", opening="D9"),
        Unread("x", "ops[3].at: expected this key"), log(4, "S"),
    )  # fmt: skip
    assert [bool(one.why) for one in taken] == [True, True, True, True, False]
    assert "no space “Z”" in taken[0].why
    assert "not on level 2" in taken[1].why
    assert "no opening “D9”" in taken[2].why
    assert numbers(confirmed) == [(4, "S")]


def test_a_space_that_the_desk_removed_meanwhile_is_named(confirmed, by_scanner, by_owner):
    remove_space(space=confirmed.property.spaces.get(code="C"), by=by_owner, now=NOW)
    (taken,) = send(confirmed, by_scanner, log(1, "C"))
    assert "no space “C” any more" in taken.why


def test_a_station_of_another_walk_is_not_taken_over(confirmed, by_scanner, client_of_office, package, by_owner):
    op = log(1)
    send(confirmed, by_scanner, op)
    other = Shoot.objects.create(
        number="S-2027-0099", client=client_of_office, property=confirmed.property, package=package,
        state=ShootState.CONFIRMED, ordered_at=NOW,
    )  # fmt: skip
    for strange in (op, remove(op.uuid)):
        (taken,) = send(other, by_scanner, strange)
        assert "another walk" in taken.why
    assert confirmed.stations.count() == 1


def test_a_note_is_written_and_the_last_one_counts(confirmed, by_scanner):
    op = log(1)
    note = WriteNote(kind="note", uuid=op.uuid, note="door sticks")
    send(confirmed, by_scanner, op, note, WriteNote(kind="note", uuid=uuid4(), note="of nothing"))
    assert confirmed.stations.get().note == "door sticks"


@pytest.mark.parametrize(
    ("told", "kept"),
    [(NOW - timedelta(minutes=5), NOW - timedelta(minutes=5)), (NOW + timedelta(days=1), NOW)],
)
def test_a_phones_clock_is_believed_as_far_as_it_can_be_true(confirmed, by_scanner, told, kept):
    Shoot.objects.filter(pk=confirmed.pk).update(starts_at=NOW - timedelta(hours=1))
    send(confirmed, by_scanner, log(1, at=told))
    assert confirmed.stations.get().logged_at == kept


def test_a_clock_that_is_years_slow_is_not_believed(confirmed, by_scanner):
    Shoot.objects.filter(pk=confirmed.pk).update(starts_at=NOW - timedelta(hours=1))
    send(confirmed, by_scanner, log(1, at=NOW.replace(year=2001)))
    assert confirmed.stations.get().logged_at == NOW


def test_a_closed_or_cancelled_walk_takes_nothing(confirmed, by_scanner, by_owner):
    send(confirmed, by_scanner, log(1))
    cancel_shoot(shoot=confirmed, why="sold", by=by_owner, now=NOW)
    with pytest.raises(Refused, match="cancelled"):
        send(confirmed, by_scanner, log(2))


def test_stations_that_arrive_after_the_capture_renew_the_keep_out_task(confirmed, by_scanner, by_owner):
    send(confirmed, by_scanner, log(1), log(2, "S"), log(3, "B"), log(4, "C", captured_for="plan"))
    note_captured(shoot=confirmed, by=by_scanner, now=NOW)
    task = EditingTask.objects.get(code="keep-out")
    EditingTask.objects.filter(pk=task.pk).update(state=TaskState.DONE, done_at=NOW)
    send(confirmed, by_scanner, log(5, "C", captured_for="plan"))
    task.refresh_from_db()
    assert (task.state, task.stations) == (TaskState.OPEN, [4, 5])
    assert Event.objects.filter(verb="task-reopened").count() == 1


WALKED = st.lists(st.sampled_from(["log", "log", "log", "undo"]), max_size=8)


def as_ops(deeds):
    """What one phone sends for this row of logging and undoing."""
    ops, standing = [], []
    for number, deed in enumerate(deeds, 1):
        if deed == "undo" and standing:
            ops.append(remove(standing.pop()))
        else:
            ops.append(log(number, "H1", after=standing[-1] if standing else None))
            standing.append(ops[-1].uuid)
    return ops


class AnyMixOfPhones(TestCase):
    """However two phones' batches are split, repeated and mixed, the log ends the same in the ways that matter."""

    def setUp(self):
        from tests import cast

        cast.make_office()
        self.person = cast.make_person("Tobias Renn", "scanner")
        house = cast.make_house()
        from jobs.actions.spaces import start_shape
        from jobs.rules.first_shape import FirstFacts

        by = Actor.of_person(self.person)
        start_shape(house=house, facts=FirstFacts(levels=1, bedrooms=2), by=by, now=NOW)
        self.shoot = Shoot.objects.create(
            number="S-2027-0001", client=cast.make_client(), property=Property.objects.get(), ordered_at=NOW,
            package=cast.make_package(), state=ShootState.CONFIRMED,
        )  # fmt: skip

    @settings(max_examples=40, deadline=None)
    @given(
        st.tuples(WALKED, WALKED),
        st.lists(st.tuples(st.integers(0, 1), st.integers(1, 5), st.booleans()), max_size=12),
    )
    def test_every_station_once_each_phone_in_order_and_repeats_change_nothing(self, walked, rounds):
        Station.objects.all().delete()
        RemovedStation.objects.all().delete()
        by = Actor.of_person(self.person)
        phones = [as_ops(deeds) for deeds in walked]
        queues = [list(ops) for ops in phones]
        for phone, size, is_answered in [*rounds, (0, 99, True), (1, 99, True)]:
            sync_walk(shoot=self.shoot, ops=queues[phone][:size], by=by, now=NOW)
            if is_answered:
                queues[phone] = queues[phone][size:]
        stored = {station.uuid: station.number for station in self.shoot.stations.all()}
        removed = {op.uuid for ops in phones for op in ops if isinstance(op, RemoveStation)}
        logged = {op.uuid for ops in phones for op in ops if isinstance(op, LogStation)}
        assert set(stored) == logged - removed
        assert len(set(stored.values())) == len(stored)
        for ops in phones:
            kept = [stored[op.uuid] for op in ops if isinstance(op, LogStation) and op.uuid in stored]
            assert kept == sorted(kept)


@pytest.mark.django_db(transaction=True)
def test_two_phones_at_the_same_instant_lose_nothing_and_share_no_number(confirmed, by_scanner, by_owner):
    failed = []

    def phone(by):
        try:
            last = None
            for number in range(1, 9):
                op = log(number, "H", after=last)
                last = op.uuid
                sync_walk(shoot=confirmed, ops=[op], by=by, now=NOW)
        except Exception as error:
            failed.append(error)
        finally:
            connection.close()

    phones = [threading.Thread(target=phone, args=(by,)) for by in (by_scanner, by_owner)]
    for thread in phones:
        thread.start()
    for thread in phones:
        thread.join()
    assert failed == []
    assert [number for number, _space in numbers(confirmed)] == list(range(1, 17))
