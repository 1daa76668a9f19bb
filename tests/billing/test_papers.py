"""Quotes and invoices on paper: what stands on them, and that the file is sound."""

from datetime import timedelta
from io import BytesIO

import pytest
from pypdf import PdfReader

from billing.actions.invoices import draw_up_invoice, issue_invoice
from billing.actions.papers import invoice_pdf, quote_pdf
from billing.models import Quote, QuoteLine
from jobs.actions.clients import change_client
from tests.cast import NOW

pytestmark = pytest.mark.django_db
ADDRESS = "https://desk.lanternstreet.example/open/" + "aB-9_" * 8 + "xyz/"


def words(pdf: bytes) -> str:
    return " ".join(" ".join(page.extract_text() for page in PdfReader(BytesIO(pdf)).pages).split())


def scanned(pdf: bytes) -> set[str]:
    import cv2
    import numpy
    import pypdfium2

    document = pypdfium2.PdfDocument(pdf)
    found = set()
    for number in range(len(document)):
        picture = numpy.array(document[number].render(scale=4).to_pil().convert("L"))
        _ok, texts, _points, _codes = cv2.QRCodeDetector().detectAndDecodeMulti(picture)
        found |= set(texts) - {""}
    return found


def test_a_quote_on_paper_has_every_line_with_its_reason(offered):
    text = words(quote_pdf(offered, ADDRESS))
    for line in offered.lines.all():
        assert line.text in text
        assert line.why in text
    for piece in (
        "Lantern Street Scans", "14 Lantern Street", "Marchetti Homes", "Odile Marchetti", "Q-2027-0001",
        "27 Alder Rise", "Mon, Mar 1, 2027", "Sales tax 7.25 %", "$25.16", "$347.00", "$372.16", "Free to move",
        "Areas are approximate", "Sheet 1 of 1",
    ):  # fmt: skip
        assert piece in text


def test_the_accept_link_stands_on_it_in_letters_and_as_a_code(offered):
    pdf = quote_pdf(offered, ADDRESS)
    assert ADDRESS in words(pdf).replace(" ", "")
    assert scanned(pdf) == {ADDRESS}


def test_once_answered_the_paper_has_no_link(accepted):
    pdf = quote_pdf(accepted, ADDRESS)
    assert ADDRESS not in words(pdf)
    assert scanned(pdf) == set()


def test_an_invoice_on_paper_has_its_dates_and_how_to_pay(accepted, timed, by_owner):
    draft = draw_up_invoice(shoot=accepted.shoot, by=by_owner, now=NOW)
    assert "Draft, not for payment" in words(invoice_pdf(draft))
    text = words(invoice_pdf(issue_invoice(invoice=draft, by=by_owner, now=NOW)))
    for piece in (
        "INV-2027-0001", "Mon, Mar 15, 2027", "Wed, Mar 3, 2027", "Q-2027-0001", "$372.16",
        "Please pay by bank transfer and give the invoice number.",
    ):  # fmt: skip
        assert piece in text
    assert "Draft" not in text


def test_every_typeface_is_embedded_and_title_author_and_language_are_set(offered, office):
    offered.seller["name"] = "Φανάρι Фонарь"
    reader = PdfReader(BytesIO(quote_pdf(offered, ADDRESS)))
    fonts = [font for page in reader.pages for font in page["/Resources"]["/Font"].values()]
    assert fonts
    for font in fonts:
        assert "/FontFile2" in font.get_object()["/FontDescriptor"]
    assert (reader.metadata.title, reader.metadata.author) == ("Quote Q-2027-0001", "Φανάρι Фонарь")
    assert reader.trailer["/Root"]["/Lang"] == "en"
    assert "Φανάρι Фонарь" in words(quote_pdf(offered, ADDRESS))


def test_a_long_quote_runs_on_with_its_head_and_its_count(offered):
    line = offered.lines.first()
    QuoteLine.objects.bulk_create(
        QuoteLine(
            quote=offered, position=10 + number, code="x", text=f"Extra {number}", quantity=1, unit_price=0, amount=0,
            why=line.why,
        )
        for number in range(60)
    )  # fmt: skip
    pages = PdfReader(BytesIO(quote_pdf(Quote.objects.get(), ADDRESS))).pages
    assert len(pages) == 4
    for number, page in enumerate(pages, 1):
        assert f"{number} of 4" in " ".join(page.extract_text().split())
    assert "Quantity" in pages[1].extract_text()


@pytest.mark.parametrize("name", ["x" * 160, "<b>&amp; \x0b “Müller” </para>", "李 Ω Ж é"])
def test_no_name_breaks_the_paper(offered, name, client_of_office, by_owner):
    change_client(client=client_of_office, fields={"company": name[:160]}, by=by_owner, now=NOW)
    offered.buyer["name"] = name
    assert quote_pdf(offered, ADDRESS).startswith(b"%PDF-")


@pytest.mark.parametrize(("country", "width"), [("US", 612), ("DE", 595)])
def test_the_paper_s_size_is_the_country_s(offered, country, width):
    offered.seller["address"]["country"] = country
    page = PdfReader(BytesIO(quote_pdf(offered))).pages[0]
    assert int(page.mediabox.width) == width


def test_markup_in_a_text_is_only_text(offered):
    offered.terms = "a <b>bold</b> & <i>plain\nsecond line"
    text = words(quote_pdf(offered))
    assert "a <b>bold</b> & <i>plain second line" in text


def test_an_old_quote_is_dated_by_the_office_s_zone(offered):
    offered.offered_at = NOW.replace(hour=3) + timedelta(days=1)
    assert "Mon, Mar 1, 2027" in words(quote_pdf(offered))
