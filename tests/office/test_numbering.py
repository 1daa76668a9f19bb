"""Numbers rise by one in a series and year, and a number that was not used is given again."""

import pytest
from django.db import transaction

from office.actions.numbering import next_number

pytestmark = pytest.mark.django_db(transaction=True)


def take(series="invoice", year=2027):
    with transaction.atomic():
        return next_number(series, year)


def test_each_series_and_year_counts_for_itself():
    assert [take(), take(), take(year=2028), take("quote"), take()] == [1, 2, 1, 1, 3]


def test_a_number_whose_transaction_failed_is_not_lost():
    take()
    with pytest.raises(RuntimeError), transaction.atomic():
        next_number("invoice", 2027)
        raise RuntimeError("the paper could not be made")
    assert take() == 2
