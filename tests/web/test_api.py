"""The HTTP API: what it answers, and how it refuses."""

import itertools
import json
import math
import re
from pathlib import Path

import jsonschema
import pytest
from starlette.testclient import TestClient

from areakit.web.app import make_app
from areakit.web.openapi import openapi
from areakit.web.settings import Address, Limits

DEMO = Path(__file__).resolve().parents[2] / "demo_images"
HERE = "http://127.0.0.1:8137"


def client(limits: Limits | None = None) -> TestClient:
    app = make_app(address=Address(port=8137), limits=limits)
    return TestClient(app, base_url=HERE, client=("127.0.0.1", 50_000))


@pytest.fixture(scope="module")
def api() -> TestClient:
    return client()


@pytest.fixture(scope="module")
def badge(api: TestClient) -> dict:
    answer = api.post(
        "/api/measure",
        params={"thickness": "1.2 mm", "faces": "all", "name": "pierced-badge.jpg"},
        content=(DEMO / "pierced-badge.jpg").read_bytes(),
    )
    assert answer.status_code == 200, answer.text
    return answer.json()


def test_a_measured_photo_comes_with_what_is_drawn_over_it(badge: dict) -> None:
    assert badge["image"] == {"width_px": 3264, "height_px": 2448}
    (rings,) = badge["rings_px"]
    assert len(rings) == 1 + 11  # the badge has two round, one star, six petals and two slots
    xs, ys = zip(*rings[0], strict=True)
    assert 1250 < min(xs) < max(xs) < 2050 and 700 < min(ys) < max(ys) < 1650  # noqa: PT018
    assert len(badge["mark_px"]) == 2


def test_the_measurement_fits_its_published_schema(badge: dict) -> None:
    described = openapi()
    schema = {"$ref": "#/components/schemas/MeasuredPhoto", "components": described["components"]}
    jsonschema.Draft202012Validator(schema).validate(badge)
    broken = {**badge, "status": "guessed"}
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.Draft202012Validator(schema).validate(broken)


def test_every_call_is_described(api: TestClient) -> None:
    described = api.get("/api/openapi.json").json()
    assert described["openapi"].startswith("3.1")
    for path, calls in described["paths"].items():
        for method in calls:
            answer = api.request(method, path, content=b"{}")
            code = answer.json().get("code") if answer.status_code in {404, 405} else None
            assert code in {None, "NO_JOURNAL", "NO_LAN"}, (method, path)


def test_a_refused_photo_says_what_to_do_and_shows_where(api: TestClient) -> None:
    answer = api.post("/api/measure", content=(DEMO / "refused-crossing.jpg").read_bytes())
    body = answer.json()
    assert answer.status_code == 422
    assert body["code"] == "PART_CROSSES_EDGE"
    assert body["remedy"].startswith("Move every part fully inside")
    assert body["status"] == "refused"
    assert len(body["seen"]["crossing_px"]) == 1
    assert body["mark_px"]


@pytest.mark.parametrize(
    ("query", "content", "code"),
    [
        ("thickness=3,500 mm", b"x", "UNIT_ERROR"),
        ("faces=all", b"x", "INPUT_ERROR"),
        ("faces=inside", b"x", "INPUT_ERROR"),
        ("path=/etc/passwd", b"x", "INPUT_ERROR"),
        ("", b"", "FILE_ERROR"),
        ("", b"no picture at all", "FILE_ERROR"),
    ],
)
def test_wrong_input_gets_one_sentence_and_a_remedy(api: TestClient, query: str, content: bytes, code: str) -> None:
    answer = api.post(f"/api/measure?{query}", content=content)
    assert answer.status_code == 422
    body = answer.json()
    assert body["code"] == code
    assert body["message"].endswith(".")
    assert body["remedy"].endswith(".")


def test_a_name_is_only_shown_and_never_opened(api: TestClient) -> None:
    answer = api.post("/api/measure", params={"name": "../../demo_images/pierced-badge.jpg"}, content=b"junk")
    assert answer.json()["photo"] == "pierced-badge.jpg"
    assert answer.json()["code"] == "FILE_ERROR"
    assert api.post("/api/measure", params={"name": "C:\\photos\\a.jpg"}, content=b"junk").json()["photo"] == "a.jpg"


def test_a_plan_names_every_wrong_field(api: TestClient) -> None:
    body = api.post("/api/plan", json={"process": 3, "layer": {}}).json()
    assert body["code"] == "FIELDS"
    assert "process" in body["message"]
    assert "layer" in body["message"]
    assert api.post("/api/plan", content=b"{not json").json()["code"] == "FIELDS"


def test_a_correction_that_changes_nothing_changes_no_number(api: TestClient, badge: dict) -> None:
    part, rings = badge["parts"][0], badge["rings_px"][0]
    body = {"part": part, "before_px": rings, "rings_px": rings, "camera": badge["camera"]}
    after = api.post("/api/surface", json=body).json()
    assert after["corrected"] is False
    for name in ("face_area", "plated_area", "side_wall_area"):
        assert after[name]["value"] == pytest.approx(part[name]["value"], rel=1e-6)
        assert after[name]["expanded_uncertainty"] == pytest.approx(part[name]["expanded_uncertainty"], rel=1e-6)
    assert after["flags"] == part["flags"]


def test_a_filled_hole_adds_its_area_and_says_that_a_hand_did_it(api: TestClient, badge: dict) -> None:
    part, rings = badge["parts"][0], badge["rings_px"][0]
    filled = 1 + max(range(11), key=lambda i: len(rings[1 + i]))
    left = [ring for i, ring in enumerate(rings) if i != filled]
    body = {"part": part, "before_px": rings, "rings_px": left, "camera": badge["camera"]}
    after = api.post("/api/surface", json=body).json()
    hole = shoelace(part["outline"]["coordinates"][filled])
    assert after["face_area"]["value"] - part["face_area"]["value"] == pytest.approx(hole, rel=0.01)
    assert after["face_area"]["expanded_uncertainty"] > part["face_area"]["expanded_uncertainty"]
    assert after["flags"][-1]["code"] == "CORRECTED_BY_HAND"
    assert after["corrected"] is True


def shoelace(ring: list[list[float]]) -> float:
    """Area of a closed ring by Gauss's formula."""
    return abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in itertools.pairwise(ring))) / 2


def test_a_crossed_outline_and_a_strange_camera_are_refused(api: TestClient, badge: dict) -> None:
    part, rings = badge["parts"][0], badge["rings_px"][0]
    crossed = [[*rings[0][:200], *rings[0][200:400][::-1], *rings[0][400:]]]
    body = {"part": part, "before_px": rings, "rings_px": crossed, "camera": badge["camera"]}
    assert api.post("/api/surface", json=body).json()["code"] == "OUTLINE_INVALID"
    assert api.post("/api/surface", json={**body, "camera": {"parameters": [1.0]}}).status_code == 422
    assert api.post("/api/surface", json={**body, "before_px": rings[:3]}).json()["code"] == "OUTLINE_INVALID"


def test_a_preview_is_a_small_upright_jpeg(api: TestClient) -> None:
    import io

    from PIL import Image

    turned = Image.new("RGB", (600, 400), "white")
    exif = Image.Exif()
    exif[0x0112] = 6  # to be shown turned by a quarter (EXIF 2.32, orientation)
    stream = io.BytesIO()
    turned.save(stream, "JPEG", exif=exif)
    answer = api.post("/api/preview?longest_px=300", content=stream.getvalue())
    with Image.open(io.BytesIO(answer.content)) as shown:
        assert (shown.format, shown.size) == ("JPEG", (200, 300))
    assert api.post("/api/preview?longest_px=9000000", content=stream.getvalue()).status_code == 422


def test_a_measurement_brings_the_picture_of_its_one_decoding(api: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    import io
    from base64 import b64decode

    from PIL import Image

    from areakit.service import measure

    read, decoded = measure.read_photo, []
    monkeypatch.setattr(measure, "read_photo", lambda *given, **named: decoded.append(1) or read(*given, **named))
    content = (DEMO / "pierced-badge.jpg").read_bytes()
    answer = api.post("/api/measure?preview_px=400", content=content).json()
    with Image.open(io.BytesIO(b64decode(answer["preview"]))) as shown:
        assert (shown.format, max(shown.size)) == ("JPEG", 400)
    assert len(decoded) == 1
    blank = io.BytesIO()
    Image.new("RGB", (900, 700), "white").save(blank, "TIFF")
    refused = api.post("/api/measure?preview_px=400", content=blank.getvalue())
    assert (refused.status_code, "preview" in refused.json()) == (422, True)
    assert "preview" not in api.post("/api/measure", content=blank.getvalue()).json()
    assert api.post("/api/measure?preview_px=9", content=blank.getvalue()).status_code == 422


def test_lists_hold_what_the_command_line_lists(api: TestClient) -> None:
    processes = api.get("/api/processes").json()["processes"]
    metals = {one["key"]: one["metals"] for one in processes}
    assert metals["nickel-gold-brush"] == ["nickel", "gold"]
    classes = {one["key"]: one["minimum"] for one in api.get("/api/requirements").json()["requirements"]}
    assert classes["mil-dtl-45204-1"]["value"] == pytest.approx(1.27)  # MIL-DTL-45204D class 1: 50 µin
    assert classes["iso-1456"] is None
    assert api.get("/api/nothing").json()["code"] == "INPUT_ERROR"
    assert "currency" in api.get("/api/rates?currency=EUR").json()["rates"]
    assert api.get("/api/rates?currency=euros").status_code == 422


def test_the_page_needs_nothing_from_elsewhere(api: TestClient) -> None:
    import re

    folder = Path(__file__).resolve().parents[2] / "areakit" / "web" / "static"
    for path in folder.iterdir():
        text = path.read_text(encoding="utf-8").replace("http://www.w3.org/2000/svg", "")
        assert not re.search(r"https?://|//[a-z]+\.[a-z]+/|@import|\beval\(|innerHTML", text), path.name
        assert api.get(f"/static/{path.name}").status_code == 200
    index = (folder / "index.html").read_text(encoding="utf-8")
    assert not re.search(r"\sstyle=|\son[a-z]+=|<script>|<style>", index)
    assert api.get("/").headers["content-type"].startswith("text/html")


def test_a_quote_and_a_check_go_through(api: TestClient, badge: dict) -> None:
    fields = {"process": "gold-brush", "layers": {"gold": "0.5 um"}, "efficiency": {"gold": "72% ± 6%"}}
    plan = api.post("/api/plan", json={**fields, "measured": badge}).json()
    rates = api.get("/api/rates?example=1").json()["rates"]
    asked = {"plan": plan, "rates": rates, "metal_prices": {"gold": "75.30 EUR/g"}, "price_date": "2026-01-31"}
    quote = api.post("/api/quote", json={**asked, "part": badge})
    assert quote.status_code == 200, quote.text
    assert sum(float(line["amount"]) for line in quote.json()["lines"]) == pytest.approx(float(quote.json()["price"]))
    claims = {"area": "12 cm2", "faces": "one"}
    verdict = api.post("/api/check", json={"claims": claims, "part": json.dumps(badge)}).json()["verdicts"][0]
    assert verdict["agrees"] is False


def test_a_person_may_say_that_a_hole_is_metal(api: TestClient, badge: dict) -> None:
    part = badge["parts"][0]
    ring = part["outline"]["coordinates"][1]
    middle = [sum(point[axis] for point in ring[:-1]) / (len(ring) - 1) for axis in (0, 1)]
    answer = api.post(
        "/api/measure",
        params={"thickness": "1.2 mm", "metal": f"{middle[0]:.1f},{middle[1]:.1f}"},
        content=(DEMO / "pierced-badge.jpg").read_bytes(),
    ).json()
    assert len(answer["rings_px"][0]) == len(badge["rings_px"][0]) - 1
    gained = answer["parts"][0]["face_area"]["value"] - part["face_area"]["value"]
    assert gained == pytest.approx(shoelace(ring), rel=0.1)


def test_a_doubtful_region_is_asked_about_where_it_lies() -> None:
    from dataclasses import replace

    from areakit.flags import flag
    from areakit.service.measure import MeasureRequest, measure
    from areakit.service.picture import overlay_json

    result = next(measure([DEMO / "pierced-badge.jpg"], MeasureRequest()))
    (part,) = result.parts
    x_mm, y_mm = part.part.outline.polygon.exterior.coords[0]
    doubt = flag("LOOKS_UNDECIDED", part=1, area_mm2=9.0, x_mm=x_mm, y_mm=y_mm, percent=1.0)
    asked = replace(result, parts=(replace(part, surface=replace(part.surface, flags=(doubt,))),))
    (question,) = overlay_json(asked)["questions"]
    assert question["part"] == 1
    assert question["at"] == f"{x_mm:.1f},{y_mm:.1f}"
    near = min(math.dist(question["at_px"], point) for point in part.rings_px[0])
    assert near < 0.06 * 13.5 * 2 + 3  # 13.5 px/mm; the flag prints tenths of a millimetre
    assert overlay_json(result)["questions"] == []


def test_flags_of_several_parts_are_told_as_one(api: TestClient) -> None:
    from areakit.flags import flag
    from areakit.records.codec import flag_json

    told = [flag_json(flag("LOW_RESOLUTION", part=part, width_px=90 * part, percent=1.0)) for part in (1, 2)]
    (note,) = api.post("/api/notes", json={"flags": told}).json()["notes"]
    assert (note["code"], note["where"]) == ("LOW_RESOLUTION", "parts 1 and 2")
    assert note["message"] == "This part is only 90 to 180 px wide, so its edge weighs 1.0 % of its area."
    assert api.post("/api/notes", json={"flags": ["x"]}).status_code == 422


def test_an_answer_that_is_no_point_is_refused(api: TestClient) -> None:
    assert api.post("/api/measure?hole=here", content=b"x").status_code == 422


def test_a_part_is_drawn_with_its_areas(api: TestClient, badge: dict) -> None:
    from xml.etree import ElementTree

    part = badge["parts"][0]
    areas = api.post("/api/drawing", json={"part": part})
    assert areas.headers["content-type"] == "image/svg+xml"
    words = "".join(ElementTree.fromstring(areas.content).itertext())
    drawn = re.search(r"plated \(all over\): (\d+) ± (\d+) mm²", words)
    assert drawn is not None
    value, expanded = part["plated_area"]["value"], part["plated_area"]["expanded_uncertainty"]
    assert [float(number) for number in drawn.groups()] == pytest.approx([value, expanded], abs=0.05 * expanded)
    assert api.post("/api/drawing", json={"part": {}}).status_code == 422


def test_a_plan_draws_its_map_and_plays_its_strokes(api: TestClient, badge: dict) -> None:
    from xml.etree import ElementTree

    brush = {"process": "gold-brush", "layers": {"gold": "0.5 um"}, "efficiency": {"gold": "handbook"}}
    brush |= {"measured": badge, "hand_speed": "12 m/min", "spread": {"footprint_size": "20 x 10 mm"}}
    words = "".join(ElementTree.fromstring(api.post("/api/lanes", json=brush).content).itertext())
    assert "20 mm wide, 10 mm long" in words
    assert "200 mm/s" in words  # 12 m/min
    strokes = api.post("/api/strokes", json=brush).json()
    slid = [move for move in strokes["moves"] if move["kind"] != "lift"]
    for move in slid:
        assert move["seconds"] == pytest.approx(math.dist(move["start_mm"], move["end_mm"]) / 200.0, abs=1e-4)
    assert sum(move["seconds"] for move in strokes["moves"]) == pytest.approx(strokes["seconds_per_pass"])
    for one, after in itertools.pairwise(strokes["moves"]):
        assert one["end_mm"] == after["start_mm"]
    assert "local / mean" in api.post("/api/map", json=brush).text
    tank = {"process": "nickel-tank", "layers": {"nickel": "5 um"}, "measured": badge}
    assert "Tank" in api.post("/api/map", json=tank).text
    assert api.post("/api/strokes", json=tank).json()["message"] == "A tank has no strokes."
    assert api.post("/api/map", json={**tank, "measured": None, "area": "12 cm2"}).status_code == 422
    assert api.post("/api/plan", json={**tank, "spread": {"wagnr": "0.1"}}).json()["code"] == "FIELDS"


def corrected(api: TestClient, badge: dict, kind: str, ring: list[list[float]], sides: str = "front") -> dict:
    part, rings = badge["parts"][0], badge["rings_px"][0]
    body = {"part": part, "before_px": rings, "rings_px": rings, "camera": badge["camera"]}
    region = {"kind": kind, "ring_px": ring, "sides": sides}
    return api.post("/api/surface", json={**body, "regions": [region]}).json()


def on_faces(part: dict) -> float:
    return sum(line["area"]["value"] for line in part["surfaces"] if line["plated"] and line["side"] != "wall")


def test_drawn_regions_leave_bare_or_keep_what_they_cover(api: TestClient, badge: dict) -> None:
    from shapely.geometry import Polygon

    part, rings = badge["parts"][0], badge["rings_px"][0]
    xs = [x for x, _ in rings[0]]
    middle = (min(xs) + max(xs)) / 2
    left = [[0.0, 0.0], [middle, 0.0], [middle, 2400.0], [0.0, 2400.0]]
    seen = Polygon(rings[0], rings[1:])
    share = seen.intersection(Polygon(left)).area / seen.area  # the camera looks almost straight down
    face, plated = part["face_area"]["value"], part["plated_area"]["value"]
    stopped = corrected(api, badge, "stop_off", left)
    assert on_faces(stopped) == pytest.approx((2 - share) * face, rel=0.01)
    assert on_faces(corrected(api, badge, "keep", left)) == pytest.approx((1 + share) * face, rel=0.01)
    assert on_faces(corrected(api, badge, "stop_off", left, "both")) == pytest.approx(2 * (1 - share) * face, rel=0.02)
    assert stopped["plated_area"]["budget"]["mask"] > 0
    assert {flag["code"] for flag in stopped["flags"]} > {"REGIONS_DRAWN"}
    marked = corrected(api, badge, "significant", left)
    assert marked["significant_area"]["value"] == pytest.approx(share * face, rel=0.02)
    assert marked["significant_area"]["budget"]["region drawn by hand"] > 0
    assert marked["plated_area"]["value"] == pytest.approx(plated)
    drawing = api.post("/api/drawing", json={"part": stopped}).text
    assert f"{stopped['plated_area']['value']:.0f} ± " in drawing, "the picture must not forget the mask"


def test_a_region_that_is_none_is_refused(api: TestClient, badge: dict) -> None:
    bow = [[0.0, 0.0], [3000.0, 2400.0], [3000.0, 0.0], [0.0, 2400.0]]
    assert corrected(api, badge, "keep", bow)["code"] == "OUTLINE_INVALID"
    assert corrected(api, badge, "paint", bow)["code"] == "INPUT_ERROR"
    assert corrected(api, badge, "keep", bow, "inside")["code"] == "INPUT_ERROR"
    assert corrected(api, badge, "keep", bow[:2])["code"] == "INPUT_ERROR"
    strange = {**badge["parts"][0], "regions": {"hand_mm": 0.1, "drawn": [{"kind": "keep"}]}}
    assert api.post("/api/drawing", json={"part": strange}).status_code == 422
