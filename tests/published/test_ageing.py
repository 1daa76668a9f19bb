"""Days overdue, buckets and due dates against the published table."""

import json
from datetime import date

from billing.rules.ageing import Bucket, bucket
from billing.rules.standing import days_overdue, due_date

NAMES = {
    "current": Bucket.NOT_DUE,
    "1-30": Bucket.DAYS_1_30,
    "31-60": Bucket.DAYS_31_60,
    "61-90": Bucket.DAYS_61_90,
    "over 90": Bucket.OVER_90,
}


def table(checks, name):
    return json.loads((checks / "ageing" / "ageing.json").read_text("utf-8"))[name]


def test_every_boundary_falls_into_the_published_bucket(checks):
    # numpy dates; day 30 belongs to 1-30, day 31 to 31-60
    for row in table(checks, "ageing"):
        due, as_of = date.fromisoformat(row["due"]), date.fromisoformat(row["as_of"])
        assert days_overdue(due, as_of) == row["days_overdue"], row
        assert bucket(due, as_of) is NAMES[row["bucket"]], row


def test_net_terms_give_the_published_due_date(checks):
    # numpy dates, over a leap day
    for row in table(checks, "net_terms"):
        assert due_date(date.fromisoformat(row["issued"]), row["net_days"]) == date.fromisoformat(row["due"]), row
