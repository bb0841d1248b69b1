"""What areakit writes is whole or not there, and never takes the place of what it reads."""

import errno
import os
import stat
import threading
from pathlib import Path

import pytest

from areakit.errors import FileError
from areakit.output import keep_apart, write_whole


def full(*_: object) -> None:
    raise OSError(errno.ENOSPC, "No space left on device")


def test_a_file_is_written_replaced_or_refused(tmp_path: Path) -> None:
    path = tmp_path / "a.pdf"
    write_whole(path, b"one", replace=False)
    write_whole(path, b"two")
    with pytest.raises(FileError, match="there already"):
        write_whole(path, b"three", replace=False)
    assert path.read_bytes() == b"two"
    assert os.listdir(tmp_path) == ["a.pdf"]


@pytest.mark.parametrize(("before", "replace"), [(None, True), (None, False), (b"kept", True)])
def test_a_full_disk_leaves_what_was_there_and_says_so(
    before: bytes | None, replace: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a.svg"
    if before is not None:
        path.write_bytes(before)
    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(FileError, match=r"The disk is full: .*a\.svg was not written\.") as told:
        write_whole(path, b"new", replace=replace)
    assert told.value.code == "DISK_FULL"
    assert (path.read_bytes() if path.exists() else None) == before
    assert len(os.listdir(tmp_path)) == (before is not None)


def test_a_device_that_is_full_is_told_too() -> None:
    if not Path("/dev/full").exists():
        pytest.skip("no such device here")
    with pytest.raises(FileError, match="disk is full"):
        write_whole(Path("/dev/full"), b"x")


def test_a_link_stays_a_link_and_rights_stay(tmp_path: Path) -> None:
    real, link = tmp_path / "real.txt", tmp_path / "link.txt"
    real.write_bytes(b"old")
    real.chmod(0o640)
    link.symlink_to(real)
    write_whole(link, b"new")
    assert link.is_symlink()
    assert real.read_bytes() == b"new"
    assert stat.S_IMODE(real.stat().st_mode) == 0o640


def test_of_two_writers_of_a_new_name_one_wins_whole(tmp_path: Path) -> None:
    path, refused = tmp_path / "one.jsonl", []

    def write(letter: bytes) -> None:
        try:
            write_whole(path, letter * 100_000, replace=False)
        except FileError as error:
            refused.append(error)

    write(b"a")
    threads = [threading.Thread(target=write, args=(letter,)) for letter in (b"b", b"c")]
    for one in threads:
        one.start()
    for one in threads:
        one.join()
    assert path.read_bytes() == b"a" * 100_000
    assert len(refused) == 2


def test_a_disk_without_hard_links_is_served(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def none(*_: object) -> None:
        raise OSError(errno.EPERM, "Operation not permitted")

    monkeypatch.setattr(os, "link", none)
    write_whole(tmp_path / "a", b"x", replace=False)
    with pytest.raises(FileError, match="there already"):
        write_whole(tmp_path / "a", b"y", replace=False)
    assert (tmp_path / "a").read_bytes() == b"x"


def test_a_folder_or_a_missing_one_is_one_sentence(tmp_path: Path) -> None:
    with pytest.raises(FileError, match="is a folder"):
        write_whole(tmp_path, b"x")
    with pytest.raises(FileError, match="no such file or directory"):
        write_whole(tmp_path / "gone" / "a.pdf", b"x")


def test_an_input_is_known_by_any_of_its_names(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    photo, other = tmp_path / "a.jpg", tmp_path / "b.jpg"
    photo.write_bytes(b"p")
    other.hardlink_to(photo)
    (tmp_path / "c.jpg").symlink_to(photo)
    monkeypatch.chdir(tmp_path)
    for name in (photo, other, tmp_path / "c.jpg", Path("a.jpg"), tmp_path / "." / "a.jpg"):
        with pytest.raises(FileError, match="written over") as told:
            keep_apart([name], [photo])
        assert told.value.code == "OUTPUT_IS_INPUT"
    keep_apart([tmp_path / "new.jpg", tmp_path], [photo])
    with pytest.raises(FileError, match="two things"):
        keep_apart([tmp_path / "new.jpg", Path("new.jpg")], [photo])
