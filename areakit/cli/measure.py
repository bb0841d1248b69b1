"""``areakit measure``: photos in, areas out."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from areakit.cli.command import JOURNAL, OUTPUT_OR_FOLDER, STOPPED, Command
from areakit.cli.entries import refuse_typed, save_json, save_option
from areakit.cli.options import options_of, said
from areakit.cli.photo import copy_option
from areakit.errors import FileError
from areakit.service.asked import asked_of
from areakit.service.measure_request import MeasureRequest

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from areakit.records.batch_log import BatchRow
    from areakit.service.batch import BatchRequest
    from areakit.service.measure import MeasureResult
    from areakit.service.measure_many import ItemResult
    from areakit.service.photo_list import Listed

UNREADABLE, REFUSED = 2, 3
_COLUMNS = ", ".join(name.replace("_", " ") for name, one in asked_of(MeasureRequest).items() if one.about.each)


@click.command(cls=Command, exits={0: "measured", 3: "at least one photo is refused, all others are done", **JOURNAL})
@click.argument("photos", nargs=-1, metavar="PHOTO...", type=click.Path(path_type=Path))
@options_of(MeasureRequest)
@copy_option
@click.option("--mark-at", metavar="X,Y", help="Where the coin or card lies, in pixels of the upright photo.")
@click.option(
    "--same-parts",
    is_flag=True,
    help="Both PHOTOs show the same parts, the sheet turned by a quarter: hold them against each other, measure once.",
)
@click.option(
    "--side",
    metavar="PHOTO",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Second photo of a domed part, standing on its edge: gives its rise. Example: --side dome-side.jpg",
)
@click.option("--no-lens", is_flag=True, help="Leave the stored lens of the camera alone (areakit lens-check).")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON object a photo, one a line: mm2, mm.")
@save_option
@click.option(
    "--overlay",
    metavar="PATH",
    type=OUTPUT_OR_FOLDER,
    help="Write the photo with what was found; a folder for many.",
)
@click.option(
    "--results",
    metavar="FOLDER",
    type=click.Path(path_type=Path, file_okay=False),
    help="Keep the results of many photos here: summary.csv with totals, overlays, contact sheets. Run it again and "
    "only photos that are new or changed are measured.",
)
@click.option(
    "--table",
    metavar="FILE",
    type=click.Path(path_type=Path, dir_okay=False),
    help="Instead of PHOTOs, for --results: CSV with the columns photo, "
    f"{_COLUMNS}, pieces; an empty cell is as said for all.",
)
@click.option(
    "--jobs", type=click.IntRange(1, 256), metavar="N", help="Photos measured at once; one a core by default."
)
def command(
    photos: tuple[Path, ...],
    copy_name: str | None,
    mark_at: str | None,
    same_parts: bool,
    side: Path | None,
    no_lens: bool,
    as_json: bool,
    save: Path | None,
    overlay: Path | None,
    results: Path | None,
    table: Path | None,
    jobs: int | None,
    **entries: Any,
) -> None:
    """Measure the plated area of the parts in each PHOTO (or in all photos of a folder).

    The photo shows the part on a printed scale sheet (areakit sheet), or on a plain sheet of A4 or Letter paper with
    all four edges in view, or beside another mark that --mark names; a flat-bed scan needs none. Areas come with
    their expanded uncertainty (coverage factor 2).

    \b
    Examples:
      areakit measure badge.jpg --thickness "1.2 mm" --faces all --check-lengths "200.2 x 119.9 mm"
      areakit measure knob.jpg --form turned
      areakit measure brooch.jpg --thickness "1.2 mm" --part "2: form round, ends flat"
      areakit measure leaf.jpg --thickness "0.8 mm" --region "rectangle 4 x 30 mm, at 80 52 mm: form round, ends flat"
      areakit measure coins.jpg --mark A4 --thickness "1.7 ± 0.3 mm" --json
      areakit measure badge.jpg --mark "coin:25.75 mm" --mark-at 445,495 --thickness "1.2 mm"
      areakit measure one.jpg turned.jpg --same-parts --thickness "1.2 mm"
      areakit measure photos/ --thickness "1.2 mm" --faces all --results monday/
      areakit measure --table monday.csv --results monday/
    """
    import json

    from areakit.cli.desk import known_copy, known_lenses
    from areakit.cli.measured_text import measured_text, overlay_paths
    from areakit.cli.progress import Progress
    from areakit.service.batch import BatchRequest
    from areakit.service.measure import result_json
    from areakit.service.measure_many import Item, measure_many

    if entries["check_lengths"]:
        refuse_typed("copy_name", why="and --check-lengths say the same of the sheet", remedy="Give one of them.")
    if results is not None:
        refuse_typed("overlay", why="is about photos without --results, which has overlays of its own")
    if same_parts:
        refuse_typed("results", "jobs", why="is about photos that are measured each by itself")
    known = known_copy(copy_name) if copy_name and not entries["check_lengths"] else None
    if mark_at:
        mark = entries["mark"] or "auto"
        if not mark.startswith(("coin", "card")):
            refuse_typed("mark_at", why="is about a coin or a card", remedy="Name it: --mark coin:eur-1.")
        entries["mark"] = f"{mark}@{mark_at}"
    request = MeasureRequest(
        **said(entries),
        reading=known.reading if known else None,
        lenses=() if no_lens else known_lenses(),
    )
    listed = _listed(photos, table, results)
    _keep_apart(listed, table, save=save, results=results)
    if side is not None:
        request = _with_side(listed, side, request)
    if same_parts:
        paths = [one.photo for one in listed]
        from areakit.cli.same_parts import measure_together

        sys.exit(measure_together(paths, request, known, overlay=overlay, as_json=as_json, save=save))
    listed = _sorted_out(listed)
    if results is not None:
        batch = BatchRequest(table=listed, request=request, folder=results, copy_check=known)
        sys.exit(_batch(batch, workers=jobs, as_json=as_json, save=save))
    paths = [one.photo for one in listed]
    items = [Item(photo=p, overlay=o) for p, o in zip(paths, overlay_paths(overlay, paths), strict=True)]
    answers, exit_code = [], 0
    with Progress(len(items)) as progress:
        finished = measure_many(items, request, copy_check=known, workers=jobs)
        for result in _in_order(progress.counting(finished)):
            answers.append(result_json(result))
            text = json.dumps(answers[-1], ensure_ascii=False) if as_json else "\n".join(measured_text(result))
            progress.say(text, err=result.error is not None and not as_json)
            exit_code = _worst(exit_code, result.error.exit_code if result.error else 0)
    save_json(save, answers)
    sys.stdout.flush()
    sys.exit(exit_code)


def _keep_apart(listed: tuple[Listed, ...], table: Path | None, *, save: Path | None, results: Path | None) -> None:
    """Refuse to write over a photo that only a table names, and over what a batch keeps."""
    from areakit.output import keep_apart
    from areakit.service.batch import LOG, SUMMARY

    kept = [results / LOG, results / SUMMARY] if results is not None else []
    written = [*kept, *([save] if save is not None else [])]
    keep_apart(written, [*(one.photo for one in listed), *([table] if table is not None else [])])


def _with_side(listed: tuple[Listed, ...], side: Path, request: MeasureRequest) -> MeasureRequest:
    """Return the request with the rise that the second photo shows."""
    from areakit.service.side_photo import with_rise

    if len(listed) != 1:
        raise click.UsageError("A photo from the side goes with one photo from above.")
    return with_rise(listed[0].photo, side, request)


def _listed(photos: tuple[Path, ...], table: Path | None, results: Path | None) -> tuple[Listed, ...]:
    """Return the photos that were named, or those of a table."""
    from areakit.service.measure import photos_in
    from areakit.service.photo_list import Listed, read_table

    if bool(photos) == (table is not None):
        raise click.UsageError("Name photos, or give a table of photos with --table; one of the two.")
    if table is None:
        return tuple(Listed(photo=path) for path in photos_in(photos))
    if results is None:
        raise click.UsageError("A table of photos needs a folder for the results: --results FOLDER.")
    return read_table(table)


def _sorted_out(listed: tuple[Listed, ...]) -> tuple[Listed, ...]:
    """Leave out what is no photo of its own, with a word; a single photo is read in any case, and says why not."""
    from areakit.service.photo_list import sorted_out

    if len(listed) == 1:
        return listed
    kept, left_out = sorted_out(listed)
    for one in left_out:
        click.echo(f"{one.photo}: left out, {one.why}.", err=True)
    return kept


def _in_order(finished: Iterable[tuple[int, ItemResult]]) -> Iterator[MeasureResult]:
    """Yield results in the order of the photos, each as soon as those before it are there."""
    early: dict[int, MeasureResult] = {}
    following = 0
    for index, done in finished:
        early[index] = done.result
        while following in early:
            yield early.pop(following)
            following += 1


def _batch(batch: BatchRequest, *, workers: int | None, as_json: bool, save: Path | None) -> int:
    """Measure into a folder of results; one line a photo as it finishes. Return the exit code."""
    import json

    from areakit.cli.progress import Progress
    from areakit.service.batch import row_text, run_batch, totals_text

    rows, exit_code, of = [], 0, len(batch.listed)
    try:
        with Progress(of) as progress:
            for step in run_batch(batch, workers=workers):
                row = step.row
                rows.append(row)
                progress.count(step.done, step.of, quick=step.known)
                text = json.dumps(row.answer, ensure_ascii=False) if as_json else row_text(row)
                progress.say(text + (" (known)" if step.known and not as_json else ""))
                exit_code = _worst(exit_code, row.exit_code)
    except KeyboardInterrupt:
        click.echo(f"areakit: Stopped; {_kept(rows, of, batch.folder)}", err=True)
        return STOPPED
    except FileError as error:
        if not rows:
            raise
        click.echo(f"areakit: {error.message} {_kept(rows, of, batch.folder)}", err=True)
        return error.exit_code
    save_json(save, (row.answer for row in rows))
    click.echo(f"{totals_text(rows)}. Table, overlays and contact sheets: {batch.folder}", err=as_json)
    return exit_code


def _kept(rows: list[BatchRow], of: int, folder: Path) -> str:
    """Say how to go on after a stop."""
    return f"{len(rows)} of {of} photos are kept in {folder}. Run the same command again to measure the others."


def _worst(before: int, now: int) -> int:
    """Unreadable input weighs more than a refused photo."""
    if now == 0 or before == UNREADABLE:
        return before
    return UNREADABLE if now == UNREADABLE else REFUSED
