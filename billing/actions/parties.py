"""Seller and buyer as they stand on a paper: copies, so that an issued paper never changes."""

from dataclasses import asdict
from typing import Any

from billing.rules.document import Address, Party
from jobs.models import Client
from office.models import Office


def seller_of(office: Office) -> dict[str, Any]:
    """The office as a party, for storing."""
    return _stored(
        Party(
            name=office.name,
            address=Address(
                country=office.country, street=office.street, town=office.town, region=office.region,
                postcode=office.postcode,
            ),
            phone=office.phone,
            email=office.email,
            tax_number=office.tax_number,
        )
    )  # fmt: skip


def buyer_of(client: Client, office: Office) -> dict[str, Any]:
    """The client as a party, for storing; a firm is the party and its person the contact."""
    return _stored(
        Party(
            name=client.company or client.name,
            contact=client.name if client.company else "",
            address=Address(
                country=client.country or office.country, street=client.street, town=client.town,
                region=client.region, postcode=client.postcode,
            ),
            phone=client.phone,
            email=client.email,
            tax_number=client.tax_number,
        )
    )  # fmt: skip


def party_of(stored: dict[str, Any]) -> Party:
    """The party that was stored."""
    return Party(**{**stored, "address": Address(**stored["address"])})


def address_lines(party: Party, *, at_home_in: str) -> list[str]:
    """The party as it is written on a paper: name first, the country only for somebody abroad."""
    address = party.address
    town = " ".join(part for part in (address.town, address.region, address.postcode) if part)
    country = address.country if address.country != at_home_in else ""
    return [line for line in (party.name, party.contact, address.street, address.extra, town, country) if line]


def _stored(party: Party) -> dict[str, Any]:
    return {key: value for key, value in asdict(party).items() if value}
