"""One invented job from order to paid, told through the real actions, one line a step.

Every action is told its moment, so the story lies in the past: it begins on a Monday about two weeks before today.
"""

from collections.abc import Callable
from datetime import datetime, time, timedelta
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from django.core.files.uploadedfile import SimpleUploadedFile

from billing.actions.invoices import draw_up_invoice, issue_invoice
from billing.actions.payments import note_payment
from billing.actions.quotes import accept_quote, offer_quote
from billing.actions.true_ups import accept_true_up
from billing.models import Invoice, PaymentMethod, Quote, TrueUp
from deliverables.actions.bundles import hand_over, make_bundle
from deliverables.actions.drafters import link_of_drafter
from deliverables.actions.drafts import receive_draft
from deliverables.actions.fixes import ask_fix, return_fix, send_fixes, settle_fix
from deliverables.actions.plan_orders import accept_plan, order_plan, send_plan_order
from deliverables.actions.receipts import approve_bundle, note_collected, note_opened
from deliverables.demo.cast import ZONE, Cast
from deliverables.demo.drawing import draw_draft
from deliverables.models import Bundle, Draft, FixKind, FixRequest, PlanOrder, ReleaseRule
from jobs.actions.shapes import shape_of
from jobs.actions.shoots import close_shoot, confirm_shoot, note_captured, pencil_shoot, set_time, set_tour_links
from jobs.actions.tasks import finish_task
from jobs.actions.walks import import_walk, judge
from jobs.models import Property, Shoot, ShootState
from jobs.rules.walk import walk_csv
from jobs.rules.walkplan import plan_walk
from office.actions.actors import Actor
from office.actions.errands import run_waiting
from office.actions.links import url_of
from office.actions.notices import send_waiting
from office.models import CapabilityLink, Purpose
from office.rules.date_format import format_moment
from office.rules.money_format import format_money

Say = Callable[[str], object]
HOUR = timedelta(hours=1)
TOUR = "https://tour.example/27-alder-rise"
MEASURED_M2 = Decimal("240.64")
"""What the room dimensions on the invented plan add up to."""


class Story:
    """The job of 27 Alder Rise. Each step does one thing, says it in one line and moves the clock."""

    def __init__(self, cast: Cast, today: datetime, say: Say) -> None:
        self.cast = cast
        self.say = say
        self.now = beginning(today)
        self.shoot: Shoot
        self.quote: Quote
        self.plan_order: PlanOrder
        self.invoice: Invoice
        self.bundle: Bundle

    def tell(self) -> "Story":
        """The whole job."""
        for step in self.steps():
            step()
        return self

    def steps(self) -> tuple[Callable[[], None], ...]:
        """What happens, in the order of the job."""
        return (
            self.order, self.price, self.client_accepts, self.book, self.walk, self.edit, self.order_plan,
            self.first_draft, self.ask_for_a_fix, self.drafter_returns_it, self.accept_plan, self.true_up,
            self.hand_over, self.client_collects, self.bill, self.client_pays, self.close,
        )  # fmt: skip

    def order(self) -> None:
        add_ons = {self.cast.add_ons["exterior"]: 1}
        order: dict[str, Any] = {
            "client": self.cast.client, "property": self.cast.house, "package": self.cast.packages["both"],
            "add_ons": add_ons, "wished_days": "Wednesday or Thursday",
        }  # fmt: skip
        self.shoot = pencil_shoot(**order, by=self.cast.by_owner, now=self.now)
        self._say("Order", f"{self.shoot.number}: {self.shoot.package} at {self.cast.house} for {self.cast.client}")

    def price(self) -> None:
        self.now += HOUR / 4
        self.quote = offer_quote(shoot=self.shoot, by=self.cast.by_owner, now=self.now)
        for line in self.quote.lines.all():
            self._say("Price", f"{line.text}: {self._money(line.amount)} ({line.why})")
        self._say("Quote", f"{self.quote.number}: {self._money(self.quote.total)} with tax, by link to the client")

    def client_accepts(self) -> None:
        self.now += 3 * HOUR
        by = Actor.of_link(self._link(Purpose.QUOTE, self.quote.pk))
        self.quote = accept_quote(quote=self.quote, name=self.cast.client.name, by=by, now=self.now)
        self._say("Accepted", f"{self.quote.number} by {self.cast.client.name}")

    def book(self) -> None:
        start = _local(self.now, days=2, at=time(9))
        visit = {"starts_at": start, "window_end": start + HOUR / 2, "ends_at": start + 2.5 * HOUR}
        by = self.cast.by_owner
        self.shoot = set_time(shoot=self.shoot, crew=[self.cast.scanner], by=by, now=self.now, **visit)
        if self.shoot.state == ShootState.PENCILLED:
            self.shoot = confirm_shoot(shoot=self.shoot, by=by, now=self.now)
        self._say("Visit", f"{format_moment(start, ZONE, 'en_US')}, crew {self.cast.scanner}; the client is told")
        self.now = start

    def walk(self) -> None:
        house = Property.objects.with_shape().get(pk=self.cast.house.pk)
        planned = plan_walk(shape_of(house), self.shoot.package.covers)
        log = walk_csv([step.station for step in planned]).encode()
        self.now += 2 * HOUR
        by = self.cast.by_scanner
        import_walk(shoot=self.shoot, content=log, file_name="walk.csv", by=by, now=self.now)
        verdict = judge(self.shoot)
        self._say(
            "Walk",
            f"{verdict.stations} stations, {len(verdict.findings)} findings, tour in {verdict.tour_pieces} piece",
        )
        self.shoot = note_captured(shoot=self.shoot, by=by, now=self.now)
        for task in self.shoot.tasks.all():
            self._say("Task", f"{task.get_severity_display()}: {task.text}")

    def edit(self) -> None:
        self.now += 3 * HOUR
        links = {
            "capture_url": f"{TOUR}/capture", "tour_branded_url": f"{TOUR}?with=office",
            "tour_unbranded_url": f"{TOUR}?plain=yes",
        }  # fmt: skip
        self.shoot = set_tour_links(shoot=self.shoot, fields=links, by=self.cast.by_scanner, now=self.now)
        for task in self.shoot.tasks.all():
            finish_task(task=task, note="", by=self.cast.by_scanner, now=self.now)
        self._say("Edited", "every task is done; capture and tour links are noted")

    def order_plan(self) -> None:
        by = self.cast.by_owner
        self.plan_order = order_plan(
            shoot=self.shoot, drafter=self.cast.drafter, notes="Name the levels as in the list.", branded=False,
            measuring_rule="ansi-z765", by=by, now=self.now,
        )  # fmt: skip
        self.plan_order = send_plan_order(plan_order=self.plan_order, by=by, now=self.now)
        promise = format_moment(self.plan_order.promised_at, self.cast.drafter.zone, "en_US")
        self._say(
            "Plan order",
            f"{self.plan_order.number} to {self.cast.drafter}, promised {promise} in {self.cast.drafter.zone}",
        )

    def first_draft(self) -> None:
        self.now = self.plan_order.promised_at - 2 * HOUR
        self._receive(with_void=True)

    def ask_for_a_fix(self) -> None:
        draft = self._newest_draft()
        self.now += HOUR / 2
        where = _first_void(draft)
        fix = ask_fix(
            draft=draft, kind=FixKind.VOID, text="The bedroom closet is blank; see the stations in it.",
            **where, by=self.cast.by_owner, now=self.now,
        )  # fmt: skip
        self.plan_order = send_fixes(plan_order=self.plan_order, by=self.cast.by_owner, now=self.now)
        fix.refresh_from_db()
        self._say("Fix asked", f"{fix}: {fix.text} Due {format_moment(fix.due_at, self.cast.drafter.zone, 'en_US')}")

    def drafter_returns_it(self) -> None:
        fix = FixRequest.objects.get(plan_order=self.plan_order)
        self.now = fix.due_at - HOUR
        self._receive(with_void=False)
        fix.refresh_from_db()
        if fix.may_become("returned"):
            fix = return_fix(fix=fix, note="Drawn from the two stations.", by=self._drafter(), now=self.now)
        self.now += HOUR / 2
        fix = settle_fix(fix=fix, by=self.cast.by_owner, now=self.now)
        self._say("Fix settled", f"{fix}: returned in round {fix.round} and right")

    def accept_plan(self) -> None:
        self.plan_order = PlanOrder.objects.get(pk=self.plan_order.pk)
        self.plan_order = accept_plan(
            plan_order=self.plan_order, measured_area_m2=MEASURED_M2, by=self.cast.by_owner, now=self.now
        )
        self._say("Plan accepted", f"{self.plan_order.number}, measured area {MEASURED_M2} m²")

    def true_up(self) -> None:
        proposed = TrueUp.objects.get(quote=self.quote)
        accepted = accept_true_up(true_up=proposed, by=self.cast.by_owner, now=self.now)
        self._say("True-up", f"{self._money(accepted.difference)}: {accepted.why}")

    def hand_over(self) -> None:
        self.now += HOUR
        by, message = self.cast.by_owner, "Everything you ordered is behind this link."
        self.bundle = make_bundle(
            shoot=self.shoot, release_rule=ReleaseRule.AT_ONCE, message=message, by=by, now=self.now
        )
        self.bundle = hand_over(bundle=self.bundle, by=by, now=self.now)
        for item in self.bundle.items.all():
            self._say("In the bundle", f"{item}: {item.file.path if item.file else item.url}")
        self._say("Handed over", f"{self.bundle} at {url_of(self._link(Purpose.HANDOVER, self.shoot.pk))}")

    def client_collects(self) -> None:
        self.now += 2 * HOUR
        by = Actor.of_link(self._link(Purpose.HANDOVER, self.shoot.pk))
        note_opened(bundle=self.bundle, by=by, now=self.now)
        note_collected(bundle=self.bundle, item=None, by=by, now=self.now)
        self.bundle = approve_bundle(bundle=self.bundle, by=by, now=self.now)
        self._say("Collected", f"everything, by {self.bundle.approved_by}, who says that it looks right")

    def bill(self) -> None:
        by = self.cast.by_owner
        draft = draw_up_invoice(shoot=self.shoot, by=by, now=self.now)
        self.invoice = issue_invoice(invoice=draft, by=by, now=self.now)
        total = format_money(self.invoice.total, self.invoice.currency, "en_US")
        self._say("Invoice", f"{self.invoice.number}: {total}, due {self.invoice.due_on:%a %d %B %Y}")

    def client_pays(self) -> None:
        self.now += timedelta(days=2)
        note_payment(
            client=self.cast.client, amount=self.invoice.total, received_on=self.now.date(),
            method=PaymentMethod.TRANSFER, reference=self.invoice.number, invoices=[self.invoice],
            by=self.cast.by_owner, now=self.now,
        )  # fmt: skip
        self.invoice.refresh_from_db()
        self._say("Paid", f"{self.invoice.number} is {self.invoice.get_state_display().lower()}")

    def close(self) -> None:
        self.shoot = close_shoot(shoot=self.shoot, by=self.cast.by_owner, now=self.now)
        self._say("Closed", f"{self.shoot.number} is {self.shoot.get_state_display().lower()}")
        self._say("Mails", f"{send_waiting(now=self.now)} sent")

    def _receive(self, *, with_void: bool) -> None:
        name = "alder-rise-1.pdf" if with_void else "alder-rise-2.pdf"
        upload = SimpleUploadedFile(name, draw_draft(with_void=with_void), "application/pdf")
        self.plan_order = PlanOrder.objects.get(pk=self.plan_order.pk)
        draft = receive_draft(plan_order=self.plan_order, upload=upload, note="", by=self._drafter(), now=self.now)
        run_waiting(now=self.now)
        draft.refresh_from_db()
        found = [finding["text"] for finding in draft.check_result.get("findings", [])]
        self._say("Draft", f"{draft} kept at {draft.file.path}")
        self._say("Plan check", "; ".join(found) or "nothing wrong")
        self.plan_order = PlanOrder.objects.get(pk=self.plan_order.pk)

    def _newest_draft(self) -> Draft:
        return self.plan_order.drafts.order_by("-number")[0]

    def _drafter(self) -> Actor:
        return Actor.of_link(link_of_drafter(drafter=self.cast.drafter, by=self.cast.by_owner, now=self.now))

    def _link(self, purpose: Purpose, subject_id: int) -> CapabilityLink:
        return CapabilityLink.objects.to(purpose, subject_id)[0]

    def _money(self, amount: Decimal) -> str:
        return format_money(amount, self.quote.currency, "en_US")

    def _say(self, step: str, text: str) -> None:
        self.say(f"{step:>14}  {text}")


def beginning(today: datetime) -> datetime:
    """Monday morning about two weeks before `today`."""
    day = today.astimezone(ZoneInfo(ZONE)) - timedelta(days=16)
    return _local(day - timedelta(days=day.weekday()), days=0, at=time(9, 5))


def _local(moment: datetime, *, days: int, at: time) -> datetime:
    day = (moment.astimezone(ZoneInfo(ZONE)) + timedelta(days=days)).date()
    return datetime.combine(day, at, ZoneInfo(ZONE))


def _first_void(draft: Draft) -> dict[str, Any]:
    """Where the plan check saw the first void, as a pin: the middle of it, in shares of its page."""
    for page in draft.check_result["pages"]:
        for void in page["voids"]:
            x = Decimal(void["x"] + void["width"] / 2) / page["width_px"]
            y = Decimal(void["y"] + void["height"] / 2) / page["height_px"]
            return {"page": page["number"], "x": round(x, 5), "y": round(y, 5)}
    return {"page": 1, "x": None, "y": None}
