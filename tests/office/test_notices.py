"""The outbox: written once, sent once, unsure when a process died in between."""

from datetime import timedelta

import pytest
from django.core import mail
from django.utils import timezone

from office.actions.links import make_link, token_of
from office.actions.notices import mark_unsure, send_waiting, settle_unsure, withdraw_notices, write_notice
from office.errors import Refused, WrongState
from office.models import Notice, NoticeState, Purpose
from tests.cast import NOW

pytestmark = pytest.mark.django_db


def write(key="hello:1", **more):
    return write_notice(
        key=key, template="person_invited", to_name="Odile Márquez", to_address="odile@example.org", now=NOW,
        choose_password="https://desk.example/choose", **more,
    )  # fmt: skip


def test_writing_under_the_same_key_twice_makes_one_notice(office):
    assert write() == write()
    assert Notice.objects.count() == 1


def test_a_waiting_notice_is_sent_once(office):
    write()
    assert send_waiting(now=NOW) == 1
    assert send_waiting(now=NOW) == 0
    (sent,) = mail.outbox
    assert sent.subject == "Your sign-in at Lantern Street Scans"
    assert sent.to == ["=?utf-8?q?Odile_M=C3=A1rquez?= <odile@example.org>"]
    assert "https://desk.example/choose" in sent.body
    assert "https://desk.example/choose" in sent.alternatives[0].content


def test_a_notice_for_later_waits(office):
    write(send_after=NOW + timedelta(hours=1))
    assert send_waiting(now=NOW) == 0
    assert send_waiting(now=NOW + timedelta(hours=1)) == 1


def test_the_outbox_holds_no_token_but_the_mail_does(office, by_owner):
    link = make_link(
        purpose=Purpose.QUOTE, subject_id=1, holder_name="Odile", holder_email="", by=by_owner, now=NOW, days=9_999
    )
    notice = write(key="link:1", link=link)
    Notice.objects.filter(pk=notice.pk).update(text=f"Open open-link:{link.key} now")
    send_waiting(now=NOW)
    assert f"/open/{token_of(link.key)}/ now" in mail.outbox[0].body
    notice.refresh_from_db()
    assert token_of(link.key) not in notice.text + notice.html


def test_a_mail_server_that_refuses_gets_it_again_later(office, settings):
    settings.EMAIL_BACKEND = "tests.office.broken_mail.Backend"
    notice = write()
    before = timezone.now()
    assert send_waiting(now=NOW) == 0
    notice.refresh_from_db()
    assert (notice.state, notice.handed_at, notice.attempts) == (NoticeState.WAITING, None, 1)
    assert notice.send_after >= before + timedelta(minutes=1)
    assert "ConnectionRefusedError" in notice.last_error


def test_a_notice_left_in_a_dead_workers_hands_becomes_unsure_and_is_never_sent_by_itself(office, by_owner):
    notice = write()
    Notice.objects.filter(pk=notice.pk).update(handed_at=NOW)
    assert mark_unsure(now=NOW + timedelta(minutes=1)) == 0
    assert mark_unsure(now=NOW + timedelta(minutes=3)) == 1
    assert send_waiting(now=NOW + timedelta(days=1)) == 0
    assert mail.outbox == []


@pytest.mark.parametrize(("send_again", "state", "mails"), [(True, NoticeState.SENT, 1), (False, NoticeState.SENT, 0)])
def test_the_owner_settles_an_unsure_notice(office, by_owner, send_again, state, mails):
    notice = write()
    Notice.objects.filter(pk=notice.pk).update(handed_at=NOW, state=NoticeState.UNSURE)
    notice.refresh_from_db()
    settle_unsure(notice=notice, send_again=send_again, by=by_owner, now=NOW)
    send_waiting(now=NOW)
    notice.refresh_from_db()
    assert notice.state == state
    assert len(mail.outbox) == mails
    with pytest.raises(Refused):
        settle_unsure(notice=notice, send_again=True, by=by_owner, now=NOW)


def test_what_has_come_is_not_chased(office):
    write(key="fix-overdue:5:1")
    write(key="fix-overdue:6:1")
    assert withdraw_notices(key_prefix="fix-overdue:5:") == 1
    assert send_waiting(now=NOW) == 1


def test_a_sent_notice_cannot_be_sent_again(office, by_owner):
    from office.actions.states import move

    notice = write()
    send_waiting(now=NOW)
    notice.refresh_from_db()
    with pytest.raises(WrongState):
        move(notice, NoticeState.WAITING)
