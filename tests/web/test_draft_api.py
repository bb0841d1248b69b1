"""Drafts over HTTP: kept photo by photo, measured from what is kept, bounded, and nobody's way to another file."""

from __future__ import annotations

import hashlib
import os
import time
from datetime import UTC, datetime
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from areakit.costing.rates import read_rates
from areakit.errors import InputError
from areakit.service import shop
from areakit.service.desk import Desk
from areakit.service.draft import KEPT_SECONDS, MOST_DRAFTS, MOST_PHOTOS, Drafts
from areakit.service.measure import MeasureRequest, measure
from areakit.service.side_photo import with_rise
from areakit.web.app import make_app
from areakit.web.settings import Address
from tests.imaging.drawn_photos import scene_of
from tests.service.test_side_photo import DISK, RISE, SAID, THICK, WIDTH, photographed, segment

PHOTO = Path(__file__).resolve().parents[2] / "demo_images" / "pierced-badge.jpg"
HERE = "http://127.0.0.1:8137"
NAME = "0123456789abcdef" * 2
ASKED = {"thickness": "1.2 mm", "faces": "all", "name": "pierced-badge.jpg"}


@pytest.fixture
def api(tmp_path: Path) -> TestClient:
    def desk(who: str | None) -> Desk:
        return Desk(path=tmp_path / "shop.sqlite", who=who or "bench", now=datetime.now(UTC))

    app = make_app(address=Address(port=8137), desk=desk)
    return TestClient(app, base_url=HERE, client=("127.0.0.1", 50_000))


def test_a_kept_photo_is_measured_without_being_sent_again(api: TestClient) -> None:
    content = PHOTO.read_bytes()
    kept = api.post(f"/api/drafts/{NAME}/photos", content=content).json()["photo"]
    assert kept == hashlib.sha256(content).hexdigest()
    assert api.get(f"/api/drafts/{NAME}/photos/{kept}").content == content
    sent = api.post("/api/measure", params=ASKED, content=content).json()
    again = api.post("/api/measure", params={**ASKED, "draft": NAME, "kept": kept})
    assert again.json() == sent
    gone = api.post("/api/measure", params={**ASKED, "draft": NAME, "kept": "0" * 64})
    assert (gone.status_code, gone.json()["code"]) == (404, "NO_DRAFT")


def test_a_second_photo_of_the_draft_gives_the_rise_of_a_dome(api: TestClient, tmp_path: Path) -> None:
    middle = scene_of(DISK).middle_mm
    photos = {
        "kept": photographed(tmp_path / "above.jpg", DISK, THICK, middle),
        "side": photographed(tmp_path / "side.jpg", segment(WIDTH, RISE + THICK), WIDTH / 2, middle),
    }
    digests = {
        name: api.post(f"/api/drafts/{NAME}/photos", content=path.read_bytes()).json()["photo"]
        for name, path in photos.items()
    }
    answer = api.post("/api/measure", params={**SAID, "faces": "front", "draft": NAME, **digests})
    assert answer.status_code == 200, answer.text
    (part,) = answer.json()["parts"]
    expected = next(measure([photos["kept"]], with_rise(photos["kept"], photos["side"], MeasureRequest(**SAID))))
    assert part["form"]["text"] == expected.parts[0].part.form.text  # type: ignore[union-attr]
    assert part["form"]["figures"]["rise"]["value"] == pytest.approx(RISE, rel=0.05)

    alone = api.post("/api/measure", params={**SAID, "side": digests["side"]}, content=photos["kept"].read_bytes())
    assert alone.status_code == 422
    assert "no draft was named" in alone.json()["message"]
    gone = api.post("/api/measure", params={**SAID, "draft": NAME, "kept": digests["kept"], "side": "0" * 64})
    assert (gone.status_code, gone.json()["code"]) == (404, "NO_DRAFT")
    swapped = {"kept": digests["side"], "side": digests["kept"]}
    wrong = api.post("/api/measure", params={**SAID, "draft": NAME, **swapped}).json()
    assert "wide from above" in wrong["message"]


def test_a_document_comes_back_as_it_was_kept_and_goes_when_told(api: TestClient) -> None:
    document = {"photos": [{"name": "a.jpg"}], "shown": 0}
    assert api.put(f"/api/drafts/{NAME}", json={"document": document}).status_code == 200
    assert api.get(f"/api/drafts/{NAME}").json() == {"document": document}
    assert api.delete(f"/api/drafts/{NAME}").status_code == 200
    assert api.get(f"/api/drafts/{NAME}").json()["code"] == "NO_DRAFT"


@pytest.mark.parametrize("name", ["..", "x" * 32, "ab", NAME.upper(), "%2e%2e%2f" + "a" * 26])
def test_a_name_that_could_lead_elsewhere_is_refused(api: TestClient, name: str) -> None:
    assert api.put(f"/api/drafts/{name}", json={"document": {}}).status_code in {404, 405, 422}
    assert api.post(f"/api/drafts/{name}/photos", content=b"x").status_code in {404, 405, 422}


@pytest.mark.parametrize("digest", ["draft.json", "..%2f..%2fshop.sqlite", "0" * 63])
def test_only_photos_come_out_of_a_draft(api: TestClient, digest: str) -> None:
    api.put(f"/api/drafts/{NAME}", json={"document": {}})
    assert api.get(f"/api/drafts/{NAME}/photos/{digest}").status_code in {404, 422}


def test_a_photo_that_the_document_no_longer_names_is_dropped(tmp_path: Path) -> None:
    drafts = Drafts(folder=tmp_path)
    first, second = (drafts.keep_photo(NAME, content) for content in (b"one", b"two"))
    an_hour_ago = time.time() - 3600
    for digest in (first, second):
        os.utime(tmp_path / NAME / digest, (an_hour_ago, an_hour_ago))
    young = drafts.keep_photo(NAME, b"three")
    drafts.write(NAME, {"photos": [{"kept": first}]})
    assert {one.name for one in (tmp_path / NAME).iterdir()} == {first, young, "draft.json"}


def test_drafts_are_bounded_in_number_photos_and_age(tmp_path: Path) -> None:
    drafts = Drafts(folder=tmp_path)
    for number in range(MOST_DRAFTS + 3):
        drafts.write(f"{number:032x}", {})
        when = time.time() - 1000 + number
        os.utime(tmp_path / f"{number:032x}", (when, when))
    assert len(list(tmp_path.iterdir())) == MOST_DRAFTS
    assert not (tmp_path / f"{0:032x}").exists()
    few = Drafts(folder=tmp_path / "few")
    few.write("f" * 32, {})
    old = tmp_path / "few" / ("f" * 32)
    for seconds, stays in ((KEPT_SECONDS - 60, True), (KEPT_SECONDS + 60, False)):
        os.utime(old, (time.time() - seconds,) * 2)
        few.write(NAME, {})
        assert old.exists() == stays
    for number in range(MOST_PHOTOS):
        drafts.keep_photo(NAME, bytes([number]))
    with pytest.raises(InputError, match=f"{MOST_PHOTOS} photos already"):
        drafts.keep_photo(NAME, b"one more")


def test_other_faces_are_arithmetic_and_equal_a_new_measurement(api: TestClient) -> None:
    content = PHOTO.read_bytes()
    found = {
        faces: api.post("/api/measure", params={**ASKED, "faces": faces}, content=content).json()["parts"]
        for faces in ("one", "all")
    }
    for before, after in (("one", "all"), ("all", "one")):
        answer = api.post("/api/faces", json={"parts": found[before], "faces": [after]})
        assert answer.status_code == 200, answer.text
        (part,), (want,) = answer.json()["parts"], found[after]
        assert part["faces"] == after
        for name in ("plated_area", "face_area", "side_wall_area"):
            assert part[name]["value"] == pytest.approx(want[name]["value"], rel=1e-6)
            assert part[name]["expanded_uncertainty"] == pytest.approx(want[name]["expanded_uncertainty"], rel=1e-4)
        assert [one["code"] for one in part["flags"]] == [one["code"] for one in want["flags"]]


def test_edges_without_a_thickness_and_a_wrong_count_are_refused(api: TestClient) -> None:
    asked = {"name": "pierced-badge.jpg"}
    parts = api.post("/api/measure", params=asked, content=PHOTO.read_bytes()).json()["parts"]
    for faces in (["all"], ["sides"], [], ["one", "one"]):
        answer = api.post("/api/faces", json={"parts": parts, "faces": faces})
        assert answer.status_code == 422
        assert answer.json()["remedy"]


def test_every_sheet_is_offered_as_pdf(api: TestClient) -> None:
    sheets = api.get("/api/words").json()["words"]["sheets"]
    assert len(sheets) == 8
    for one in sheets:
        answer = api.get(f"/api/sheets/{one['key']}")
        assert answer.content.startswith(b"%PDF-")
        assert one["key"] in answer.headers["content-disposition"]
    assert api.get("/api/sheets/A3-r1-blue").status_code == 422


def test_rates_go_from_the_form_to_the_file_and_back(api: TestClient) -> None:
    given = api.get("/api/rates", params={"example": "1"}).json()
    values = api.post("/api/rates", json={"text": given["rates"]}).json()["values"]
    assert values["labour.per_hour"] == "48.00"
    assert set(values) >= {one["path"] for one in given["entries"]}
    text = api.post("/api/rates", json={"values": values}).json()["rates"]
    assert api.post("/api/rates", json={"text": text}).json()["values"] == values
    assert api.post("/api/rates", json={"values": {"labour.nothing": "1"}}).status_code == 422
    assert api.post("/api/rates", json={"text": "[labour"}).status_code == 422
    assert api.post("/api/rates", json={}).status_code == 422


def test_rates_are_kept_with_the_shop_profile(api: TestClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("AREAKIT_SHOPS", str(tmp_path / "shops"))
    assert api.get("/api/shop/rates").json() == {"values": None}
    example = api.get("/api/rates", params={"example": "1"}).json()["rates"]
    values = api.post("/api/rates", json={"text": example}).json()["values"]
    holes = api.put("/api/shop/rates", json={"values": {**values, "labour.per_hour": ""}})
    assert (holes.status_code, "labour.per_hour is empty" in holes.json()["message"]) == (422, True)
    assert api.put("/api/shop/rates", json={"values": values}).status_code == 200
    assert api.get("/api/shop/rates").json()["values"] == values
    assert shop.shop_names() == ("default",), "a file of rates is no profile"
    named = shop.load_shop("default").one("rates", "file")
    assert read_rates((tmp_path / "shops" / named).read_text(encoding="utf-8")).currency == "EUR"
