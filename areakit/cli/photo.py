"""Options of commands that take a photo, or what was measured in one, and predict the distribution over its parts."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from areakit.cli.command import OUTPUT
from areakit.cli.entries import read_text, refuse_typed
from areakit.cli.options import Decorator, all_of, example_of, options_of
from areakit.service.asked import asked_of
from areakit.service.measure_request import MeasureRequest

if TYPE_CHECKING:
    from areakit.plating.spread import Spread
    from areakit.service.plan_request import SpreadRequest

PHOTO_OPTIONS = {name if name != "metal" else "metal_at": one for name, one in asked_of(MeasureRequest).items()}
"""Entries that say how to measure a photo, and the fields of a request that they are; ``metal`` alone is a metal."""
NO_PHOTO = "is about a photo, and there is none"
print_option = click.option(
    "--print",
    "print_name",
    metavar="NAME",
    envvar="AREAKIT_PRINT",
    help="Print of the sheet whose check lengths are in the journal (areakit print-check). [env: AREAKIT_PRINT]",
)


def photo_options(request: type) -> Decorator:
    """Add a positional PHOTO, and how to measure it, as ``areakit measure`` has them.

    ``--part N`` is the part of what is asked for with ``request``; ``--part "N: WORDS"`` says what one has of its own.
    """
    asked = asked_of(MeasureRequest)
    part = click.option(
        "--part",
        multiple=True,
        expose_value=False,
        callback=_chosen_or_described,
        metavar="N|N: WORDS",
        help=f"{asked_of(request)['part'].words} With words: of its own. {example_of(asked['parts'])}",
    )
    photo = click.argument("photo", required=False, type=click.Path(path_type=Path))
    return all_of(photo, options_of(MeasureRequest, but=("parts", "metal")), print_option, part)


def _chosen_or_described(ctx: click.Context, param: click.Parameter, values: tuple[str, ...]) -> None:
    """Take numbers alone for the part that is meant, and numbers with words for what parts have of their own."""
    chosen = [text for text in values if ":" not in text]
    if len(chosen) > 1 or not all(text.strip().isdecimal() and int(text[:9]) > 0 for text in chosen):
        raise click.BadParameter(
            f'{", ".join(chosen)[:40]!r} is not one part: write its number, or "2: thickness 0.3 mm".', ctx, param
        )
    ctx.params["part"] = int(chosen[0]) if chosen else None
    ctx.params["parts"] = tuple(text for text in values if ":" in text)


def sheet_options() -> Decorator:
    """Add the check lengths of the printed sheet, typed or by the name of a print that was checked before."""
    return all_of(options_of(MeasureRequest, "check_lengths"), print_option)


def picture_options() -> Decorator:
    """Add the pictures of the distribution."""
    return all_of(
        click.option(
            "--map",
            "map_path",
            metavar="PATH",
            type=OUTPUT,
            help="Draw the thickness (tank) or the dose (brush) over --part, or the first. Example: --map dose.svg",
        ),
        click.option(
            "--lanes",
            "lanes_path",
            metavar="PATH",
            type=OUTPUT,
            help="Draw the lanes of the brush over it. Example: --lanes lanes.svg",
        ),
    )


def take_measured(entries: dict[str, Any]) -> str | None:
    """Take photo and file out of what was typed, and return what the measurement of either prints.

    Raises
    ------
    AreakitError
        If the photo is refused, or there is a photo and a file.
    """
    from areakit.errors import InputError

    photo, source, print_name = (entries.pop(name) for name in ("photo", "measured", "print_name"))
    said = {name: entries.pop(name, None) or None for name in PHOTO_OPTIONS}
    if photo is None:
        refuse_typed("print_name", why=NO_PHOTO)
        strange = [name for name, value in said.items() if value is not None]
        if strange:
            raise InputError(
                f"{PHOTO_OPTIONS[strange[0]].option} {NO_PHOTO}.",
                remedy="Name a photo, or give the option to areakit measure.",
            )
        return read_text(source)
    if source is not None:
        raise InputError("There is a photo and a file with a measurement.", remedy="Give one of them.")
    from areakit.cli.desk import known_lenses, known_print
    from areakit.service.measured_photo import measured_photo

    given = {PHOTO_OPTIONS[name].name: value for name, value in said.items() if value is not None}
    if said["check_lengths"]:
        refuse_typed("print_name", why="and --check-lengths say the same of the sheet", remedy="Give one of them.")
    known = known_print(print_name) if print_name and not said["check_lengths"] else None
    request = MeasureRequest(**given, reading=known.reading if known else None, lenses=known_lenses())
    return measured_photo(photo, request, print_check=known)


def take_spread(entries: dict[str, Any], *, pictures: bool = False) -> SpreadRequest:
    """Take the options of the distribution out of what was typed."""
    from areakit.service.plan_request import SpreadRequest

    typed = [name for name, one in asked_of(SpreadRequest).items() if one.about.typed]
    return SpreadRequest(**{name: entries.pop(name) for name in typed}, pictures=pictures)


def draw(spread: Spread | None, pictures: Iterable[tuple[str, Path | None]]) -> None:
    """Write the pictures that were asked for."""
    from areakit.cli.entries import write_new

    for what, path in pictures:
        if path is not None and spread is not None:
            from areakit.service.spread import spread_svg

            write_new(path, spread_svg(spread, what).encode())
