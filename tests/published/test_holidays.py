"""Public holidays against an independent list."""

import json
from datetime import date
from pathlib import Path

import pytest

from jobs.rules.public_holidays import UnknownRegion, public_holidays


def test_us_federal_holidays_are_observed_on_the_published_dates(checks: Path) -> None:
    # pandas USFederalHolidayCalendar: observed dates, all on weekdays (checks/worktime).
    published = json.loads((checks / "worktime/us_federal_holidays_2025_2030.json").read_text())
    ours = public_holidays("US", None, 2025, 2030)
    assert {day for day in ours if day.weekday() < 5} == {date.fromisoformat(row["date"]) for row in published}


def test_a_holiday_on_a_weekend_is_closed_itself_and_when_observed() -> None:
    # 4 July 2026 is a Saturday, observed on Friday (5 U.S.C. § 6103(b)).
    assert {date(2026, 7, 3), date(2026, 7, 4)} <= set(public_holidays("US", None, 2026, 2026))


def test_a_subdivision_adds_its_own() -> None:
    # Bavaria keeps Epiphany, Berlin does not (BayFTG Art. 1; from memory).
    assert date(2026, 1, 6) in public_holidays("DE", "BY", 2026, 2026)
    assert date(2026, 1, 6) not in public_holidays("DE", "BE", 2026, 2026)


def test_only_the_years_asked_for_are_given() -> None:
    # New Year's Day 2028 is a Saturday, observed on the last day of 2027.
    assert date(2027, 12, 31) in public_holidays("US", None, 2027, 2027)
    assert {day.year for day in public_holidays("US", None, 2028, 2028)} == {2028}


@pytest.mark.parametrize(("country", "subdivision"), [("XX", None), ("US", "ZZ"), ("", None), ("us", None)])
def test_an_unknown_region_is_refused(country: str, subdivision: str | None) -> None:
    with pytest.raises(UnknownRegion):
        public_holidays(country, subdivision, 2026, 2026)
