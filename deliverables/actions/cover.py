"""The cover sheet and the list of checksums that go with every bundle. Importing this loads reportlab."""

import hashlib
from datetime import datetime

from django.core.files.base import ContentFile
from django.db.models import Max
from django.template.defaultfilters import filesizeformat
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from deliverables.models import Bundle, BundleItem, ItemKind
from deliverables.paper.cover_sheet import CoverItem, CoverSheet, Labels, checksum_list, cover_sheet_pdf
from office.models import Office
from office.paper.sheet import Letterhead, TitleBlock, Words
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
    sender = [*office.address_lines, office.phone, office.email]
    cells = ((_("Job"), shoot.number), (_("Bundle"), str(bundle.number)))
    return CoverSheet(
        letterhead=Letterhead(office.name, tuple(line for line in sender if line), office.country),
        block=TitleBlock(_("Handover"), ", ".join(shoot.property.address_lines), cells),
        words=Words(get_language() or "en", _("Sheet"), _("of")),
        labels=_labels(),
        items=tuple(_items_of(bundle)),
        facts=(
            (_("For"), str(shoot.client)),
            (_("Handed over"), format_day(now, office.zone, office.locale)),
            (_("The link is open until"), format_day(open_until, office.zone, office.locale)),
            (_("Questions"), ", ".join(part for part in (office.name, office.phone, office.email) if part)),
        ),
        message=bundle.message,
    )


def _labels() -> Labels:
    return Labels(
        contents=_("What is in this bundle"),
        item=_("What"),
        where=_("File or link"),
        size=_("Size"),
        fingerprints=_(
            "SHA-256 is a fingerprint of a file: whoever holds the file can compute it again and see that nothing "
            "has changed."
        ),
        questions=_("How long, and whom to ask"),
        cautions=_(
            "Areas and dimensions are approximate and for marketing. This is not a boundary survey, appraisal, "
            "inspection or legal area; for those rely on a licensed surveyor or appraiser. Local rules differ."
        ),
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
