"""Options of commands that take a photo, or what was measured in one, and predict the distribution over its parts."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from areakit.cli.command import OUTPUT
from areakit.cli.entries import read_text, refuse_typed
from areakit.cli.options import Decorator, all_of, example_of, option_of, options_of, said
from areakit.errors import InputError
from areakit.service.asked import asked_of
from areakit.service.measure_request import MeasureRequest
from areakit.service.surface_request import SurfaceRequest

if TYPE_CHECKING:
    from areakit.plating.spread import Spread
    from areakit.service.plan_request import SpreadRequest

PHOTO_OPTIONS = {name if name != "metal" else "metal_at": one for name, one in asked_of(MeasureRequest).items()}
"""Entries that say how to measure a photo, and the fields of a request that they are; ``metal`` alone is a metal."""
OF_A_PHOTO = ("mark", "check_lengths", "edge_make", "parts", "holes", "metal_at")
"""Entries that say nothing of a drawing or of typed shapes."""
NO_PHOTO = "is about a photo, and there is none"
copy_option = click.option(
    "--sheet-copy",
    "copy_name",
    metavar="NAME",
    envvar="AREAKIT_SHEET_COPY",
    help="Sheet copy whose check lengths are in the journal (areakit sheet-check). [env: AREAKIT_SHEET_COPY]",
)


def photo_options(request: type) -> Decorator:
    """Add a positional PHOTO, and how to measure it, as ``areakit measure`` has them; a drawing may stand for it.

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
    shape = click.option(
        "--shape",
        multiple=True,
        metavar="TEXT",
        help='Typed shape, as for surface. Example: --shape "ring 30 x 12 x 2 mm"',
    )
    unit = option_of(asked_of(SurfaceRequest)["unit"], "unit")
    return all_of(photo, options_of(MeasureRequest, but=("parts", "metal")), copy_option, part, shape, unit)


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
    """Add the check lengths of the printed sheet, typed or by the name of a sheet copy that was checked before."""
    return all_of(options_of(MeasureRequest, "check_lengths"), copy_option)


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


def has_outline(entries: Mapping[str, Any]) -> bool:
    """Tell whether a drawing or a shape takes the place of a photo."""
    photo = entries.get("photo")
    if photo is None or entries.get("shape"):
        return bool(entries.get("shape"))
    from areakit.geometry.readers.reader import is_drawing

    return is_drawing(Path(photo))


def take_measured(entries: dict[str, Any]) -> str | None:
    """Take photo, drawing, shapes and file out of what was typed, and return what the measurement of them prints.

    AreakitError if the photo is refused, or there is a photo and a file.
    """
    outlined, shapes, unit = has_outline(entries), entries.pop("shape", ()), entries.pop("unit", None)
    if outlined:
        return _surfaces_text(entries, shapes=tuple(shapes), unit=unit)
    refuse_typed("unit", why="is about a drawing, and there is none")
    photo, source, copy_name = (entries.pop(name) for name in ("photo", "measured", "copy_name"))
    said = {name: entries.pop(name, None) or None for name in PHOTO_OPTIONS}
    if photo is None:
        refuse_typed("copy_name", why=NO_PHOTO)
        strange = [name for name, value in said.items() if value is not None]
        if strange:
            raise InputError(
                f"{PHOTO_OPTIONS[strange[0]].option} {NO_PHOTO}.",
                remedy="Name a photo, or give the option to areakit measure.",
            )
        return read_text(source)
    if source is not None:
        raise InputError("There is a photo and a file with a measurement.", remedy="Give one of them.")
    from areakit.cli.desk import known_copy, known_lenses
    from areakit.service.measure_many import measured_photo

    given = {PHOTO_OPTIONS[name].name: value for name, value in said.items() if value is not None}
    if said["check_lengths"]:
        refuse_typed("copy_name", why="and --check-lengths say the same of the sheet", remedy="Give one of them.")
    known = known_copy(copy_name) if copy_name and not said["check_lengths"] else None
    request = MeasureRequest(**given, reading=known.reading if known else None, lenses=known_lenses())
    return measured_photo(photo, request, copy_check=known)


def _surfaces_text(entries: dict[str, Any], *, shapes: tuple[str, ...], unit: str | None) -> str:
    """Take the entries of the part out, and return its surfaces as JSON text.

    ``unit`` is that of a drawing which does not state its own. InputError if there is also a photo or a file, or an
    entry that speaks of a photo; AreakitError if the drawing or a shape cannot be read.
    """
    from areakit.service.surface import find_surfaces, surface_json

    drawing, source = entries.pop("photo", None), entries.pop("measured", None)
    entries.pop("copy_name", None)
    refuse_typed("copy_name", why=NO_PHOTO)
    strange = [name for name in OF_A_PHOTO if entries.pop(name, None)]
    if strange:
        raise InputError(
            f"{PHOTO_OPTIONS[strange[0]].option} {NO_PHOTO}.",
            remedy="Leave it out; areakit surface says what else there is to say of a drawing or a shape.",
        )
    if source is not None or (shapes and drawing is not None):
        raise InputError("There are two parts, typed and in a file.", remedy="Give one of them.")
    names = ("thickness", "faces", "form", "edge_form", "regions", "stop_off")
    told = said({name: entries.pop(name, None) for name in names})
    result = find_surfaces(SurfaceRequest(drawing=drawing, shapes=shapes, unit=unit, **told))
    return json.dumps(surface_json(result), ensure_ascii=False)


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
