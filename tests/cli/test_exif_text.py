"""What cameras and editors write into a photo (EXIF 2.32, XMP, JPEG comment) reaches no page, table, drawing, paper."""

from pathlib import Path

import pypdfium2
import pytest
from click.testing import CliRunner
from PIL import ExifTags, Image
from starlette.testclient import TestClient

from areakit.cli.main import group
from areakit.datafiles import data_dir
from areakit.imaging.photo import read_photo
from areakit.records.journal import Journal
from areakit.web.app import make_app
from areakit.web.settings import Address

WORD = "EXIFWORD"
NAME = f'={WORD}"<script>alert(1)</script>'
HOSTILE = f"{NAME}&\x1b[31m\x07\u202e"


@pytest.fixture(scope="module")
def photo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("exif") / "hook.jpg"
    with Image.open(data_dir("demo_images") / "wire-hook.jpg") as image:
        exif, base = image.getexif(), ExifTags.Base
        exif[base.Make], exif[base.Model] = NAME, HOSTILE
        for tag in (base.ImageDescription, base.Artist, base.Copyright, base.Software, base.DateTime):
            exif[tag] = HOSTILE
        details = exif.get_ifd(ExifTags.IFD.Exif)
        details[base.UserComment] = b"ASCII\0\0\0" + HOSTILE.encode()
        details[base.LensModel], details[base.FocalLengthIn35mmFilm] = HOSTILE, 26
        image.save(path, quality=95, exif=exif, comment=HOSTILE.encode(), xmp=f"<x>{HOSTILE}</x>".encode())
    return path


def run(*arguments: str) -> bytes:
    done = CliRunner().invoke(group, list(arguments), env={"AREAKIT_WHO": "Ana", "AREAKIT_SHOP": "none"})
    assert done.exit_code == 0, (arguments, done.output, done.exception)
    return done.output.encode()


def words_of(path: Path) -> bytes:
    """Bytes of a file, and the text of a PDF, whose own bytes are squeezed."""
    if path.suffix != ".pdf":
        return path.read_bytes()
    pages = pypdfium2.PdfDocument(path.read_bytes())
    return "".join(page.get_textpage().get_text_range() for page in pages).encode()


def test_the_words_are_in_the_photo_and_only_the_cameras_name_is_read(photo: Path) -> None:
    assert photo.read_bytes().count(WORD.encode()) >= 9
    assert read_photo(photo).camera == NAME  # it tells lenses apart; the name with control characters is not kept


def test_no_output_holds_words_of_the_metadata(photo: Path, tmp_path: Path) -> None:
    journal = ("--journal", str(tmp_path / "kept" / "j.sqlite"))
    out = {name: str(tmp_path / name) for name in ("m.json", "d.svg", "e.svg", "card.pdf", "map.svg", "r.pdf", "e.csv")}
    told = run("measure", str(photo), "--form", "round", "--results", str(tmp_path / "all"), "--save", out["m.json"])
    told += run("surface", "--from", out["m.json"], "--drawing", out["d.svg"], "--export", out["e.svg"])
    layer = ("--process", "nickel-tank", "--layer", "nickel=5 um", "--efficiency", "nickel=95%")
    told += run("plan", "--from", out["m.json"], *layer, "--card", out["card.pdf"])
    run("job", "new", "hook", "--number", "H1", *journal)
    told += run("job", "measured", "H1", out["m.json"], "--photo", str(photo), *journal)
    told += run("job", "report", "H1", "--output", out["r.pdf"], *journal)
    told += run("job", "show", "H1", *journal) + run("job", "history", "H1", *journal)
    told += run("job", "export", "--format", "csv", "--output", out["e.csv"], *journal)
    assert WORD.encode() not in told
    written = [path for path in tmp_path.rglob("*") if path.is_file() and "kept" not in path.parts]
    assert len(written) >= 10
    for path in written:
        assert WORD.encode() not in words_of(path), path.name


def test_the_stored_photo_stays_as_it_was(photo: Path, tmp_path: Path) -> None:
    journal = ("--journal", str(tmp_path / "j.sqlite"))
    run("job", "new", "hook", "--number", "H1", *journal)
    run("job", "photo", "H1", str(photo), *journal)
    with Journal(tmp_path / "j.sqlite", write=False) as kept:
        (sha256,) = kept.file_hashes()
        assert kept.file(sha256).content == photo.read_bytes()


def test_the_server_says_nothing_of_them(photo: Path) -> None:
    client = TestClient(make_app(address=Address(port=8137)), base_url="http://127.0.0.1:8137")
    answer = client.post("/api/measure?form=round", content=photo.read_bytes(), headers={"content-type": "image/jpeg"})
    assert answer.status_code == 200, answer.text
    assert WORD not in answer.text
