"""The quote and the consistency note on one page, read back as a reader of PDF sees them."""

import math
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path

import pypdfium2
import pytest
from reportlab.lib.units import mm

from areakit.costing.claims import read_claims
from areakit.costing.job import PlannedJob, QuotedLayer
from areakit.costing.measured_part import MeasuredPart
from areakit.costing.quote import Quote, make_quote
from areakit.costing.rates import metal_price, rates_text, read_rates
from areakit.costing.verdict import Verdict, check_claims
from areakit.errors import FileError, InputError
from areakit.flags import flag
from areakit.geometry.enclosing import squared_up
from areakit.reports.consistency_note import note_pdf
from areakit.reports.document import PenDrawing, one_page
from areakit.reports.fonts import typeface
from areakit.reports.part_outline import draw_outline, scale_for, scale_words
from areakit.reports.quote_sheet import Heading, quote_pdf
from areakit.reports.quote_words import customer_lines
from areakit.uncertainty import Measured, exact

PAGES = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}


def ring() -> MeasuredPart:
    """A ring of 40 mm with a hole of 20 mm, 1 mm thick."""
    rings = tuple(
        tuple((r * math.cos(2 * math.pi * i / 180), r * math.sin(2 * math.pi * i / 180)) for i in range(181))
        for r in (20.0, 10.0)
    )
    face = math.pi * 300
    return MeasuredPart(
        name="ring", rings=rings, face=Measured(value=face, unit="mm2", budget={"scale": 3.0}),
        perimeter_outer=exact(40 * math.pi, "mm"), perimeter_holes=exact(20 * math.pi, "mm"),
        thickness=exact(1.0, "mm"), faces="all", plated=exact(2 * face + 60 * math.pi, "mm2"),
    )  # fmt: skip


def a_quote() -> Quote:
    layer = QuotedLayer(
        metal="gold", bath="gold(I)", thickness=1e-6, thickness_is="mean", mean=1e-6,
        mass=Measured(value=40e-6, unit="kg", budget={"area": 1e-6}), time=60.0, pieces_per_load=None, losses=(),
        solution_volume=None,
    )  # fmt: skip
    job = PlannedJob(
        title="gold by brush", area=Measured(value=20.7e-4, unit="m2"), area_words="typed", pieces=5,
        faces="all over (both faces and the edges)", layers=(layer,),
        cautions=tuple(f"Caution number {n} about something that needs care." for n in range(10)),
    )  # fmt: skip
    price = metal_price("gold", "75.30 EUR/g", dated="2026-01-31", basis="selling price", currency="EUR")
    rates = read_rates(rates_text(example=True))
    return make_quote(job, replace(rates, metals={"gold": price}), quoted_on=date(2026, 2, 1))


def a_verdict(name: str = "quote 7") -> Verdict:
    entries = {"name": name, "area": "18.85 cm2", "faces": "all", "metal": "gold", "thickness": "1.0 um",
               "mass": "36 mg", "uncertainty": "2%"}  # fmt: skip
    return check_claims(read_claims(entries), ring())


def text_of(document: bytes) -> str:
    pages = pypdfium2.PdfDocument(document)
    assert len(pages) == 1
    return " ".join(pages[0].get_textpage().get_text_range().split())


@pytest.mark.parametrize("paper", PAGES)
def test_both_are_one_page_of_the_paper_asked_for(paper: str) -> None:
    for document in (quote_pdf(a_quote(), ring(), paper=paper), note_pdf(a_verdict(), paper=paper)):
        page = pypdfium2.PdfDocument(document)[0]
        assert [side / 72 * 25.4 for side in page.get_size()] == pytest.approx(PAGES[paper], abs=0.01)


def test_the_quote_says_what_it_must() -> None:
    quote = a_quote()
    text = text_of(
        quote_pdf(quote, ring(), heading=Heading(customer="Čermák & <b>Søn</b>", job="Żółw №", sender="Ünal"))
    )
    for words in (
        "all over (both faces and the edges)",
        "1 µm mean thickness",
        "75.30 EUR/g of 2026-01-31, selling price",
        "Holds until 2026-02-14",
        "Metal in the price",
        "no tax or legal advice",
        "Čermák & <b>Søn</b>",
        "Żółw №",
        "outline, 1:1",
        "39.99 mm",
    ):  # fmt: skip; the ring has 180 flat sides, 40 mm × cos 1° apart
        assert words in text, words
    assert f"{quote.price:f} EUR" in text


def test_the_customer_reads_no_rates_overhead_margin_or_hazards() -> None:
    quote = a_quote()
    text = text_of(quote_pdf(quote, ring()))
    rates = quote.rates
    shown = " ".join(line.title for line in customer_lines(quote)).lower()
    for line in quote.lines:
        assert line.basis not in text, line.key
        if line.group != "metal":
            assert line.title.lower() not in shown, line.key
    for words in ("Caution", "hour", "/h", "verhead", "argin", "areakit", f"{rates.margin * 100:g} %"):
        assert words not in text, words


def test_what_the_customer_reads_adds_up_to_the_price() -> None:
    quote = a_quote()
    work, metal = customer_lines(quote)
    assert work.amount + metal.amount == quote.price
    assert metal.amount == sum(line.amount for line in quote.lines if line.group == "metal")
    assert metal.title == "Metal: gold"
    none = replace(quote, lines=tuple(line for line in quote.lines if line.group != "metal"))
    assert [one.amount for one in customer_lines(none)] == [quote.price]


def test_flags_of_the_shop_do_not_reach_the_customer() -> None:
    quote = replace(a_quote(), flags=(flag("SOLUTION_NOT_PRICED", metal="gold"), flag("FACES_NOT_STATED")))
    text = text_of(quote_pdf(quote))
    assert "solution has no price" not in text
    assert "does not say which faces" in text


def test_the_overall_size_is_that_of_the_smallest_box_not_of_the_tilt() -> None:
    """A plate of 50 by 30 mm laid at 25 degrees: its upright box would be 58.0 by 48.3 mm."""
    turn = math.radians(25.0)
    corners = ((0.0, 0.0), (50.0, 0.0), (50.0, 30.0), (0.0, 30.0), (0.0, 0.0))
    tilted = tuple(
        (x * math.cos(turn) - y * math.sin(turn), x * math.sin(turn) + y * math.cos(turn)) for x, y in corners
    )
    text = text_of(quote_pdf(a_quote(), replace(ring(), rings=(tilted,))))
    assert "50 mm" in text
    assert "30 mm" in text
    assert "58" not in text


def test_a_part_is_turned_as_little_as_need_be() -> None:
    """Straight sides stay, and no turn is beyond 45 degrees, so that top stays up."""
    plate = ((0.0, 0.0), (20.0, 0.0), (20.0, 30.0), (0.0, 30.0), (0.0, 0.0))
    assert [v for p in squared_up((plate,))[0] for v in p] == pytest.approx([v for p in plate for v in p])
    for degrees in (-44.0, -10.0, 30.0, 44.0):
        turn = math.radians(degrees)
        turned = tuple(
            (x * math.cos(turn) - y * math.sin(turn), x * math.sin(turn) + y * math.cos(turn)) for x, y in plate
        )
        back = squared_up((turned,))[0]
        assert [value for point in back for value in point] == pytest.approx([v for p in plate for v in p], abs=1e-9)


def test_the_note_speaks_of_no_hazards() -> None:
    text = text_of(note_pdf(a_verdict()))
    for words in ("never bring", "safety data", "Caution", "drain", "licensed"):
        assert words not in text, words


def test_the_note_says_what_it_must() -> None:
    text = text_of(note_pdf(a_verdict()))
    for words in (
        "quote 7",
        "edges were left out: would explain it",
        "ISO 13528",
        "not a proof",
        "no legal or tax advice",
    ):
        assert words in text, words


def test_the_outline_is_drawn_true_to_its_scale() -> None:
    """The ring of 40 mm at 1:1: its dark edge spans 40.0 mm, and its hole 20 mm, on the raster of another program."""
    import numpy as np

    face = typeface()
    drawing = PenDrawing(
        lambda pen: draw_outline(pen, ring().rings, room=(66.0, 72.0), face=face), room=(66.0 * mm, 72.0 * mm)
    )
    drawing.hAlign = "LEFT"
    document = one_page(lambda styles, width: [drawing], paper="a4", face=face, title="outline")
    scale = 10 * 25.4 / 72  # 10 px a mm
    grey = np.asarray(pypdfium2.PdfDocument(document)[0].render(scale=scale).to_pil().convert("L"))
    row = grey[int((14 + 31.5) * 10), :635]  # through the middle of the room, without the size beside it
    filled = np.flatnonzero((row > 190) & (row < 230))
    assert (filled[-1] - filled[0]) / 10 == pytest.approx(40.0, abs=0.35)
    assert np.diff(filled).max() / 10 == pytest.approx(20.0, abs=0.35)


def test_scales_are_those_of_drawings() -> None:
    """ISO 5455: 1, 2 and 5 times powers of ten."""
    square = (((0.0, 0.0), (61.0, 0.0), (61.0, 30.0), (0.0, 30.0), (0.0, 0.0)),)
    assert scale_words(scale_for(square, (62.0, 62.0))) == "1:1"
    assert scale_words(scale_for(square, (60.0, 62.0))) == "1:2"
    assert scale_words(scale_for(square, (130.0, 62.0))) == "2:1"


@pytest.mark.thorough
def test_much_text_is_set_smaller_and_too_much_is_refused() -> None:
    quote = a_quote()

    def layers(count: int) -> Quote:
        job = replace(quote.job, layers=quote.job.layers * count)
        return replace(quote, job=job)

    assert text_of(quote_pdf(layers(60), ring())).count("mean thickness") == 60
    with pytest.raises(InputError, match="one page"):
        quote_pdf(layers(400), ring())


def test_a_file_that_is_no_font_is_refused(tmp_path: Path) -> None:
    wrong = tmp_path / "font.ttf"
    wrong.write_bytes(b"not a font")
    with pytest.raises(FileError):
        quote_pdf(a_quote(), font=wrong)


def test_the_same_quote_is_the_same_file() -> None:
    assert quote_pdf(a_quote(), ring()) == quote_pdf(a_quote(), ring())
    assert isinstance(a_quote().price, Decimal)
