"""Rate cards and jobs for tests: the worked example of the terminal contract, and hypothesis strategies."""

from datetime import datetime, timedelta, timezone
from typing import Any

from hypothesis import strategies as st

from billing.rules.card import Card, Job, card_from_json, job_from_json

CARD: dict[str, Any] = {
    "number": 3,
    "from": "2027-01-01",
    "currency": "USD",
    "area_unit": "sqft",
    "packages": {
        "both": {
            "base": "180.00",
            "includes_area": "1500",
            "includes_levels": 1,
            "area_bands": [{"up_to": "3000", "per_unit": "0.0600"}, {"up_to": None, "per_unit": "0.0450"}],
            "per_extra_level": "25.00",
        }
    },
    "add_ons": {
        "exterior": {"fixed": "60.00"},
        "area_sheet": {"per_unit_area": "0.0200", "at_least": "25.00"},
        "staging_pass": {"percent": "10"},
    },
    "travel": [
        {"up_to_km": "25", "fee": "0.00"},
        {"up_to_km": "60", "fee": "35.00"},
        {"up_to_km": None, "fee": "35.00", "per_km_beyond": "0.90", "beyond_km": "60"},
    ],
    "short_notice": [{"under_hours": "24", "percent": "25"}, {"under_hours": "48", "percent": "10"}],
    "weekend_percent": "15",
    "minimum": "175.00",
    "client_volume": [{"from_shoots": 5, "percent_off": "5"}, {"from_shoots": 15, "percent_off": "10"}],
    "round_net_to": "0.01",
    "tax": [{"name": "Sales tax", "percent": "7.25"}],
    "tax_rounding": "invoice",
}

JOB: dict[str, Any] = {
    "package": "both",
    "area": "2450",
    "area_unit": "sqft",
    "levels": 3,
    "add_ons": [{"code": "exterior", "quantity": 1}],
    "distance_km": "31.4",
    "hours_notice": "20",
    "starts_at": "2027-03-06T09:00:00-06:00",
    "shoots_last_90_days": 6,
}
"""A Saturday, at short notice."""

PLAIN_JOB = JOB | {
    "area": "1500",
    "levels": 1,
    "add_ons": [],
    "distance_km": "0",
    "hours_notice": "100",
    "starts_at": "2027-03-05T09:00:00-06:00",
    "shoots_last_90_days": 0,
}
"""A Friday; nothing beyond the package."""


def card(**changes: Any) -> Card:
    return card_from_json(CARD | changes)


def job(**changes: Any) -> Job:
    return job_from_json(PLAIN_JOB | changes)


def package(**changes: Any) -> dict[str, Any]:
    return {"both": CARD["packages"]["both"] | changes}


def decimals(most: int, places: int) -> st.SearchStrategy[str]:
    """Decimal texts from 0 to `most`, with up to so many places."""
    return st.decimals(min_value=0, max_value=most, places=places).map(lambda value: format(value, "f"))


def figures(most: int) -> st.SearchStrategy[str]:
    return st.integers(0, 4).flatmap(lambda places: decimals(most, places))


@st.composite
def bands(draw: st.DrawFn) -> list[dict[str, Any]]:
    limits = sorted(draw(st.sets(st.integers(0, 6000), max_size=3)))
    ends = [str(limit) for limit in limits] + [None]
    return [{"up_to": end, "per_unit": draw(decimals(2, 4))} for end in ends] if draw(st.booleans()) else []


@st.composite
def packages(draw: st.DrawFn) -> dict[str, Any]:
    return {
        "base": draw(figures(500)),
        "includes_area": draw(figures(3000)),
        "includes_levels": draw(st.integers(0, 3)),
        "area_bands": draw(bands()),
        "per_extra_level": draw(figures(60)),
    }


def add_ons() -> st.SearchStrategy[dict[str, Any]]:
    by_area = st.fixed_dictionaries({"per_unit_area": decimals(1, 4)}, optional={"at_least": figures(50)})
    each = st.fixed_dictionaries({"fixed": figures(100)})
    percent = st.fixed_dictionaries({"percent": figures(40)})
    return st.fixed_dictionaries({"exterior": each, "sheet": by_area, "staging": percent})


@st.composite
def travel(draw: st.DrawFn) -> list[dict[str, Any]]:
    rows: list[dict[str, Any]] = [{"up_to_km": limit, "fee": draw(figures(60))} for limit in ("25", "60.5", None)]
    rows[2] |= draw(st.sampled_from([{}, {"per_km_beyond": "0.905", "beyond_km": "60"}]))
    return draw(st.sampled_from([[], rows]))


CURRENCIES = {"USD": ["0.01", "0.05", "1", "0.005"], "JPY": ["1", "10", "0.01"], "KWD": ["0.001", "0.025", "1"]}
"""Currencies with 2, 0 and 3 places, and steps that their nets may be rounded to."""


@st.composite
def cards(draw: st.DrawFn, tax_rounding: str | None = None) -> Card:
    """Any sound card: rates from zero up, steeper or gentler from row to row as they fall."""
    currency = draw(st.sampled_from(list(CURRENCIES)))
    return card_from_json(
        {
            "number": draw(st.integers(1, 99)),
            "from": "2027-01-01",
            "currency": currency,
            "area_unit": draw(st.sampled_from(["sqft", "m2"])),
            "packages": {"both": draw(packages()), "plan": draw(packages())},
            "add_ons": draw(add_ons()),
            "travel": draw(travel()),
            "short_notice": draw(notice_rows()),
            "weekend_percent": draw(figures(30)),
            "minimum": draw(figures(400)),
            "client_volume": [
                {"from_shoots": shoots, "percent_off": draw(figures(100))}
                for shoots in draw(st.lists(st.integers(0, 30), max_size=3))
            ],
            "round_net_to": draw(st.sampled_from(CURRENCIES[currency])),
            "tax": [
                {"name": f"Tax {percent}", "percent": percent} for percent in draw(st.lists(figures(25), max_size=2))
            ],
            "tax_rounding": tax_rounding or draw(st.sampled_from(["invoice", "line"])),
        }
    )


@st.composite
def notice_rows(draw: st.DrawFn) -> list[dict[str, str]]:
    """Rows whose percentage does not rise with the hours of notice."""
    hours = sorted(draw(st.sets(st.integers(0, 96), max_size=3)))
    percents = sorted((draw(st.integers(0, 60)) for _ in hours), reverse=True)
    return [
        {"under_hours": str(under), "percent": str(percent)} for under, percent in zip(hours, percents, strict=True)
    ]


@st.composite
def jobs(draw: st.DrawFn) -> Job:
    codes = draw(st.lists(st.sampled_from(["exterior", "sheet", "staging"]), unique=True))
    offset = timezone(timedelta(minutes=draw(st.integers(-14 * 60, 14 * 60))))
    start = datetime(2026, 1, 1, tzinfo=offset) + timedelta(minutes=draw(st.integers(0, 800_000)))
    return job_from_json(
        {
            "package": draw(st.sampled_from(["both", "plan"])),
            "area": draw(figures(9000)),
            "area_unit": draw(st.sampled_from(["sqft", "m2"])),
            "levels": draw(st.integers(1, 6)),
            "add_ons": [{"code": code, "quantity": draw(st.integers(1, 5))} for code in codes],
            "distance_km": draw(figures(200)),
            "hours_notice": draw(figures(120)),
            "starts_at": start.isoformat(),
            "shoots_last_90_days": draw(st.integers(0, 40)),
        }
    )
