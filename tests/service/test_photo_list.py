"""Which photos a batch measures: own pictures and copies are left out, a table tells parts apart."""

import csv
import io
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner
from PIL import Image

from areakit.cli.main import group
from areakit.datafiles import data_dir
from areakit.errors import AreakitError, FileError, InputError
from areakit.imaging.own_picture import is_own_picture
from areakit.imaging.photo import read_photo
from areakit.reports.overlay import save_overlay
from areakit.service.batch import SUMMARY, BatchRequest, run_batch
from areakit.service.measure import MeasureRequest
from areakit.service.photo_list import Listed, read_table, refuse_copies, sorted_out

DEMO = data_dir("demo_images")
BADGE, FOIL = DEMO / "pierced-badge.jpg", DEMO / "foil-shape.jpg"


@pytest.mark.parametrize("name", ["a.jpg", "a.JPEG", "a.png", "a.webp", "a.tif"])
def test_own_pictures_are_known_in_every_format_and_never_measured(name: str, tmp_path: Path) -> None:
    path = tmp_path / name
    save_overlay(Image.new("RGB", (300, 300), (200, 20, 20)), path)
    assert is_own_picture(path)
    with pytest.raises(FileError, match="areakit drew"):
        read_photo(path)


def test_photos_texts_and_damaged_files_are_no_own_pictures(tmp_path: Path) -> None:
    text = tmp_path / "drawn by areakit; not a photo.jpg"
    text.write_bytes(b"drawn by areakit; not a photo")
    half = tmp_path / "half.jpg"
    half.write_bytes(BADGE.read_bytes()[:300])
    assert not any(map(is_own_picture, (BADGE, FOIL, text, half, tmp_path / "gone.jpg", tmp_path)))


@pytest.mark.thorough
def test_a_folder_measured_twice_gives_the_same_photos(tmp_path: Path) -> None:
    for photo in (BADGE, FOIL):
        shutil.copy(photo, tmp_path)
    shutil.copy(BADGE, tmp_path / "zz-copy.jpg")
    line = ["measure", str(tmp_path), "--overlay", str(tmp_path), "--thickness", "1 mm"]
    first, second = (CliRunner().invoke(group, line) for _ in range(2))
    assert first.stdout == second.stdout
    assert "zz-copy.jpg: left out, the same photo as pierced-badge.jpg, counted once." in first.stderr
    assert second.stderr.count("left out, a picture that areakit drew.") == 2


def test_an_own_picture_alone_says_why_it_is_not_measured(tmp_path: Path) -> None:
    save_overlay(Image.new("RGB", (300, 300)), tmp_path / "o.jpg")
    told = CliRunner().invoke(group, ["measure", str(tmp_path / "o.jpg")])
    assert told.exit_code == 2
    assert "picture that areakit drew" in told.stderr


def test_copies_for_different_parts_are_refused(tmp_path: Path) -> None:
    copy = Path(shutil.copy(BADGE, tmp_path / "copy.jpg"))
    same = [Listed(photo=BADGE, pieces=2), Listed(photo=copy, pieces=2)]
    kept, left = sorted_out(same)
    assert [one.photo for one in kept] == [BADGE]
    assert [one.photo for one in left] == [copy]
    with pytest.raises(InputError, match="another way"):
        sorted_out([Listed(photo=BADGE, pieces=2), Listed(photo=copy)])
    with pytest.raises(InputError, match="the same photo as"):
        refuse_copies([BADGE, FOIL, copy])
    refuse_copies([BADGE, FOIL])
    refuse_copies([])


def table(path: Path, text: str) -> Path:
    path.write_text(text, encoding="utf-8")
    return path


def test_a_table_is_read_with_commas_or_semicolons_in_any_order(tmp_path: Path) -> None:
    commas = table(tmp_path / "c.csv", "pieces,Photo,faces,thickness\n3,a.jpg,,1.2 mm\n\n,b.jpg,both,\n")
    others = table(tmp_path / "s.csv", "\ufeffpieces;photo;faces;thickness\r\n3;a.jpg;;1.2 mm\r\n;b.jpg;both;\r\n")
    found = read_table(commas)
    assert found == read_table(others)
    assert [(one.photo.name, one.told) for one in found] == [
        ("a.jpg", ({"thickness": "1.2 mm"}, 3)),
        ("b.jpg", ({"faces": "both"}, 1)),
    ]
    assert found[0].photo == tmp_path / "a.jpg"
    of_all = MeasureRequest(thickness="2 mm", faces="one")
    assert [(r.thickness, r.faces) for r in (one.request(of_all) for one in found)] == [
        ("1.2 mm", "one"),
        ("2 mm", "both"),
    ]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "does not name a column photo"),
        ("a.jpg,1 mm\n", "has no column 'a.jpg'"),
        ("photo,photo\n", "twice"),
        ("photo\n", "names no photo"),
        ("photo,pieces\n,3\n", "Row 2 .* names no photo"),
        ("photo,pieces\na.jpg,0\n", "'0' is not a number of pieces"),
        ("photo,pieces\na.jpg,1.5\n", "'1.5' is not"),
        ("photo,pieces\na.jpg,-2\n", "'-2' is not"),
        ("photo,pieces\na.jpg,1000001\n", "is not a number"),
        (f"photo,pieces\na.jpg,{'9' * 5000}\n", "is not a number"),
        ("photo\na\0.jpg\n", "Row 2 of .* names no photo"),
        ("photo,thickness\na.jpg,1,2 mm\n", "more cells than columns"),
        ('photo,thickness\n"a.jpg\n', "not a table"),
    ],
)
def test_a_table_that_is_not_understood_names_the_row(text: str, words: str, tmp_path: Path) -> None:
    with pytest.raises(AreakitError, match=words):
        read_table(table(tmp_path / "t.csv", text))


def test_a_million_pieces_are_the_most(tmp_path: Path) -> None:
    assert read_table(table(tmp_path / "t.csv", "photo,pieces\na.jpg,1000000\n"))[0].pieces == 1_000_000


def test_pieces_multiply_the_totals_and_their_uncertainty(tmp_path: Path) -> None:
    request = MeasureRequest(thickness="1 mm")
    listed = (Listed(photo=BADGE, pieces=3), Listed(photo=FOIL, fields={"faces": "both"}))
    batch = BatchRequest(table=listed, request=request, folder=tmp_path)
    steps = list(run_batch(batch))
    rows = list(csv.DictReader(io.StringIO((tmp_path / SUMMARY).read_text(encoding="utf-8-sig"))))
    badge, foil, whole = rows
    assert (badge["pieces"], foil["pieces"], whole["pieces"]) == ("3", "1", "4")
    assert float(foil["plated_area_mm2"]) == pytest.approx(2 * float(foil["face_area_mm2"]), abs=0.002)
    for name in ("plated_area_mm2", "plated_area_U_mm2"):
        least = 3 * float(badge[name])
        assert least < float(whole[name]) <= least + float(foil[name]) + 0.01
    assert float(whole["plated_area_mm2"]) == pytest.approx(
        3 * float(badge["plated_area_mm2"]) + float(foil["plated_area_mm2"]), abs=0.01
    )
    assert not any(step.known for step in steps)
    more = BatchRequest(table=(Listed(photo=BADGE, pieces=5), listed[1]), request=request, folder=tmp_path)
    assert all(step.known for step in run_batch(more))  # another number of pieces needs no measuring
    again = list(csv.DictReader(io.StringIO((tmp_path / SUMMARY).read_text(encoding="utf-8-sig"))))
    assert again[0]["pieces"] == "5"


@pytest.mark.parametrize("name", [SUMMARY, "contact-sheet-1.jpg", "contact-sheet-7.jpg"])
def test_a_folder_with_files_of_somebody_else_is_refused(name: str, tmp_path: Path) -> None:
    theirs = tmp_path / name
    theirs.write_bytes(BADGE.read_bytes())
    with pytest.raises(FileError, match="was not written by a batch"):
        list(run_batch(BatchRequest(photos=(FOIL,), request=MeasureRequest(), folder=tmp_path)))
    assert theirs.read_bytes() == BADGE.read_bytes()


@pytest.mark.thorough
def test_a_full_disk_in_a_batch_says_how_to_go_on(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    import areakit.service.batch as module

    def full(path: Path, *_: object) -> None:
        raise FileError(f"The disk is full: {path} was not written.", remedy="Free some space.", code="DISK_FULL")

    monkeypatch.setattr(module, "write_whole", full)
    told = CliRunner().invoke(group, ["measure", str(BADGE), str(FOIL), "--results", str(tmp_path / "r")])
    assert told.exit_code == 2
    assert "The disk is full" in told.stderr
    assert f"2 of 2 photos are kept in {tmp_path / 'r'}. Run the same command again" in told.stderr
