"""Options of commands that take a photo, or what was measured in one, and predict the distribution over its parts."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from areakit.cli.command import OUTPUT
from areakit.cli.entries import read_text

if TYPE_CHECKING:
    from areakit.plating.spread import Spread
    from areakit.service.spread import SpreadRequest

FACES = ["one", "both", "all", "front", "back", "walls", "foil"]
FACES_HELP = (
    "What is plated: one (or front, back) face, both faces, the walls, all of these; foil is one face and the cut edge."
)
FORM_HELP = (
    "What the outline is of; flat unless said: round, turned, band, tube, folded, bent, domed, coil, thread, knurl, "
    'reeding, mesh or chain, with its figures. Example: --form "turned, wall 1 mm, open wide"'
)
PART_HELP = 'What one part has of its own. Example: --part "2: thickness 0.3 mm; form round; edge-make cast"'
REGION_HELP = (
    "A region with a form or thickness of its own: a shape or a file of outlines{where}, then its words. "
    'Example: --region "rectangle 3 x 20 mm, at 80 60 mm: form round, ends flat"'
)
EDGE_MAKE_HELP = (
    "How the edge was made, for what no photo shows of it: cut-foil, sawn, sheared, punched, cast, etched, tumbled; "
    "unknown unless said."
)
EDGE_FORM_HELP = (
    "Form of the edges of a flat part, the same on both faces: sharp, rounded with its radius, or unknown; sharp "
    'unless said. Example: --edge-form "rounded 0.5 mm"'
)
PHOTO_OPTIONS = {
    name: name
    for name in ("thickness", "form", "parts", "regions", "faces", "edge_make", "edge_form", "mark", "check_lengths",
                 "holes", "stop_off")
} | {"metal_at": "metal"}  # fmt: skip
"""Entries that say how to measure a photo, and their names in a request."""
SPREAD_OPTIONS = (
    "wagner", "conductivity", "tafel_slope", "contact_corners", "overlap", "overrun", "target_minimum", "lane_scatter",
    "sleeve_thickness",
)  # fmt: skip

Decorator = Callable[[Callable[..., Any]], Callable[..., Any]]


def photo_options(*, part: str) -> Decorator:
    """Add a positional PHOTO, and how to measure it, as ``areakit measure`` has them.

    ``part`` is the help of ``--part N``, which chooses a part; with words, ``--part "N: WORDS"`` describes one.
    """
    return _all(
        click.argument("photo", required=False, type=click.Path(path_type=Path)),
        click.option("--thickness", metavar="T", help='Of the part in PHOTO. Example: --thickness "1.2 ± 0.05 mm"'),
        click.option("--form", metavar="FORM", help=f"Of the part in PHOTO. {FORM_HELP}"),
        click.option("--faces", type=click.Choice(FACES), help=f"{FACES_HELP} Of the part in PHOTO; one unless said."),
        click.option("--edge-make", metavar="NAME", help=f"{EDGE_MAKE_HELP} Of the part in PHOTO."),
        click.option("--edge-form", metavar="FORM", help=EDGE_FORM_HELP),
        click.option(
            "--check-lengths",
            metavar="X x Y",
            help='Of the sheet in PHOTO, as read with a rule. Example: --check-lengths "200.2 x 119.9 mm"',
        ),
        click.option(
            "--print",
            "print_name",
            metavar="NAME",
            envvar="AREAKIT_PRINT",
            help="Print of the sheet in PHOTO, where it was checked before. [env: AREAKIT_PRINT]",
        ),
        click.option(
            "--mark", metavar="MARK", help="Which scale mark in PHOTO to use, as for measure; auto unless said."
        ),
        click.option(
            "--part",
            multiple=True,
            expose_value=False,
            callback=_chosen_or_described,
            metavar="N|N: WORDS",
            help=f"{part} {PART_HELP}",
        ),
        region_option(", in mm of the sheet, or a layer of the drawing"),
        hole_option(),
        stop_off_option(),
    )


def region_option(where: str) -> Callable[[Callable[..., Any]], Callable[..., Any]]:
    """Add regions with a form or a thickness of their own; ``where`` says in which coordinates."""
    words = REGION_HELP.format(where=where)
    return click.option("--region", "regions", multiple=True, metavar="PLACE: WORDS", help=words)


def hole_option() -> Decorator:
    """Add the places that a photo asks about and that are a hole."""
    words = "A place that is a hole: mm of the sheet, or its number."
    return click.option("--hole", "holes", multiple=True, metavar="X,Y|N", help=words)


def metal_option(name: str = "metal") -> Decorator:
    """Add those that are metal."""
    words = "A place that is metal, in the same words."
    return click.option("--metal", name, multiple=True, metavar="X,Y|N", help=words)


def stop_off_option() -> Decorator:
    """Add what is stopped off."""
    return click.option(
        "--stop-off",
        multiple=True,
        metavar="X,Y|N|SHAPE",
        help="A place of another colour that is stopped off on the front, in the same words; or any shape, or a file "
        'of outlines. Example: --stop-off "disk 6 mm, at 104 66 mm"',
    )


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
    return _all(
        click.option(
            "--check-lengths", metavar="X x Y", help="Both check lengths of the sheet, as for areakit measure."
        ),
        click.option(
            "--print",
            "print_name",
            metavar="NAME",
            envvar="AREAKIT_PRINT",
            help="Print that was checked before. [env: AREAKIT_PRINT]",
        ),
    )


def contact_option() -> Decorator:
    """Add the contact of the tool: its area, or its size."""
    return click.option(
        "--contact",
        metavar="AREA|W x L",
        help='Brush: contact of the tool, its area or its size across and along the lanes. Example: --contact "4 cm2" '
        'or "20 x 15 mm"',
    )


def spread_options() -> Decorator:
    """Add what the bench says of the distribution, and the pictures."""
    return _all(
        click.option(
            "--wagner",
            metavar="WA",
            help="Wagner number, how far the bath itself evens out the current, of a tank or of a sleeve of known "
            "thickness; 0, the worst case, unless said. "
            'Example: --wagner "0.1 ± 0.05"',
        ),
        click.option(
            "--conductivity",
            metavar="VALUE",
            help='Tank: of the solution, for the Wagner number. Example: --conductivity "10 ± 2 S/m"',
        ),
        click.option(
            "--tafel-slope",
            metavar="VOLTAGE",
            help='Tank: of the cathode, for a decade of current. Example: --tafel-slope "60 ± 20 mV"',
        ),
        click.option(
            "--contact-corners",
            type=click.Choice(["round", "square"]),
            help="Brush: corners of the contact; round unless said, as a soft sleeve.",
        ),
        click.option(
            "--overlap",
            metavar="SHARE",
            help="Brush: of neighbouring lanes; the evenest for the footprint unless said. Example: --overlap 60%",
        ),
        click.option(
            "--overrun",
            metavar="LENGTH",
            help='Brush: past the edge; half the contact unless said. Example: --overrun "8 mm"',
        ),
        click.option(
            "--target-minimum",
            metavar="RATIO",
            help="Brush: find the overlap whose least dose is this share of the mean. Example: --target-minimum 0.9",
        ),
        click.option(
            "--lane-scatter",
            metavar="LENGTH",
            help="Brush: how far single lanes stray, a standard deviation; a tenth of the footprint's width, 2 mm at "
            'most, unless said; 0 repeats them exactly. Example: --lane-scatter "2 mm"',
        ),
        click.option(
            "--sleeve-thickness",
            metavar="LENGTH",
            help="Brush: of the wet sleeve; adds the build-up along edges, softened by --wagner. "
            'Example: --sleeve-thickness "3 mm"',
        ),
    )


def picture_options() -> Decorator:
    """Add the pictures of the distribution."""
    return _all(
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

    photo, source, print_name = (entries.pop(name) for name in ("photo", "source", "print_name"))
    said = {name: entries.pop(name, None) or None for name in PHOTO_OPTIONS}
    if photo is None:
        strange = [name for name, value in said.items() if value is not None]
        if strange:
            raise InputError(
                f"{option_of(strange[0])} is about a photo, and there is none.",
                remedy="Name a photo, or give the option to areakit measure.",
            )
        return read_text(source)
    if source is not None:
        raise InputError("There is a photo and a file with a measurement.", remedy="Give one of them.")
    from areakit.cli.desk import known_lenses, known_print
    from areakit.service.measure import MeasureRequest
    from areakit.service.measured_photo import measured_photo

    given = {PHOTO_OPTIONS[name]: value for name, value in said.items() if value is not None}
    known = known_print(print_name) if print_name and not said["check_lengths"] else None
    request = MeasureRequest(**given, reading=known.reading if known else None, lenses=known_lenses())
    return measured_photo(photo, request, print_check=known)


def option_of(entry: str) -> str:
    """Return the option that gives an entry of a photo."""
    singular = {"parts": "part", "regions": "region", "holes": "hole", "metal_at": "metal"}
    return f"--{singular.get(entry, entry).replace('_', '-')}"


def take_spread(entries: dict[str, Any], *, pictures: bool = False) -> SpreadRequest:
    """Take the options of the distribution out of what was typed."""
    from areakit.service.spread import SpreadRequest

    return SpreadRequest(**{name: entries.pop(name) for name in SPREAD_OPTIONS}, pictures=pictures)


def draw(spread: Spread | None, pictures: Iterable[tuple[str, Path | None]]) -> None:
    """Write the pictures that were asked for."""
    from areakit.cli.entries import write_new

    for what, path in pictures:
        if path is not None and spread is not None:
            from areakit.service.spread import spread_svg

            write_new(path, spread_svg(spread, what).encode())


def _all(*options: Callable[[Callable[..., Any]], Callable[..., Any]]) -> Decorator:
    def decorate(function: Callable[..., Any]) -> Callable[..., Any]:
        for option in reversed(options):
            function = option(function)
        return function

    return decorate
