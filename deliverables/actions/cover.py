"""The cover sheet and the list of checksums that go with every bundle. Importing this loads reportlab."""

import hashlib
from datetime import datetime

from django.core.files.base import ContentFile
from django.db.models import Max
from django.template.defaultfilters import filesizeformat
from django.utils.translation import gettext as _

from deliverables.models import Bundle, BundleItem, ItemKind
from deliverables.paper.cover_sheet import CoverItem, CoverSheet, checksum_list, cover_sheet_pdf
from office.models import Office
from office.paper.sheet import Letterhead
from office.rules.date_format import format_day

from .intake import BYTES
from .recipe import unused_name


def add_cover_sheet(*, bundle: Bundle, open_until: datetime, now: datetime) -> None:
    """Put both into a bundle that is leaving: the sheet in front, the checksums of everything behind."""
    name = f"{bundle.shoot.number}-bundle-{bundle.number}-cover-sheet.pdf"
    sheet = cover_sheet_pdf(_cover_of(bundle, open_until, now))
    _add(bundle, ItemKind.COVER_SHEET, _("Cover sheet"), 0, name, "application/pdf", sheet)
    last = bundle.items.aggregate(last=Max("position"))["last"] + 1
    sums = checksum_list(_items_of(bundle))
    _add(bundle, ItemKind.CHECKSUMS, _("Checksums"), last, "SHA256SUMS.txt", BYTES, sums)


def _cover_of(bundle: Bundle, open_until: datetime, now: datetime) -> CoverSheet:
    office, shoot = Office.the(), bundle.shoot
    lines = [*office.address_lines, office.phone, office.email]
    return CoverSheet(
        letterhead=Letterhead(office.name, tuple(line for line in lines if line), office.country),
        job=shoot.number,
        bundle=str(bundle.number),
        property_lines=tuple(shoot.property.address_lines),
        client=str(shoot.client),
        handed_over=format_day(now, office.zone, office.locale),
        open_until=format_day(open_until, office.zone, office.locale),
        ask=", ".join(part for part in (office.name, office.phone, office.email) if part),
        items=tuple(_items_of(bundle)),
        message=bundle.message,
    )


def _items_of(bundle: Bundle) -> list[CoverItem]:
    return [
        CoverItem(item.title, item.file_name, filesizeformat(item.size), item.sha256)
        if item.file
        else CoverItem(item.title, item.url)
        for item in bundle.items.all()
    ]


def _add(
    bundle: Bundle, kind: ItemKind, title: str, position: int, name: str, content_type: str, content: bytes
) -> None:
    item = BundleItem(
        bundle=bundle,
        kind=kind,
        title=title,
        position=position,
        file_name=unused_name(bundle, name),
        content_type=content_type,
        size=len(content),
        sha256=hashlib.sha256(content).hexdigest(),
    )
    item.file.save("item", ContentFile(content), save=False)
    item.save(force_insert=True)
