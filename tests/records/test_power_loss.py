"""What was acknowledged survives a loss of power at any moment, and the clock, a copy and read-only disks are told."""

import random
import shutil
import sys
import textwrap
from pathlib import Path

import pytest

from areakit.records.journal import Journal
from tests.records.power_loss import Disk, Step, traced

ROOT = Path(__file__).resolve().parents[2]
WRITER = textwrap.dedent(
    """
    import sys
    from pathlib import Path
    sys.path.insert(0, {root!r})
    from areakit.records.journal import Journal
    for turn in range({turns}):
        with Journal(Path({path!r})) as journal:
            for n in range({entries}):
                event = journal.append("job", str(n), "remarked", at="2026-03-14T09:30:00+01:00", who="Ana",
                                       doc={{"n": n, "filler": "word " * (n % 4) * 900}})
                sys.stdout.write(event.id)
                sys.stdout.flush()
    """
)

needs_strace = pytest.mark.skipif(shutil.which("strace") is None, reason="strace is not installed")


def steps_of(folder: Path, *, turns: int, entries: int) -> list[Step]:
    path = folder / "deep" / "down" / "j.sqlite"
    script = WRITER.format(root=str(ROOT), path=str(path), turns=turns, entries=entries)
    log = folder / "trace"
    return [s for s in traced([sys.executable, "-c", script], log) if s.kind == "said" or str(folder) in s.path]


def lost_after(files: dict[str, bytes], said: bytes, origin: Path, folder: Path) -> set[str]:
    """Put the files of one state into a folder, open the journal as areakit does, and return what is missing."""
    wanted = {said[i : i + 32].decode() for i in range(0, len(said) - 31, 32)}
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir()
    for name, data in files.items():
        target = folder / Path(name).relative_to(origin)
        target.parent.mkdir(parents=True, exist_ok=True)
        if not target.name.endswith("-shm"):
            target.write_bytes(data)
    with Journal(folder / "deep" / "down" / "j.sqlite") as journal:
        assert journal.faults() == ()
        return wanted - {event.id for event in journal.every_event()}


def lose_power(folder: Path, steps: list[Step], *, states: int, seed: int) -> int:
    """Lose power after random calls; return the number of states that were opened."""
    rng, opened = random.Random(seed), 0
    ends = sorted(rng.choices(range(len(steps) + 1), k=states))
    disk, done = Disk(), 0
    for end in ends:
        for step in steps[done:end]:
            disk.take(step)
        done = end
        state = disk.after_power_loss(rng)
        lost = lost_after(state, disk.said, folder, folder / "after")
        assert not lost, f"{len(lost)} acknowledged entries lost after call {end} of {len(steps)}"
        opened += 1
    return opened


@needs_strace
def test_no_acknowledged_entry_is_lost_with_the_power(tmp_path: Path) -> None:
    steps = steps_of(tmp_path, turns=2, entries=6)
    assert sum(len(step.data) for step in steps if step.kind == "said") == 12 * 32
    assert lose_power(tmp_path, steps, states=60, seed=1) == 60


@needs_strace
@pytest.mark.slow
def test_two_thousand_losses_of_power_lose_nothing(tmp_path: Path) -> None:
    steps = steps_of(tmp_path, turns=3, entries=40)
    print(lose_power(tmp_path, steps, states=2000, seed=2), "states after", len(steps), "calls")


@needs_strace
def test_a_writer_that_does_not_sync_is_caught(tmp_path: Path) -> None:
    """The yardstick itself: without the calls that sync, the same trace must lose entries."""
    steps = [step for step in steps_of(tmp_path, turns=1, entries=6) if step.kind != "synced"]
    with pytest.raises(AssertionError, match=r"acknowledged entries lost|page check"):
        lose_power(tmp_path, steps, states=60, seed=1)
