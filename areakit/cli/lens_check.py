"""``areakit lens-check``: learn a camera's lens from photos of one printed sheet, and keep it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from areakit.cli.command import JOURNAL, PHOTO, Command
from areakit.cli.desk import desk_options
from areakit.cli.photo import sheet_options

if TYPE_CHECKING:
    from areakit.imaging.lens_fit import FittedLens
    from areakit.service.desk import Desk


@click.command("lens-check", cls=Command, exits={**PHOTO, **JOURNAL})
@click.argument("photos", nargs=-1, type=click.Path(path_type=Path))
@sheet_options()
@click.option("--try", "only_try", is_flag=True, help="Show what the photos say of the lens, and keep nothing.")
@desk_options
def command(
    photos: tuple[Path, ...], check_lengths: str | None, copy_name: str | None, only_try: bool, desk: Desk,
) -> None:  # fmt: skip
    """Learn the lens of one camera from 8 to 12 PHOTOS of one printed sheet; without PHOTOS, show what is kept.

    Tape the sheet (no part on it) flat to a board. Take two photos straight above and the others tilted by 15 to 25
    degrees, each to another side; turn the sheet by a quarter between them; let the ring fill the picture, and touch
    its corners in some. Same lens, no zoom. The original files are needed: they name the camera. areakit measure uses
    the lens for photos of this camera where a printed scale sheet is the mark, and says so.

    \b
    Example:
      areakit lens-check lens/
    """
    from areakit.errors import InputError
    from areakit.service.lens import check_lens, keep_lens, list_lenses
    from areakit.service.measure import photos_in, read_check_lengths
    from areakit.service.trust import copy_check

    if not photos:
        for one in list_lenses(desk):
            lens = one.lens
            click.echo(
                f"{lens.key}: {lens.photos} photos of {one.sheet}, {one.rms_px:.2f} px, {lens.date} by {one.who}"
            )
        return
    reading = read_check_lengths(check_lengths) if check_lengths else None
    if reading is None and copy_name:
        reading = copy_check(desk, copy_name)[0].reading
    paths = photos_in(photos)
    if len({path.name for path in paths}) < len(paths):
        raise InputError("A photo is named twice.", remedy="Name each photo once.")
    found = check_lens(paths, reading=reading)
    for name, error in found.left_out:
        click.echo(f"left out: {name}: {error.in_shell}", err=True)
    click.echo("\n".join(lens_text(found.fitted)))
    if only_try:
        return
    keep_lens(desk, found)
    click.echo("Kept. areakit measure uses it for photos of this camera; --no-lens leaves it alone.")


def lens_text(fitted: FittedLens) -> list[str]:
    """Return what a person reads about a lens."""
    lens, spread = fitted.lens, fitted.spread
    open_focal = 200 * lens.covariance[0][0] ** 0.5
    focal, x, y, k1, k2, p1, p2, k3 = lens.mean
    tilts = fitted.tilts_deg
    return [
        f"{lens.key}: lens from {lens.photos} photos, tilts {min(tilts):.0f}° to {max(tilts):.0f}°, corners miss by "
        f"{max(fitted.rms_px):.2f} px rms at most.",
        f"  focal length  {100 * focal:+.2f} % from what the file states, in the next photo ± {open_focal:.2f} % "
        f"(k = 2); {100 * spread[0]:.2f} % from shot to shot",
        f"  centre        {x:+.1f}, {y:+.1f} px from the middle; {max(spread[1:3]):.1f} px from shot to shot",
        f"  distortion    k1 {k1:+.4f}, k2 {k2:+.4f}, k3 {k3:+.4f}, p1 {p1:+.5f}, p2 {p2:+.5f}",
        f"  sheet copy    {100 * fitted.print_ratio:+.3f} % longer along x than along y",
    ]
