"""Prices of real houses: 300 of the Ames, Iowa assessor's (De Cock, Journal of Statistics Education 19(3), 2011)."""

import csv
from dataclasses import replace
from decimal import Decimal
from itertools import groupby, pairwise

import pytest

from billing.rules.card import Job
from billing.rules.job_columns import columns_of
from billing.rules.pricing import price
from billing.rules.reprice import reprice
from tests.billing.cards_and_jobs import card, job, package

LEVELS = {"1Story": 1, "1.5Fin": 2, "1.5Unf": 2, "2Story": 2, "2.5Fin": 3, "2.5Unf": 3, "SLvl": 1, "SFoyer": 2}
"""A half storey is a level; a split level is one level with parts at different elevations (IFC 4.3)."""


@pytest.fixture(scope="session")
def houses(checks) -> list[Job]:
    with (checks / "houses" / "ames_300.csv").open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    return [job(area=row["Gr Liv Area"], levels=LEVELS[row["House Style"]]) for row in rows]


def test_every_house_has_a_price_and_none_is_under_the_minimum(houses):
    assert len(houses) == 300
    for house in houses:
        priced = price(card(), house)
        assert priced.net.is_finite()
        assert priced.net >= Decimal("175.00")
        assert priced.total > priced.net


def test_a_larger_house_is_never_cheaper(houses):
    by_levels = sorted(houses, key=lambda house: (house.levels, house.area))
    for _levels, group in groupby(by_levels, key=lambda house: house.levels):
        totals = [price(card(), house).total for house in group]
        assert all(smaller <= larger for smaller, larger in pairwise(totals))


def test_a_further_level_is_never_cheaper(houses):
    for house in houses:
        assert price(card(), replace(house, levels=house.levels + 1)).total > price(card(), house).total


def test_a_cent_a_square_foot_comes_to_the_area_of_all_houses(houses):
    flat = {
        "base": "0",
        "includes_area": "0",
        "area_bands": [{"up_to": None, "per_unit": "0.01"}],
        "per_extra_level": "0",
    }
    rates = card(packages=package(**flat), minimum="0", tax=[])
    assert sum(price(rates, house).total for house in houses) == Decimal("4430.20")  # sum of Gr Liv Area: 443,020
    assert int(reprice(rates, columns_of(houses)).total.sum()) == 443_020


def test_in_bulk_every_house_comes_to_the_same(houses):
    for rounding in ("invoice", "line"):
        rates = card(tax_rounding=rounding)
        cents = reprice(rates, columns_of(houses)).total.tolist()
        assert cents == [int(price(rates, house).total * 100) for house in houses]
