"""The summary of the accuracy study as Markdown."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from math import nan

import numpy as np

from calibration.studies.accuracy_rows import GROSS, OUTLINE_FLAGS, Row
from calibration.studies.accuracy_summary import METHODS, SIZES, Aim, Figures, aims, figures, quantiles, strata

METHOD = """\
Made by `python -m calibration.studies.accuracy`: {scenes} simulated photos, seeds {first} to {last}, of which
{measured} were measured and {refused} refused. Seeds below 10000 were used for tuning and are not among them. The truth
is the drawn polygon. Thickness (0.02 mm and 2 %) and check lengths (0.1 mm) were entered wrongly by just the
uncertainty stated for them. These are simulated photos: they hold no burr, no local tone mapping and no lens flare, so
they show what the method can do, not that a certain camera is good."""
WHY = """\
Why some are missed, and what was tried. Errors: on the blue field the first two aims are met, or nearly (see the sets
below). On white and pale sheets grey metal cannot be told from paper and shadow, so each hole in it is asked about
and, while unanswered, counted by half; one such question outweighs hundreds of good edges in a 95 % figure. The
column with answers shows what is left: grey rims on white and pale, a few tenths of a percent each. Metal of a clear
colour is told from paper by that colour, and dark metal from the blue field by the little that it has, so that a
shadow no longer counts as either. The bias of parts of 4 to 6 mm comes from holes in grey metal that are asked about:
it is {hidden:+.2f} % where the number of holes is right. Coverage: the share for burr covers what drawn parts do not
have, so the line without it tells whether the others are true."""
ANSWERED = """\
Found: as measured, nobody asked. Questions answered: what the tool asked about a region (hole or metal) was answered
truly, as by somebody who holds the part, until it asked no more."""
GROUPS = """\
Errors are (measured − true) / true in %. Covered: share of scenes whose truth lies within ± U (k = 2), with its
binomial standard error; without burr: the same if U holds no share for burr, which drawn parts do not have. Silent:
errors of more than three times U without a flag that speaks of the outline."""
GREY_METALS = ("nickel", "silver", "steel")
CARD = """\
Brushed and mirror-like nickel, silver and steel. With the card: seeds from 150000 on, a black card with a hole for the
lens held before the camera, which stands straight above (tilt to 8°); a level face mirrors it, a broken edge and a
wall do not."""
PERIMETER = """\
It weighs with the thickness in the total surface. Teeth and notches a few pixels deep are rounded off in a photo, so
the perimeter comes out short on such outlines."""
BY_HAND = """\
The same shapes, one try each. Box: callipers over the tightest box, times the filled share guessed by eye (standard
deviation 0.07, to the nearest 0.05). Squares: traced with a pencil 0.15 ± 0.15 mm outside the edge, 1 mm squares
counted. Paper: traced, cut out (± 0.25 mm) and weighed, to 0.01 g with nominal 80 g/m² ± 4 %, or to 0.001 g with the
ream weighed. What people do, as assumed; common practice, no source."""


def summary_markdown(made: Sequence[Row]) -> str:
    """Return the whole summary; scenes with a dark card stand in a table of their own."""
    rows = [row for row in made if not row.card]
    whole = figures(rows)
    seeds = [row.seed for row in rows]
    words = METHOD.format(
        scenes=whole.scenes, first=min(seeds), last=max(seeds), measured=whole.measured, refused=whole.refused
    )
    counted = f"An error of more than {GROSS:g} times U counts, unless one of these flags is there: "
    answered = [row.answered for row in rows]
    groups = {"set": _sets(rows), **strata(rows)}
    parts = [
        f"# How accurate an area from one photo is\n\n{words}",
        "![Errors](accuracy_results.svg)",
        f"## Aims\n\n{ANSWERED}\n\n{_aims_table(aims(rows), aims(answered))}\n\n{WHY.format(hidden=_thick_bias(rows))}",
        f"## By group\n\n{GROUPS}",
        *(f"### By {kind}\n\n{groups_table(members)}" for kind, members in groups.items()),
        f"### All questions answered, by set and field\n\n{groups_table(_sets(answered) | _windows(answered))}",
        f"## Grey metal with the dark card\n\n{CARD}\n\n{groups_table(_cards(made))}",
        f"## Outer perimeter\n\n{PERIMETER}\n\n{perimeter_table(rows)}",
        f"## Refused\n\n{refusals_table(rows)}",
        f"## Gross errors without a word\n\n{counted}{', '.join(sorted(OUTLINE_FLAGS))}.\n\n{silent_table(rows)}",
        f"## Against doing it by hand\n\n{BY_HAND}\n\n{_hand_table(rows)}",
        f"A photo of 12 megapixels took {_seconds(rows):.2f} s to read and measure (median, one thread).",
    ]
    return "\n\n".join(parts) + "\n"


def _thick_bias(rows: Sequence[Row]) -> float:
    thick = [row for row in rows if 4.0 <= row.thickness_mm <= 6.0 and row.holes_found == row.shape_holes]
    return figures(thick).bias


def _cards(made: Sequence[Row]) -> dict[str, list[Row]]:
    """Return shiny grey metal by field, as it comes and under the card, as found and with all questions answered."""
    shiny = [row for row in made if row.metal in GREY_METALS and row.finish != "matte" and row.field != "blue"]
    sides = {"as it comes": [r for r in shiny if not r.card], "dark card": [r for r in shiny if r.card]}
    groups = {
        f"{field}, {name}": [row for row in rows if row.field == field]
        for name, rows in sides.items()
        for field in ("white", "pale")
    }
    answered = {f"{name}, questions answered": [row.answered for row in rows] for name, rows in groups.items()}
    return groups | answered


def _windows(rows: Sequence[Row]) -> dict[str, list[Row]]:
    return {f"{name} field": members for name, members in strata(rows)["field"].items() if name != "blue"}


def _sets(rows: Sequence[Row]) -> dict[str, list[Row]]:
    return {
        "all": list(rows),
        "good scenes": [row for row in rows if row.good],
        "hole count right": [row for row in rows if not row.measured or row.holes_found == row.shape_holes],
        "no flag on the outline": [row for row in rows if not OUTLINE_FLAGS & set(row.flags.split(";"))],
        "50 cm² and more, to 0.3 mm": [row for row in rows if row.area_cm2 >= 50.0 and row.thickness_mm <= 0.3],
        "7 to 50 cm²": [row for row in rows if 7.0 <= row.area_cm2 < 50.0],
        "blue field": [row for row in rows if row.field == "blue"],
        "blue field, 50 cm² and more, to 0.3 mm": [
            row for row in rows if row.field == "blue" and row.area_cm2 >= 50.0 and row.thickness_mm <= 0.3
        ],
        "blue field, 7 to 50 cm²": [row for row in rows if row.field == "blue" and 7.0 <= row.area_cm2 < 50.0],
        "7 to 50 cm², to 1.5 mm": [row for row in rows if 7.0 <= row.area_cm2 < 50.0 and row.thickness_mm <= 1.5],
    }


def table(head: Sequence[str], lines: Iterable[Sequence[str]]) -> str:
    rows = [head, ["---"] * len(head), *lines]
    return "\n".join("| " + " | ".join(row) + " |" for row in rows)


def _aims_table(found: list[Aim], answered: list[Aim]) -> str:
    head = ("aim", "limits", "found", "scenes", "verdict", "questions answered", "verdict")
    return table(
        head,
        (
            (
                aim.words,
                f"to {aim.high:g}" if aim.low == -float("inf") else f"{aim.low:g} to {aim.high:g}",
                f"{aim.value:.2f}",
                str(aim.scenes),
                _verdict(aim),
                f"{after.value:.2f}",
                _verdict(after),
            )
            for aim, after in zip(found, answered, strict=True)
        ),
    )


def _verdict(aim: Aim) -> str:
    if aim.met:
        return "met"
    return f"missed by {aim.missed_by:.2f}" if aim.missed_by == aim.missed_by else "open"


def groups_table(groups: dict[str, list[Row]]) -> str:
    head = (
        "group",
        "scenes",
        "refused",
        "covered %",
        "without burr %",
        "bias %",
        "median %",
        "sd %",
        "95 % within %",
        "usual U %",
        "silent",
    )
    return table(head, ((name, *_cells(figures(members))) for name, members in groups.items() if members))


def _cells(f: Figures) -> tuple[str, ...]:
    if not f.measured:
        return (str(f.scenes), str(f.refused), *["–"] * 7, "0")
    return (
        str(f.scenes),
        str(f.refused),
        f"{f.covered:.1f} ± {f.covered_spread:.1f}",
        f"{f.covered_as_drawn:.1f}",
        f"{f.bias:+.2f}" if f.measured == 1 else f"{f.bias:+.2f} ± {f.bias_spread:.2f}",
        f"{f.median:+.2f}",
        "–" if f.measured == 1 else f"{f.spread:.2f}",
        f"{f.p95:.2f}",
        f"{f.usual_expanded:.2f}",
        str(f.silent),
    )


def perimeter_table(rows: Sequence[Row]) -> str:
    head = ("thickness", "measured", "covered %", "median %", "95 % within %", "usual U %")
    lines = []
    for name, members in strata(rows)["thickness"].items():
        measured = [row for row in members if row.measured]
        if not measured:
            continue
        errors = np.array([row.perimeter_error for row in measured])
        expanded = np.array([row.perimeter_expanded for row in measured])
        covered = 100.0 * float(np.mean(np.abs(errors) <= expanded))
        most = float(np.quantile(np.abs(errors), 0.95))
        numbers = (f"{covered:.1f}", f"{np.median(errors):+.2f}", f"{most:.2f}", f"{np.median(expanded):.2f}")
        lines.append((name, str(len(measured)), *numbers))
    return table(head, lines)


def refusals_table(rows: Sequence[Row]) -> str:
    refused = [row for row in rows if not row.measured]
    if not refused:
        return "None."
    count = Counter(row.refused for row in refused)
    good = Counter(row.refused for row in refused if row.good)
    head = ("code", "scenes", "good scenes", "seeds")
    return table(
        head,
        (
            (code, str(n), str(good[code]), _some([row.seed for row in refused if row.refused == code]))
            for code, n in count.most_common()
        ),
    )


def _some(seeds: list[int]) -> str:
    return ", ".join(map(str, seeds[:12])) + (" …" if len(seeds) > 12 else "")


def silent_table(rows: Sequence[Row]) -> str:
    gross = sorted((row for row in rows if row.silent_gross), key=lambda row: -abs(row.e_n))
    if not gross:
        return "None."
    head = (
        "seed",
        "error %",
        "U %",
        "area cm²",
        "thickness mm",
        "tilt °",
        "field",
        "metal",
        "holes found / true",
        "flags",
    )
    return table(
        head,
        (
            (
                str(r.seed), f"{r.error:+.2f}", f"{r.expanded:.2f}", f"{r.area_cm2:.1f}", f"{r.thickness_mm:.2f}",
                f"{r.tilt_deg:.0f}", r.field, f"{r.finish} {r.metal}", f"{r.holes_found} / {r.shape_holes}",
                r.flags.replace(";", ", ") or "–",
            )
            for r in gross
        ),
    )  # fmt: skip


def _hand_table(rows: Sequence[Row]) -> str:
    head = ("absolute error %, half of them within (95 % within)", *SIZES)
    lines = []
    for column, words in METHODS.items():
        cells = []
        for low, high in SIZES.values():
            half, most = quantiles((row for row in rows if low <= row.area_cm2 < high), column)
            cells.append(f"{half:.2g} ({most:.2g})" if half == half else "–")
        lines.append((words, *cells))
    return table(head, lines)


def _seconds(rows: Sequence[Row]) -> float:
    large = [row.seconds for row in rows if row.measured and row.width_px * row.height_px > 10e6]
    return float(np.median(large)) if large else nan
