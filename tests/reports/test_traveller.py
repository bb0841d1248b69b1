"""The traveller: everything recorded is on the page, true to scale, at both sizes, in any script."""

import io
import json
import re
from datetime import UTC, datetime
from html.parser import HTMLParser
from itertools import pairwise
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
from PIL import Image, features
from shapely.geometry import Polygon

from areakit.errors import FileError, InputError
from areakit.plating.footprint import usual_overlap
from areakit.plating.strokes import plan_strokes
from areakit.records.codec import quantity_from_json, quantity_json
from areakit.records.plan_json import plan_json
from areakit.reports.bottle_label import write_label
from areakit.reports.document import printable_jpeg
from areakit.reports.job_page import outline_svg
from areakit.service.bottle import NewBottle, add_bottle
from areakit.service.desk import Desk
from areakit.service.job import NewJob, add, attach_json, open_job, show_job
from areakit.service.job_entries import Correction, Defect, Trial
from areakit.service.job_run import StepRequest, begin_step
from areakit.service.plan import PlanRequest
from areakit.service.plan import plan as make_plan
from areakit.service.traveller import ReportRequest, write_report
from areakit.uncertainty import Measured
from areakit.units import show

NOW = datetime(2026, 3, 14, 9, 0, tzinfo=UTC)
SQUARE = [[0, 0], [60, 0], [60, 40], [0, 40], [0, 0]]
HOLE = [[10, 10], [10, 20], [20, 20], [20, 10], [10, 10]]


def size(value: float, unit: str, **shares: float) -> dict[str, object]:
    return quantity_json(Measured(value=value, unit=unit, budget=shares))


CUSTOMER = "Чайка Αθήνα" + (" שלום عربي" if features.check("raqm") else "")  # joined by a library that may be missing


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    return Desk(path=tmp_path / "j.sqlite", who="Ana", now=NOW)


@pytest.fixture
def number(desk: Desk, tmp_path: Path) -> str:
    made = open_job(desk, NewJob(part="plate <b>&", quantity=4, customer=CUSTOMER, base="brass")).number
    part = {
        "id": 1,
        "origin": "photo",
        "outline": {"type": "Polygon", "coordinates": [SQUARE, HOLE]},
        "face_area": size(2300.0, "mm2", scale=20.0),
        "perimeter": size(240.0, "mm", scale=1.0),
        "faces": "one",
        "plated_area": size(2300.0, "mm2", scale=20.0, edge=10.0),
    }
    line = json.dumps({"photo": "a.jpg", "status": "measured", "flags": [], "parts": [part]})
    attach_json(desk, made, "measured", line)
    picture = io.BytesIO()
    Image.new("RGB", (300, 200), (20, 90, 160)).save(picture, "PNG")
    (tmp_path / "a.png").write_bytes(picture.getvalue())
    add(desk, made, "photographed", doc={}, file=tmp_path / "a.png")
    request = PlanRequest(
        process="nickel-gold-brush",
        layers={"gold": "0.5 um", "nickel": "3 um"},
        measured=line,
        efficiency={"gold": "72 % ± 6 %"},
        base="brass",
        pieces=4,
    )
    attach_json(desk, made, "planned", json.dumps(plan_json(make_plan(request))))
    return made


def text_of(path: Path) -> list[str]:
    document = pypdfium2.PdfDocument(path)
    return [re.sub(r"\s+", " ", page.get_textpage().get_text_range()) for page in document]


@pytest.mark.parametrize(("paper", "points"), [("a4", (595.28, 841.89)), ("letter", (612.0, 792.0))])
def test_a_blank_traveller_asks_for_every_reading_at_both_sizes(
    desk: Desk, number: str, tmp_path: Path, paper: str, points: tuple[float, float]
) -> None:
    target = write_report(desk, number, ReportRequest(output=tmp_path / "t.pdf", paper=paper))
    pages = text_of(target)
    whole = " ".join(pages)
    assert pypdfium2.PdfDocument(target)[0].get_size() == pytest.approx(points, abs=0.01)  # ISO 216, ANSI Y14.1
    for words in ("plate <b>&", "23.00 ± 0.45 cm²", "drawn 1:1", "Plate gold", "bottle", "Sign-off"):
        assert words in whole, words
    assert len(pages) == 2
    assert all(f"page {n} of {len(pages)}" in text for n, text in enumerate(pages, start=1))


def test_every_hazard_stands_in_a_box_on_top_of_the_first_page_with_its_steps(
    desk: Desk, number: str, tmp_path: Path
) -> None:
    planned = show_job(desk, number).latest("planned")
    assert planned is not None
    plan = planned.doc["plan"]
    first, *later = text_of(write_report(desk, number, ReportRequest(output=tmp_path / "t.pdf")))
    before = first.split("plate <b>&")[0]
    assert "safety data sheet" in before
    for caution in plan["cautions"]:
        if caution["key"] != "general":
            assert caution["text"] in before, caution["key"]
            assert not any(caution["text"] in page for page in later)
    steps = [step["number"] for step in plan["steps"] if any(c["key"] == "cyanide" for c in step["cautions"])]
    assert steps == [9, 10, 11]
    assert "CYANIDE (steps 9 to 11): Cyanide with any acid" in before


def test_steps_are_listed_as_a_reader_would() -> None:
    from areakit.reports.step_facts import Hazard, hazards_of

    def numbers(*steps: int) -> str:
        told = [{"number": n, "cautions": [{"key": "acid"}] if n in steps else []} for n in range(1, 15)]
        return hazards_of({"steps": told, "cautions": [{"key": "acid", "text": "Burns."}]})[1].where

    assert numbers(4) == "step 4"
    assert numbers(2, 3) == "steps 2 and 3"
    assert numbers(2, 6, 7, 8, 11) == "steps 2, 6 to 8, 11"
    assert [one.name for one in hazards_of({})] == [""]
    assert Hazard(name="acid", steps="12", text="").where == "step 12"


def _planned(desk: Desk, **entries: object) -> str:
    """Return a job with a plan and no outline."""
    made = open_job(desk, NewJob(part="tag", quantity=5)).number
    request = PlanRequest(area="12 cm2 ± 2 %", pieces=5, **entries)  # type: ignore[arg-type]
    attach_json(desk, made, "planned", json.dumps(plan_json(make_plan(request))))
    return made


def test_a_brush_step_says_mean_and_peak_current_time_passes_volts_and_charge(desk: Desk, tmp_path: Path) -> None:
    """Each figure is that of the plan, rounded to the first digit that its uncertainty moves."""
    number = _planned(
        desk,
        process="gold-brush",
        layers={"gold": "0.5 um"},
        efficiency={"gold": "72 % ± 6 %"},
        current_density={"gold": "10 A/dm2"},
        footprint="4 cm2",
        supply="5 A",
        base="copper",
    )
    planned = show_job(desk, number).latest("planned")
    assert planned is not None
    (layer,) = planned.doc["plan"]["layers"]
    whole = " ".join(text_of(write_report(desk, number, ReportRequest(output=tmp_path / "t.pdf"))))
    for word, body in (("mean", layer["brush"]["mean_current"]), ("peak", layer["brush"]["peak_current"])):
        found = re.search(rf"([\d.]+) A {word}", whole)
        assert found is not None, word
        assert float(found[1]) == pytest.approx(body["value"], abs=max(body["expanded_uncertainty"], 1e-9))
    seconds = re.search(r"([\d.]+) s a piece", whole)
    passes = re.search(r"([\d.]+) passes of [\d.]+ s", whole)
    charge = re.search(r"([\d.]+) A·min a piece by the meter", whole)
    assert seconds is not None
    assert passes is not None
    assert charge is not None
    assert float(seconds[1]) == pytest.approx(layer["brush"]["time"]["value"] * 60.0, rel=0.02)
    assert float(passes[1]) == pytest.approx(layer["brush"]["passes"]["value"], rel=0.02)
    assert float(charge[1]) == pytest.approx(layer["charge_set"]["value"], rel=5e-3)
    assert "3 to 12 V, forward (work is cathode)" in whole


def test_a_tank_step_says_the_current_of_each_load(desk: Desk, tmp_path: Path) -> None:
    """Five pieces on a rack of four hang as three and two; each takes its share of amperes."""
    number = _planned(
        desk,
        process="nickel-tank",
        layers={"nickel": "10 um"},
        base="brass",
        current_density={"nickel": "2 A/dm2"},
        pieces_per_load=4,
        allowance={"": "1.3 ± 0.2"},
    )
    whole = " ".join(text_of(write_report(desk, number, ReportRequest(output=tmp_path / "t.pdf"))))
    three, two = (re.search(rf"1 load of {n} pieces: ([\d.]+) A for [\d.]+ min", whole) for n in (3, 2))
    assert three is not None
    assert two is not None
    assert float(three[1]) == pytest.approx(3 * 0.12 * 2, rel=0.02)  # 12 cm2 at 2 A/dm2
    assert float(two[1]) == pytest.approx(2 * 0.12 * 2, rel=0.02)


def test_a_step_without_figures_says_where_they_come_from(desk: Desk, number: str, tmp_path: Path) -> None:
    whole = " ".join(text_of(write_report(desk, number, ReportRequest(output=tmp_path / "t.pdf"))))
    assert "8 to 12 V, forward (work is cathode)" in whole  # AC 43.13-1B, 4-62: electroclean of copper alloys
    assert "volts and polarity as the activator's label says" in whole
    assert whole.count("no current") >= 5
    assert "current and time as the label says" in whole


def test_no_option_of_the_command_line_is_on_paper(desk: Desk, number: str, tmp_path: Path) -> None:
    """Each flag of the catalogue, with its remedy, on one job: the message stays, the option does not."""
    from areakit import flags
    from areakit.reports.job_facts import facts_of

    told = [
        {"code": code, "message": message, "remedy": remedy} for code, (message, remedy) in flags._CATALOGUE.items()
    ]
    part = show_job(desk, number).measured_part
    line = json.dumps({"photo": "a.jpg", "status": "measured", "flags": told, "parts": [part]})
    attach_json(desk, number, "measured", line)
    for name in ("t.pdf", "t.html"):
        target = write_report(desk, number, ReportRequest(output=tmp_path / name))
        whole = " ".join(text_of(target)) if name.endswith("pdf") else target.read_text(encoding="utf-8")
        assert "The printed size of this sheet was not verified" in whole
        words = whole.split("</style>")[-1].replace("<!--", "")
        assert not re.search(r"--[a-z]", words), name
        assert "areakit " not in words.replace("areakit-", ""), name
    lines = facts_of(show_job(desk, number)).findings
    assert any("Use softer light from two sides." in line for line in lines)  # what can be done at the bench stays


def test_flags_of_other_parts_are_left_out(desk: Desk, tmp_path: Path) -> None:
    from areakit.reports.job_facts import facts_of

    number = open_job(desk, NewJob(part="tag")).number
    outline = {"type": "Polygon", "coordinates": [SQUARE]}
    parts = [{"id": n, "outline": outline, "plated_area": size(2400.0, "mm2")} for n in (1, 2)]
    flags = [
        {"code": "WEAK_EDGE", "message": f"Edge of part {who} is unclear.", "remedy": "Look.", **part}
        for who, part in (("all", {}), ("one", {"part": 1}), ("two", {"part": 2}))
    ]
    line = json.dumps({"photo": "a.jpg", "status": "measured", "flags": flags, "parts": parts})
    attach_json(desk, number, "measured", line, part=2)
    told = " ".join(facts_of(show_job(desk, number)).findings)
    assert "part all" in told
    assert "part two" in told
    assert "part one" not in told


def test_working_figures_are_counted_on_paper_not_listed(desk: Desk, number: str) -> None:
    from areakit.reports.job_facts import facts_of

    planned = show_job(desk, number).latest("planned")
    assert planned is not None
    told = {f["message"] for f in planned.doc["plan"]["flags"] if f["code"] in ("UNVERIFIED_FIGURE", "STATED_DEFAULT")}
    assert len(told) > 1
    lines = facts_of(show_job(desk, number)).findings
    assert f"{len(told)} figures behind the plan are no label's and no coupon's of this shop." in lines
    assert not any(message in " ".join(lines) for message in told)


def test_the_lanes_of_the_plan_are_drawn_unasked_with_the_allowance_of_its_passes(desk: Desk, tmp_path: Path) -> None:
    """One pass repeated exactly is not what a hand does: the figure beside the lanes is that of the plan."""
    number = open_job(desk, NewJob(part="plate")).number
    part = {
        "id": 1, "outline": {"type": "Polygon", "coordinates": [SQUARE]}, "face_area": size(2400.0, "mm2"),
        "faces": "one", "plated_area": size(2400.0, "mm2", scale=20.0),
    }  # fmt: skip
    line = json.dumps({"photo": "a.jpg", "status": "measured", "flags": [], "parts": [part]})
    attach_json(desk, number, "measured", line)
    request = PlanRequest(
        process="gold-brush", layers={"gold": "0.5 um"}, measured=line, efficiency={"gold": "72 % ± 6 %"},
        footprint="20 x 15 mm", current_density={"gold": "10 A/dm2"}, base="copper",
    )  # fmt: skip
    body = plan_json(make_plan(request))
    attach_json(desk, number, "planned", json.dumps(body))
    whole = " ".join(text_of(write_report(desk, number, ReportRequest(output=tmp_path / "t.pdf"))))
    brush, (layer,) = body["distribution"]["brush"], body["layers"]
    assert f"One pass: {brush['lanes']} lanes, {brush['lifts']} lifts, brush footprint 20 × 15 mm" in whole
    found = re.search(r"gold ([\d.]+) ± [\d.]+ after (\S+) ± (\S+) passes", whole)
    assert found is not None
    assert float(found[1]) == pytest.approx(layer["distribution_allowance"]["quantity"]["value"], abs=0.006)
    passes = quantity_from_json(layer["brush"]["passes"])
    assert f"{found[2]} ± {found[3]}" == show(passes)  # no digit beyond what the plan knows (JCGM 100, 7.2.6)


def test_usual_lanes_are_those_of_a_plan_with_the_same_footprint(desk: Desk, number: str, tmp_path: Path) -> None:
    from areakit.service.traveller import usual_hand_speed

    whole = " ".join(text_of(write_report(desk, number, ReportRequest(output=tmp_path / "t.pdf", lanes="20 x 15 mm"))))
    assert f"overlap {100 * usual_overlap(20.0, 15.0, rounded=True):.0f} %" in whole
    assert usual_hand_speed() == pytest.approx((8 + 20) / 2 / 60)  # metres a minute, the middle of the usual band
    assert "One pass alone leaves" in whole


def test_what_was_done_stands_in_place_of_the_blanks(desk: Desk, number: str, tmp_path: Path) -> None:
    begin_step(desk, number, StepRequest(step=6, voltage="9 V", temperature="45", charge="16 ± 1 A.min", at="08:30"))
    Trial(method="tape", result="pass", place="front, across the edge").write(desk, number)
    Trial(method="xrf", result="value", value="0.61 ± 0.06 um", place_mm=(30.0, 30.0)).write(desk, number)
    Defect(what="pit", points_mm=((50.0, 30.0),)).write(desk, number)
    add(desk, number, "signed", doc={"statement": "Released", "role": "inspector"})
    Correction(entry=1, fields={"quantity": 3}, reason="one lost").write(desk, number)
    whole = " ".join(text_of(write_report(desk, number, ReportRequest(output=tmp_path / "t.pdf"))))
    for words in (
        "9 V", "45 °C", "16.0 ± 1.0 A·min", "Tape test", "pass", "0.610 ± 0.060 µm", "pit at (50, 30) mm",
        "Released, inspector", "Corrections: 1", "changed after sign-off",
    ):  # fmt: skip
        assert words in whole, words


def test_the_outline_is_printed_true_to_scale_with_its_hole(desk: Desk, number: str, tmp_path: Path) -> None:
    target = write_report(desk, number, ReportRequest(output=tmp_path / "t.pdf"))
    dots_per_mm = 300 / 25.4
    page = np.asarray(pypdfium2.PdfDocument(target)[0].render(scale=300 / 72).to_pil().convert("RGB")).astype(int)
    metal = (abs(page - np.array([230, 224, 212])) <= 3).all(axis=2)
    rows, columns = np.nonzero(metal)
    line = 0.5 / 72 * 25.4  # half of the line round it covers each edge
    assert np.ptp(columns) / dots_per_mm == pytest.approx(60.0 - line, abs=0.2)
    assert np.ptp(rows) / dots_per_mm == pytest.approx(40.0 - line, abs=0.2)
    assert metal.sum() / dots_per_mm**2 == pytest.approx(60 * 40 - 100, rel=0.015)


def test_the_millimetres_of_the_outline_stand_along_it_so_that_a_place_can_be_read_off(
    desk: Desk, number: str, tmp_path: Path
) -> None:
    target = write_report(desk, number, ReportRequest(output=tmp_path / "t.pdf", lanes=None))
    page = pypdfium2.PdfDocument(target)[0].get_textpage()
    places: dict[str, list[tuple[float, float]]] = {}
    for index in range(page.count_rects()):
        left, low, right, high = page.get_rect(index)
        words = page.get_text_bounded(left, low, right, high).strip()
        places.setdefault(words, []).append(((left + right) / 2, (low + high) / 2))
    across = sorted((x, y) for words in ("0", "10", "20", "30", "40") for x, y in places.get(words, []))
    low = [x for x, y in across if sum(abs(y - other) < 1.0 for _, other in across) >= 3]
    steps = {round(b - a, 0) for a, b in pairwise(low)}
    assert len(low) >= 3
    assert len(steps) == 1, "even steps along the lower edge"


def test_letters_that_the_font_lacks_are_left_out_of_the_pdf_and_stand_in_the_page(desk: Desk, tmp_path: Path) -> None:
    number = open_job(desk, NewJob(part="金 badge")).number
    said = " ".join(text_of(write_report(desk, number, ReportRequest(output=tmp_path / "t.pdf"))))
    assert "[…] badge" in said
    assert "[…]: letters that the font of this page lacks." in said
    page = write_report(desk, number, ReportRequest(output=tmp_path / "t.html")).read_text(encoding="utf-8")
    assert "金 badge" in page


@pytest.mark.skipif(not features.check("raqm"), reason="fribidi is not there (apt-get install libfribidi0)")
def test_words_from_right_to_left_are_drawn_joined_and_in_order(desk: Desk, tmp_path: Path) -> None:
    """Letters kept apart by a zero-width non-joiner (Unicode, 23.2) are the reference: they stand in isolated forms."""
    from areakit.reports.document import styles_for
    from areakit.reports.fonts import typeface

    styles = styles_for(typeface())
    joined, apart = styles.words("عربي"), styles.words("ع\u200cر\u200cب\u200cي")
    width = [flowable.wrap(500, 500)[0] for flowable in (joined, apart)]
    assert width[0] < width[1]
    long = styles.words("שלום " * 30)
    wide, tall = long.wrap(100, 500)
    assert wide <= 100
    assert tall > 5 * styles.body.leading


class _Strict(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.links: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.links += [str(value) for name, value in attrs if name in {"src", "href"}]
        if tag not in {"meta", "img", "br"}:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        return

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


def test_the_html_page_is_sound_and_loads_nothing(desk: Desk, number: str, tmp_path: Path) -> None:
    add(desk, number, "remarked", doc={"text": '<script>alert("x")</script>'})
    request = ReportRequest(output=tmp_path / "t.html", lanes="12 x 8 mm", wagner=0.5)
    page = write_report(desk, number, request).read_text(encoding="utf-8")
    parser = _Strict()
    parser.feed(page)
    assert parser.open == []
    assert all(link.startswith("data:") for link in parser.links)
    assert "<script" not in page
    assert CUSTOMER in page
    assert page.count("<svg") == 3


def test_a_photo_is_turned_upright_made_small_and_loses_its_place() -> None:
    camera = Image.Exif()
    camera[0x0112] = 6  # Exif 2.32, orientation: turn by 90 degrees
    camera[0x8825] = {1: "N"}  # the place
    stream = io.BytesIO()
    Image.new("RGB", (3000, 2000), (9, 9, 9)).save(stream, "JPEG", exif=camera)
    small = Image.open(io.BytesIO(printable_jpeg(stream.getvalue())))
    assert small.size == (800, 1200)
    assert dict(small.getexif()) == {}
    with pytest.raises(FileError, match="cannot be read as a picture"):
        printable_jpeg(b"no picture")


def test_lanes_and_map_are_drawn_where_asked_and_need_an_outline(desk: Desk, number: str, tmp_path: Path) -> None:
    target = write_report(desk, number, ReportRequest(output=tmp_path / "t.pdf", lanes="12 x 8 mm", wagner=0.5))
    whole = " ".join(text_of(target))
    plan = plan_strokes(
        Polygon(SQUARE, [HOLE]), footprint_width_mm=12.0, footprint_length_mm=8.0,
        overlap=usual_overlap(12.0, 8.0, rounded=True), hand_speed_mm_s=200.0, overrun_mm=4.0,
    )  # fmt: skip
    assert f"{len(plan.lanes)} lanes" in whole
    assert "Thickness map" in whole
    bare = open_job(desk, NewJob(part="bare")).number
    with pytest.raises(InputError, match="has no outline"):
        write_report(desk, bare, ReportRequest(output=tmp_path / "u.pdf", lanes="12 x 8 mm"))
    with pytest.raises(InputError, match="not a brush footprint"):
        write_report(desk, number, ReportRequest(output=tmp_path / "u.pdf", lanes="12"))


def test_a_place_off_the_part_is_refused(desk: Desk, number: str) -> None:
    with pytest.raises(InputError, match="lies off the part"):
        Defect(what="pit", points_mm=((90.0, 30.0),)).write(desk, number)


def test_an_outline_drawn_upwards_is_turned_for_the_screen() -> None:
    ring = [(0.0, 0.0), (10.0, 0.0), (0.0, 5.0)]
    assert "L0.000 -5.000z" in outline_svg([ring], ())


def test_lanes_and_map_lie_on_a_screen_as_the_outline_does(desk: Desk, number: str, tmp_path: Path) -> None:
    """The square runs from 0 to 40 mm upwards, a screen's y downwards: drawn from -40 to 0, like the outline."""
    request = ReportRequest(output=tmp_path / "t.html", lanes="12 x 8 mm", wagner=0.5)
    page = write_report(desk, number, request).read_text(encoding="utf-8")
    for title in ("Stroke lanes", "Thickness map"):
        paths = re.findall(r'd="([^"]+)"', page.split(f"<h2>{title}</h2>")[1].split("<h2>")[0])
        drawn = {frozenset(float(y) for y in re.findall(r"[ML]?-?[\d.]+[ ,](-?[\d.]+)", path)) for path in paths}
        assert {-40.0, -20.0, -10.0, 0.0} in drawn, title


def test_a_page_that_cannot_be_written_is_told(desk: Desk, number: str, tmp_path: Path) -> None:
    for name in ("none/t.pdf", "none/t.html"):
        with pytest.raises(FileError, match="cannot be written"):
            write_report(desk, number, ReportRequest(output=tmp_path / name))


def test_a_bottle_label_shows_what_is_left_in_plain_digits(desk: Desk, tmp_path: Path) -> None:
    bottle = add_bottle(
        desk,
        NewBottle(
            label="G7", solution="my-gold", metal="gold", volume="500 ± 5 mL", metal_content="8.2 ± 0.1 g/L",
            allowed_charge="5 A.h/L", expiry="2027-01-31", lot="31", recovered=True,
        ),
    )  # fmt: skip
    write_label(bottle, tmp_path / "l.pdf", today="2026-03-14")
    (text,) = text_of(tmp_path / "l.pdf")
    assert pypdfium2.PdfDocument(tmp_path / "l.pdf")[0].get_size() == pytest.approx((283.46, 170.08), abs=0.01)
    for words in ("G7", "2.5 A·h", "4.10 g, 0.82 g of it to plate", "500 mL", "2027-01-31", "lot 31", "RECOVERED"):
        assert words in text, words


@pytest.mark.parametrize(
    ("metal", "bath", "words"),
    [
        ("gold", "gold-acid-hard", "CYANIDE: deadly gas with any acid; ACID: burns; keep from cyanide"),
        ("gold", "", "Kind of bath not named. It may hold CYANIDE: deadly gas with any acid"),
        ("nickel", "nickel-watts", "NICKEL: sensitises the skin"),
    ],
)
def test_a_bottle_label_warns_of_what_it_holds(desk: Desk, tmp_path: Path, metal: str, bath: str, words: str) -> None:
    bottle = add_bottle(desk, NewBottle(label="B", solution=metal, metal=metal, bath=bath, volume="500 mL"))
    write_label(bottle, tmp_path / "l.pdf", today="2026-03-14")
    (text,) = text_of(tmp_path / "l.pdf")
    assert words in text
    assert f"{metal}, {metal}" not in text


@pytest.mark.parametrize(("today", "expired"), [("2027-01-31", False), ("2027-02-01", True)])
def test_a_label_says_expired_from_the_day_after_its_last(
    desk: Desk, tmp_path: Path, today: str, expired: bool
) -> None:
    bottle = add_bottle(
        desk, NewBottle(label="G7", solution="my-gold", metal="gold", volume="500 mL", expiry="2027-01-31")
    )
    write_label(bottle, tmp_path / "l.pdf", today=today)
    (text,) = text_of(tmp_path / "l.pdf")
    assert ("G7 EXPIRED" in text) == expired
    assert ("2027-01-31 EXPIRED" in text) == expired
    assert "±" not in text


def test_the_hazards_of_every_bath_are_on_its_label_whole_and_large_enough_to_read(desk: Desk, tmp_path: Path) -> None:
    """5.5 points are 1.9 mm high; the safety data sheet has the rest."""
    from areakit.plating.metals import all_baths
    from areakit.reports.bottle_label import _WARNINGS

    for number, (key, bath) in enumerate(all_baths().items()):
        request = NewBottle(label=f"B{number}", solution=key, metal=bath.metal, bath=key, volume="500 mL")
        write_label(add_bottle(desk, request), tmp_path / "l.pdf", today="2026-03-14")
        (text,) = text_of(tmp_path / "l.pdf")
        for caution in bath.contains:
            assert _WARNINGS.get(caution, "") in text, (key, caution)
        page = pypdfium2.PdfDocument(tmp_path / "l.pdf")[0].get_textpage()
        boxes = [page.get_charbox(index, loose=True) for index in range(page.count_chars())]
        assert min(top - low for _, low, _, top in boxes if top > low) > 5.4


def test_the_record_shown_is_the_record_kept(desk: Desk, number: str) -> None:
    from areakit.reports.job_facts import facts_of

    job = show_job(desk, number)
    facts = facts_of(job)
    assert job.history[-1].digest.startswith(facts.seal)
    assert dict(facts.budget) == pytest.approx({"scale": 0.8, "edge": 0.2})  # 20 and 10 in squares


def test_spells_and_breaks_of_the_hand_stand_below_the_steps(desk: Desk, tmp_path: Path) -> None:
    made = _planned(
        desk, process="nickel-gold-brush", layers={"gold": "0.5 um", "nickel": "3 um"}, footprint="4 cm2",
        stroke="120 mm", hand_speed="10 m/min", efficiency={"gold": "72 %", "nickel": "60 %"},
        current_density={"gold": "5 A/dm2", "nickel": "20 A/dm2"},
    )  # fmt: skip
    whole = " ".join(text_of(write_report(desk, made, ReportRequest(output=tmp_path / "t.pdf"))))
    told = whole.split("Hands and hours. ")[1].split("Results")[0]
    assert told.startswith("Nickel: 83 strokes a minute, in ")
    assert "Gold: 83 strokes a minute" in told
    assert "All layers: " in told
