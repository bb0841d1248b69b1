"""A disk that is full when a journal begins: nothing is left behind, and what is said is so."""

import shutil
import subprocess
import sys
import textwrap
from pathlib import Path

import pytest

from areakit.errors import RecordNotWritten
from areakit.records.journal import Journal

AT = "2026-03-14T09:30:00+01:00"
ROOT = Path(__file__).resolve().parents[2]


@pytest.mark.parametrize("limit", [0, 4096, 20_000])
def test_a_disk_too_full_for_the_first_entry_leaves_no_file(limit: int, tmp_path: Path) -> None:
    resource = pytest.importorskip("resource")
    path, before = tmp_path / "new" / "j.sqlite", resource.getrlimit(resource.RLIMIT_FSIZE)
    with Journal(path) as journal:
        resource.setrlimit(resource.RLIMIT_FSIZE, (limit, before[1]))
        try:
            with pytest.raises(RecordNotWritten, match=r"The disk (is full|failed to read or write)"):
                journal.append("job", "1", "remarked", at=AT, who="Ana", doc={"a": 1})
        finally:
            resource.setrlimit(resource.RLIMIT_FSIZE, before)
        assert list(path.parent.iterdir()) == []
        journal.append("job", "1", "remarked", at=AT, who="Ana", doc={"a": 2})
    with Journal(path, write=False) as journal:
        assert [event.doc for event in journal.every_event()] == [{"a": 2}]


@pytest.fixture(scope="module")
def _small_disks() -> None:
    command = ["unshare", "-rm", "mount", "-t", "tmpfs", "none", "/mnt"]
    if shutil.which("unshare") is None or subprocess.run(command, capture_output=True, check=False).returncode:
        pytest.skip("needs the right to mount a disk of a few kilobytes")


@pytest.mark.usefixtures("_small_disks")
@pytest.mark.parametrize(("room", "kept"), [(8, 0), (20, 0), (36, 0), (44, 1), (60, 1), (100, 1)])
def test_on_a_small_disk_the_first_entry_is_whole_or_nothing(room: int, kept: int, tmp_path: Path) -> None:
    """A real full disk: what is acknowledged is there, what is refused left nothing, and the words say why."""
    script = textwrap.dedent(f"""
        import sys
        sys.path.insert(0, {str(ROOT)!r})
        from pathlib import Path
        from areakit.errors import RecordNotWritten
        from areakit.records.journal import Journal
        path = Path("/mnt/j.sqlite")
        try:
            with Journal(path) as journal:
                journal.append("job", "1", "remarked", at="{AT}", who="Ana", doc={{}})
            with Journal(path, write=False) as journal:
                print(len(list(journal.every_event())), "acknowledged")
        except RecordNotWritten as error:
            print(len(list(path.parent.iterdir())), error.message)
    """)
    (tmp_path / "script.py").write_text(script)
    inside = f"mount -t tmpfs -o size={room}k none /mnt && {sys.executable} {tmp_path / 'script.py'}"
    said = subprocess.run(["unshare", "-rm", "sh", "-c", inside], capture_output=True, text=True, check=True).stdout
    full = "0 The disk is full: the last entry was not written to /mnt/j.sqlite."
    assert said.strip() == ("1 acknowledged" if kept else full)
