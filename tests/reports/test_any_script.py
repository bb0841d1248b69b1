"""Names in any script: each document is made, what its font lacks is left out and told, and nothing else is lost.

How scripts behave is as the Unicode Standard has it: letters of Arabic join (section 9.2), Hebrew runs leftwards (9.1),
accents combine with their letter (3.11), controls and overrides show nothing themselves (23.1, 23.2).
"""

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from PIL import Image, features
from test_one_page import a_quote, a_verdict

from areakit.records.bottles import Bottle
from areakit.records.certificate import Code
from areakit.reports.bottle_label import write_label
from areakit.reports.card import make_card
from areakit.reports.card_page import card_pdf
from areakit.reports.certificate import certificate_pdf
from areakit.reports.consistency_note import note_pdf
from areakit.reports.contact_sheet import Tile, write_contact_sheets
from areakit.reports.fonts import LEFT_OUT, LEFT_OUT_WORDS, needs_shaping, plain, typeface
from areakit.reports.job_facts import facts_of
from areakit.reports.overlay import draw_overlay
from areakit.reports.quote_sheet import Heading, quote_pdf
from areakit.reports.traveller import write_traveller
from areakit.service.bottle import NewBottle, add_bottle
from areakit.service.desk import Desk
from areakit.service.job import NewJob, open_job
from areakit.service.plan import plan
from areakit.service.plan_request import PlanRequest

joining = pytest.mark.skipif(not features.check("raqm"), reason="fribidi is not there (apt-get install libfribidi0)")

NAMES = {
    "Latin": "Čermák & <b>Søn</b> Tiếng",
    "Greek and Cyrillic": "Αθήνα Чайка",
    "Arabic": "ورشة الذهب",
    "Hebrew": "שלום 31",
    "CJK": "金属加工 badge",
    "Devanagari": "पीतल",
    "emoji": "badge \U0001f527\U0001f3fd\u200d\u2695\ufe0f",
    "combining marks": "Cafe\u0301 q\u0303\u0323",
    "override": "invoice \u202e00001\u202c EUR",
    "controls": "a\x00b\x1b[31mc\x07\u2028d\ufeff",
    "half a letter": "a\udcffb",
}
LACKED = {"CJK", "Devanagari", "emoji", "half a letter"}
"""Scripts of which the font that comes along has no letters."""


def card(name: str) -> bytes:
    request = PlanRequest(
        process="nickel-tank", layers={"nickel": "5 um"}, area="40 cm2", efficiency={"nickel": "95%"},
        current_density={"nickel": "3 A/dm2"}, shop="none", base="brass",
    )  # fmt: skip
    return card_pdf(make_card([plan(request)], name=name))


def quote(name: str) -> bytes:
    return quote_pdf(a_quote(), heading=Heading(customer=name))


def note(name: str) -> bytes:
    return note_pdf(a_verdict(name))


def certificate(name: str) -> bytes:
    tables = ("area", "requirements", "thickness", "work", "also", "mass", "tests", "bottles", "exceptions")
    statement = {
        **dict.fromkeys(tables, ()), "title": "Certificate of conformance", "issued": ("Ana", "2026-03-14"),
        "conforms": "Conforms.", "order": [("customer", name)], "released": ("Ana",) * 4, "corrections": 0,
    }  # fmt: skip
    return certificate_pdf(statement, Code(number="J1", entry=4, digest="0" * 16))


def _desk(folder: Path) -> Desk:
    return Desk(path=folder / "j.sqlite", who="Ana", now=datetime(2026, 3, 14, tzinfo=UTC))


@pytest.fixture
def bottle(tmp_path: Path) -> Bottle:
    new = NewBottle(label="G7", solution="my gold", metal="gold", volume="500 mL", metal_content="8 g/L")
    return add_bottle(_desk(tmp_path), new)


@pytest.fixture
def documents(tmp_path: Path, bottle: Bottle) -> dict[str, Callable[[str], bytes]]:
    def label(name: str) -> bytes:
        write_label(replace(bottle, solution=name), tmp_path / "l.pdf", today="2026-03-14")
        return (tmp_path / "l.pdf").read_bytes()

    def traveller(name: str) -> bytes:
        facts = facts_of(open_job(_desk(tmp_path), NewJob(part="tag")))  # an older record may hold any name
        target = tmp_path / "t.pdf"
        write_traveller(replace(facts, order=[("part", name)]), target, paper="a4", printed="2026-03-14 09:00")
        return target.read_bytes()

    return {
        "card": card, "quote": quote, "note": note, "label": label, "traveller": traveller, "certificate": certificate
    }  # fmt: skip


def words_of(document: bytes) -> str:
    pages = pypdfium2.PdfDocument(document)
    return " ".join(" ".join(page.get_textpage().get_text_range() for page in pages).split())


KINDS = ("card", "quote", "note", "label", "traveller", "certificate")


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("script", NAMES)
def test_every_document_is_made_with_a_name_in_any_script(
    kind: str, script: str, documents: dict[str, Callable[[str], bytes]]
) -> None:
    said = words_of(documents[kind](NAMES[script]))
    assert (LEFT_OUT_WORDS in said) == (script in LACKED or (script in {"Arabic", "Hebrew"} and not _joins()))
    if script in {"Latin", "Greek and Cyrillic"}:
        assert NAMES[script] in said
    if script in LACKED - {"Devanagari"}:
        assert typeface().printable(NAMES[script]).replace(LEFT_OUT, "").strip() in said.replace(LEFT_OUT, "")


def _joins() -> bool:
    return bool(features.check("raqm"))


@joining
@pytest.mark.parametrize("kind", KINDS)
def test_words_that_run_leftwards_are_pictures_with_ink(
    kind: str, documents: dict[str, Callable[[str], bytes]]
) -> None:
    blank, named = documents[kind]("-"), documents[kind]("\u0648\u0631\u0634\u0629 " * 3)
    assert dark(named) > dark(blank)
    assert pictures(named) > pictures(blank)
    assert not any(needs_shaping(letter) for letter in words_of(named))


def pictures(document: bytes) -> int:
    kind = pypdfium2.raw.FPDF_PAGEOBJ_IMAGE
    return sum(len(list(page.get_objects(filter=[kind]))) for page in pypdfium2.PdfDocument(document))


def dark(document: bytes) -> int:
    pages = pypdfium2.PdfDocument(document)
    return sum(int((np.asarray(page.render(scale=2).to_pil().convert("L")) < 128).sum()) for page in pages)


def test_letters_without_the_library_that_joins_them_are_left_out(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(features, "check", lambda name: name != "raqm")
    assert typeface().printable("G7 عربي x") == f"G7 {LEFT_OUT} x"
    assert "G7" in words_of(quote("G7 عربي"))


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("Cafe\u0301", "Café"),
        ("a\x00b\x1bc", "a b c"),
        ("1\u202e23\u202c4\u2066\u2069\u200f", "1234"),
        ("x\u00ady\u200bz\ufeff\u2764\ufe0f", "xyz\u2764"),
        ("ب\u200cب\u0600", "ب\u200cب\u0600"),
        ("two\nlines", "two\nlines"),
    ],
)
def test_signs_that_show_nothing_go(text: str, shown: str) -> None:
    assert plain(text) == shown


@pytest.mark.parametrize(
    ("text", "joined"), [("abc 12 é", False), ("ب", True), ("ש", True), ("द", True), ("q\u0303", True)]
)
def test_only_what_joins_turns_or_carries_marks_is_drawn_by_the_engine(text: str, joined: bool) -> None:
    assert needs_shaping(text) is joined


def test_a_run_of_letters_that_lack_is_one_sign() -> None:
    assert typeface().printable("金属 A 加") == f"{LEFT_OUT} A {LEFT_OUT}"


def test_a_text_that_holds_the_sign_itself_is_not_taken_for_one_that_was_cut() -> None:
    assert LEFT_OUT_WORDS not in words_of(quote(f"order {LEFT_OUT} 31"))


GREY = np.full((300, 900, 3), 128, dtype=np.uint8)


def captioned(words: str) -> np.ndarray:
    """The strip with the caption below a picture."""
    return np.asarray(draw_overlay(GREY, [], words))[300:]


@pytest.mark.parametrize("script", sorted(LACKED - {"emoji"}))
def test_a_caption_leaves_out_letters_that_its_font_lacks_and_says_so(script: str) -> None:
    name = typeface().printable(NAMES[script])
    assert LEFT_OUT in name
    assert np.array_equal(captioned(f"{NAMES[script]}.jpg"), captioned(f"{name}.jpg {LEFT_OUT_WORDS}"))


@pytest.mark.parametrize(("name", "same"), [("b\x1b[31m\u202ec", "b [31mc"), ("Cafe\u0301", "Café")])
def test_a_caption_shows_no_boxes_for_signs_that_show_nothing(name: str, same: str) -> None:
    assert np.array_equal(captioned(name), captioned(same))


def test_a_caption_in_letters_of_the_font_is_drawn_as_it_is() -> None:
    strip = captioned(NAMES["Greek and Cyrillic"])
    assert not np.array_equal(strip, captioned(LEFT_OUT))
    assert np.array_equal(strip, captioned(NAMES["Greek and Cyrillic"].replace("Чайка", "Чаи\u0306ка")))


@joining
def test_a_name_that_runs_leftwards_does_not_turn_the_caption_behind_it() -> None:
    ends = [inked(captioned(f"{name}: so 12 mm"))[:, -40:, 0].ravel() for name in ("name", NAMES["Arabic"])]
    assert np.corrcoef(ends)[0, 1] > 0.7
    apart = "\u200c".join("ورشة")
    assert inked(captioned("ورشة")).shape[1] < inked(captioned(apart)).shape[1]  # joined letters are narrower


def inked(strip: np.ndarray) -> np.ndarray:
    """The columns from the first ink to the last."""
    columns = np.flatnonzero((strip < 250).any(axis=(0, 2)))
    return strip[:, columns[0] : columns[-1] + 1]


def test_photos_are_told_apart_on_a_contact_sheet_whose_font_lacks_their_names(tmp_path: Path) -> None:
    def sheet(*names: str) -> np.ndarray:
        tiles = [Tile(picture=None, name=name, words="1 cm²", refused=False) for name in names]
        return np.asarray(Image.open(write_contact_sheets(tiles, tmp_path)[0]))

    drawn = sheet("a.jpg", "零件.jpg", "金属.jpg")
    assert np.array_equal(drawn, sheet("a.jpg", f"photo 2: {LEFT_OUT}.jpg", f"photo 3: {LEFT_OUT}.jpg"))
