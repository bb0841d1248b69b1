"""Batches: parallel, resumable, one bad photo or one dead worker costs one row."""

import csv
import functools
import io
import itertools
import json
import os
import signal
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from areakit.cli.measured_text import measured_text
from areakit.datafiles import data_dir
from areakit.errors import FileError, InputError, MarkNotFound, WorkerLost
from areakit.executors import Finished, run_each, run_on_processes
from areakit.imaging.left_out import LeftOut
from areakit.records.batch_log import BatchLog, BatchRow
from areakit.records.batch_table import summary_csv, totals
from areakit.service.batch import LOG, OVERLAYS, SUMMARY, BatchRequest, BatchStep, row_text, run_batch, totals_text
from areakit.service.measure import MeasureRequest, measure, result_json
from areakit.service.measure_many import Item, measure_many
from areakit.service.measured_overlay import overlay_names
from tests.service.mortal import square_or_die

DEMO = data_dir("demo_images")
PIERCED, FOIL, CROSSING = (DEMO / f"{name}.jpg" for name in ("pierced-badge", "foil-shape", "refused-crossing"))
REQUEST = MeasureRequest(thickness="1 mm", faces="all")


# Executors


def outcomes(finished: Iterable[Finished[int]], items: list[int]) -> list[int | str]:
    found: dict[int, int | str] = {}
    for one in finished:
        assert one.index not in found, "an item came twice"
        found[one.index] = one.value if one.error is None else type(one.error).__name__
    return [found[i] for i in range(len(items))]


def test_a_worker_that_dies_takes_only_its_own_item_with_it() -> None:
    items = [1, 2, -1, 13, 4, -2, *range(20, 40)]
    right = ["BrokenProcessPool" if n < 0 else "ValueError" if n == 13 else n * n for n in items]
    assert outcomes(run_on_processes(square_or_die, enumerate(items), workers=2), items) == right


def test_no_more_items_are_handed_over_than_asked() -> None:
    taken: list[int] = []

    def items() -> Iterator[tuple[int, int]]:
        for number in range(50):
            taken.append(number)
            yield number, number

    with ThreadPoolExecutor(2) as pool:
        finished = run_each(square_or_die, items(), executor=pool, ahead=3)
        next(finished)
        assert len(taken) <= 3
        assert len(list(finished)) == 49


def test_errors_come_back_whole_from_a_worker() -> None:
    import pickle

    error = MarkNotFound("No mark.", remedy="Use one.", code="BLURRED")
    back = pickle.loads(pickle.dumps(error))
    assert (type(back), str(back), back.code) == (MarkNotFound, "No mark. Use one.", "BLURRED")


# Many photos


@pytest.mark.thorough
def test_processes_threads_and_this_process_give_the_same_results(tmp_path: Path) -> None:
    photos = [PIERCED, CROSSING, tmp_path / "gone.jpg"]
    items = [Item(photo=photo) for photo in photos]
    alone = [result_json(result) for result in measure(photos, REQUEST)]

    def lines(found: Iterable) -> list:
        return [result_json(done.result) for _, done in sorted(found, key=lambda one: one[0])]

    assert lines(measure_many(items, REQUEST, workers=2)) == alone
    assert lines(measure_many(items, REQUEST)) == alone
    with ThreadPoolExecutor(2) as threads:
        assert lines(measure_many(items, REQUEST, executor=threads)) == alone


def test_a_defect_in_one_of_several_photos_is_one_refusal(monkeypatch: pytest.MonkeyPatch) -> None:
    import areakit.service.measure_many as module

    real = module.measure

    def broken(paths: list[Path], request: MeasureRequest) -> Iterator:
        if paths == [PIERCED]:
            raise MemoryError
        return real(paths, request)

    monkeypatch.setattr(module, "measure", broken)
    (_, first), (_, second) = measure_many([Item(photo=PIERCED), Item(photo=CROSSING)], REQUEST)
    assert isinstance(first.result.error, WorkerLost)
    assert "MemoryError" in str(first.result.error)
    assert second.result.error is not None
    assert second.result.error.code == "PART_CROSSES_EDGE"
    with pytest.raises(MemoryError):
        list(measure_many([Item(photo=PIERCED)], REQUEST))


@pytest.mark.parametrize("error", [FileNotFoundError(2, "No such file or directory"), ImportError("no semaphores")])
def test_without_memory_to_share_photos_are_measured_one_by_one_with_a_word(
    error: Exception, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    """Locks of processes live in ``/dev/shm``; a container may have none (shm_overview, Linux manual, section 7)."""
    from multiprocessing.context import BaseContext

    def no_lock(self: object) -> None:
        raise error

    monkeypatch.setattr(BaseContext, "Lock", no_lock)
    found = list(measure_many([Item(photo=PIERCED), Item(photo=CROSSING)], REQUEST, workers=2))
    assert [done.result.error is None for _, done in found] == [True, False]
    assert "one by one" in caplog.text
    assert str(error.strerror if isinstance(error, OSError) else error).lower() in caplog.text


def test_a_wrong_request_stops_before_any_photo() -> None:
    with pytest.raises(InputError, match="side walls"):
        next(measure_many([Item(photo=PIERCED)], MeasureRequest(faces="all")))


def test_overlays_of_photos_with_one_stem_do_not_overwrite_one_another() -> None:
    photos = [Path(name) for name in ("a/x.jpg", "b/x.jpg", "b/X.png", "c/x-2.jpg", "y.jpg")]
    names = overlay_names(photos, taken=["y-overlay.jpg"])
    assert names[0] == "x-overlay.jpg"
    assert names[-1] == "y-2-overlay.jpg"
    assert len({name.casefold() for name in names}) == len(photos)


# The folder of results


def small(path: Path, photo: Path = PIERCED, *, quality: int = 92) -> Path:
    """A demo photo at a third of its size: quick to measure."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with Image.open(photo) as image:
        image.reduce(2).save(path, quality=quality)
    return path


@pytest.fixture(scope="module")
def shots(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    folder = tmp_path_factory.mktemp("shots")
    good = [small(folder / "a" / "x.jpg"), small(folder / "b" / "x.jpg", FOIL)]
    text = folder / "text.jpg"
    text.write_text("no picture", encoding="utf-8")
    cut = folder / "cut.jpg"
    cut.write_bytes(good[0].read_bytes()[:-9000])
    return [*good, small(folder / "crossing.jpg", CROSSING), text, cut]


def batch(photos: list[Path], folder: Path, **more: object) -> list[BatchStep]:
    return list(run_batch(BatchRequest(photos=tuple(photos), request=REQUEST, folder=folder), **more))  # type: ignore[arg-type]


def test_a_batch_keeps_rows_table_overlays_and_contact_sheet(shots: list[Path], tmp_path: Path) -> None:
    steps = batch([*shots, shots[0]], tmp_path)  # one named twice is measured once
    assert [step.done for step in steps] == [1, 2, 3, 4, 5]
    rows = [step.row for step in steps]
    by_status = Counter(row.answer["status"] for row in rows)
    assert by_status == {"measured": 2, "refused": 3}
    assert all(row_text(row).count("\n") == 0 for row in rows)
    assert "5 photos: 2 measured, 3 refused; 2 parts" in totals_text(rows)
    pictures = sorted(path.name for path in (tmp_path / OVERLAYS).iterdir())
    assert pictures == ["crossing-overlay.jpg", "x-2-overlay.jpg", "x-overlay.jpg"]
    with Image.open(tmp_path / "contact-sheet-1.jpg") as sheet:
        assert sheet.width > 4 * 400
    table = list(csv.DictReader(io.StringIO((tmp_path / SUMMARY).read_text(encoding="utf-8-sig"))))
    assert [line["status"] for line in table[:-1]] == [row.answer["status"] for row in rows]
    parts = [part for row in rows for part in row.answer["parts"]]
    plain_sum = sum(part["plated_area"]["value"] for part in parts)
    assert float(table[-1]["plated_area_mm2"]) == pytest.approx(plain_sum, abs=0.01)
    # The stated sum is never better than independent photos would make it, nor worse than all moving as one.
    expanded = [part["plated_area"]["expanded_uncertainty"] for part in parts]
    stated = float(table[-1]["plated_area_U_mm2"])
    assert sum(u * u for u in expanded) ** 0.5 - 0.01 <= stated <= sum(expanded) + 0.01


@pytest.mark.thorough
def test_a_rerun_measures_only_what_is_missing_or_changed(shots: list[Path], tmp_path: Path) -> None:
    folder = tmp_path / "results"
    first = batch(shots[:3], folder)
    again = batch(shots[:3], folder)
    assert [step.known for step in again] == [True] * 3
    assert [step.row for step in again] == [step.row for step in first]
    changed = tmp_path / "moved" / "x.jpg"
    changed.parent.mkdir()
    changed.write_bytes(shots[0].read_bytes())
    assert [step.known for step in batch([changed], folder)] == [True], "only name and content count"
    changed.write_bytes(shots[1].read_bytes()[:-2] + b"\xff\xd9\x00")
    assert [step.known for step in batch([changed], folder)] == [False]
    (folder / OVERLAYS / str(first[2].row.overlay)).unlink()
    assert [step.known for step in batch(shots[:3], folder)] == [True, True, False]
    other = BatchRequest(photos=(shots[2],), request=MeasureRequest(thickness="2 mm"), folder=folder)
    assert [step.known for step in run_batch(other)] == [False]


def wait_until_gone(group: int) -> None:
    for _ in range(100):
        try:
            os.killpg(group, 0)
        except ProcessLookupError:
            return
        time.sleep(0.05)
    raise AssertionError("a worker outlived its parent")


@pytest.mark.thorough
def test_a_batch_that_was_killed_goes_on_where_it_stopped(shots: list[Path], tmp_path: Path) -> None:
    photos = tmp_path / "photos"
    for number in range(6):
        small(photos / f"{number}.jpg", FOIL if number % 2 else PIERCED, quality=95 - number)
    folder = tmp_path / "results"
    command = [sys.executable, "-m", "areakit", "measure", str(photos), "--results", str(folder), "--jobs", "2"]
    running = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, cwd=DEMO.parent, start_new_session=True)
    assert running.stdout is not None
    printed = [running.stdout.readline() for _ in range(2)]
    running.kill()
    running.communicate()
    wait_until_gone(running.pid)
    with (folder / LOG).open("ab") as log:
        log.write(b'{"schema": "areakit.batch/1", "photo": "5.j')  # a row cut off by the kill
    kept = {row.photo for row in BatchLog(folder / LOG).rows()}
    assert {line.split(":")[0] for line in printed} <= kept, "a printed result was lost"
    done = subprocess.run(
        [*command[:-1], "1"], capture_output=True, text=True, check=False, cwd=DEMO.parent, timeout=60
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.count("(known)") == len(kept)
    rows = BatchLog(folder / LOG).rows()
    assert sorted(row.photo for row in rows) == [f"{n}.jpg" for n in range(6)], "one row each, none lost, none doubled"


def test_a_log_that_is_none_is_refused_and_left_alone(tmp_path: Path, shots: list[Path]) -> None:
    (tmp_path / LOG).write_text("my own notes\n", encoding="utf-8")
    with pytest.raises(FileError, match="not the log of a batch"):
        batch(shots[:1], tmp_path)
    assert (tmp_path / LOG).read_text(encoding="utf-8") == "my own notes\n"


@pytest.mark.thorough
def test_a_row_that_points_out_of_the_folder_is_not_taken(tmp_path: Path, shots: list[Path]) -> None:
    (step,) = batch(shots[:1], tmp_path)
    line = json.loads((tmp_path / LOG).read_text(encoding="utf-8"))
    outside = json.dumps({**line, "overlay": "../../x.jpg"})
    (tmp_path / LOG).write_text(json.dumps(line) + "\n" + outside + "\n", encoding="utf-8")
    assert BatchLog(tmp_path / LOG).rows() == [step.row]


def test_a_file_name_cannot_become_a_formula_of_a_spreadsheet(tmp_path: Path) -> None:
    row = BatchRow(
        photo="=cmd|' /C calc'!A0.jpg", sha256=None, settings="", overlay=None, exit_code=2,
        answer={"photo": "", "status": "refused", "flags": [], "scale": None, "parts": []},
    )  # fmt: skip
    (line, last) = csv.DictReader(io.StringIO(summary_csv([row])))
    assert line["photo"].startswith("'=")
    assert last["status"] == "0 measured, 1 refused"
    assert totals([row]).value == 0.0


def test_what_was_left_out_is_said_beside_every_total() -> None:
    """Two crossed the edge and one could not be measured: the row, the batch and the printed result all say so."""
    (result,) = measure([PIERCED], REQUEST)
    assert result.found is not None
    assert "without" not in "\n".join(measured_text(result)[:3])
    out = LeftOut(ring_px=np.zeros((4, 2)), reason="it crosses")
    short = replace(result, found=replace(result.found, left_out=(out,) * 3))
    assert "1 part without 3 regions" in measured_text(short)[0]
    pair = replace(short, parts=(short.parts[0], short.parts[0]))
    assert any("all without 3 regions" in line for line in measured_text(pair))
    body = {"photo": "x.jpg", "sha256": None, "settings": "", "overlay": None, "exit_code": 0}
    whole, less = (BatchRow(**body, answer=result_json(one)) for one in (result, short))
    assert [row.answer["regions_left_out"] for row in (whole, less)] == [0, 3]
    assert "without" not in row_text(whole) + totals_text([whole])
    assert "without 3 regions" in row_text(less)
    assert "without 3 regions, together" in totals_text([whole, less])
    last = [list(csv.DictReader(io.StringIO(summary_csv(rows))))[-1]["photo"] for rows in ([whole], [whole, less])]
    assert last == ["total of 1 photo", "total of 2 photos without 3 regions"]


# Any executor: an existing distributed engine


def slow_measure(item: Item, *, request: MeasureRequest, marks: Path) -> dict:
    """Measure one photo and leave a trace of each try."""
    with (marks / f"{item.photo.stem}.tries").open("a", encoding="utf-8") as file:
        file.write(f"{os.getpid()}\n")
    time.sleep(0.15)
    return result_json(next(measure([item.photo], request)))


@pytest.mark.slow
def test_a_distributed_engine_serves_unchanged_and_a_killed_worker_loses_nothing(tmp_path: Path) -> None:
    distributed = pytest.importorskip("distributed")
    marks = tmp_path / "tries"
    marks.mkdir()
    photos = [small(tmp_path / f"{number}.jpg") for number in range(12)]
    right = {**result_json(next(measure(photos[:1], REQUEST))), "photo": ""}
    run = functools.partial(slow_measure, request=REQUEST, marks=marks)
    settings = {"distributed.admin.log-format": "%(message)s", "logging.distributed": "critical"}
    import dask

    with (
        dask.config.set(settings),
        distributed.LocalCluster(
            n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None, silence_logs=50
        ) as cluster,
        distributed.Client(cluster) as client,
    ):
        executor = client.get_executor()
        finished = run_each(run, [(i, Item(photo=p)) for i, p in enumerate(photos)], executor=executor, ahead=8)
        found = list(itertools.islice(finished, 2))
        victim = next(iter(client.run(os.getpid).values()))
        os.kill(victim, signal.SIGKILL)
        found += list(finished)
    assert sorted(one.index for one in found) == list(range(12)), "one outcome each"
    assert [one.error for one in found] == [None] * 12
    assert all({**one.value, "photo": ""} == right for one in found if one.value)
    pids = [pid for path in marks.iterdir() for pid in path.read_text(encoding="utf-8").split()]
    assert str(victim) in pids, "the killed worker had taken part"
