"""The bench card on one page of paper: large type, boxes to tick, outline and lanes, room for what was read."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from reportlab.lib.units import mm
from reportlab.platypus import Flowable, HRFlowable, Spacer

from areakit.reports.card import Card, CardStep, Drawn
from areakit.reports.card_text import run_words, totals
from areakit.reports.document import INK, PenDrawing, Styles, TickBox, beside, one_page, table
from areakit.reports.fonts import Typeface, typeface
from areakit.reports.part_outline import draw_outline, scale_for
from areakit.reports.pen import Pen

SIZES = (13.0, 12.0, 11.5, 11.0, 10.5, 10.0, 9.5, 9.0, 8.5, 8.0, 7.5, 7.0, 6.6, 6.2)
"""Type is read at arm's length from about 9 points on (working figure); smaller only where many words need it."""
_DRAWING_SHARE = 0.42
_TICK = 1.0
"""Side of a box to tick, over the size of type. [1]"""
_PEN_MM = 0.25
_NOTE = 6.5
_LAID_FLAT = "outside, laid flat"
_MOST_REMARKS = 4
_LAST = "Safety data sheets, local codes and licensed practice come first: ventilate, gloves, goggles."


def card_pdf(card: Card, drawn: Sequence[Drawn] = (), *, paper: str = "a4", font: Path | None = None) -> bytes:
    """Return the card as a PDF of one page.

    Raises InputError if it does not fit, or the paper is not known.
    """
    face = typeface(font)

    def story_of(styles: Styles, width: float) -> list[Flowable]:
        return [
            *_head(card, drawn, styles, width),
            *(styles.words(f"{words[:1].upper()}{words[1:]}.") for words in card.shares),
            *(styles.words(f"STOP: {words}", styles.bold) for words in card.stops),
            *([styles.words(f"Hands: {card.hands}.", styles.bold)] if card.hands else []),
            *(styles.words(f"Note: {words}") for words in card.remarks[:_MOST_REMARKS]),
            Spacer(1, 0.4 * styles.body.leading),
            *_steps(card, styles, width),
            styles.words(_LAST, styles.bold),
            Spacer(1, 0.6 * styles.body.leading),
            styles.words(f"Job {'_' * 14}   Bottle {'_' * 12}   Date {'_' * 12}   Name {'_' * 14}"),
        ]

    return one_page(story_of, paper=paper, face=face, title=card.name, sizes=SIZES)


def _head(card: Card, drawn: Sequence[Drawn], styles: Styles, width: float) -> list[Flowable]:
    """Return name, parts and totals on the left, and the outlines on the right."""
    told = [
        styles.words(card.name, styles.larger(1.4, bold=True)),
        *(styles.words(words, styles.larger(1.1, bold=True)) for words in card.parts),
        *(styles.words(words) for words in (f"{card.process}, on {card.base}", *totals(card))),
    ]
    room = _DRAWING_SHARE * width
    return [*beside(told, _drawings(drawn, styles, room), room, width), _line(styles)]


def _line(styles: Styles) -> Flowable:
    apart = 0.4 * styles.body.leading
    return HRFlowable(width="100%", thickness=0.4 * mm, color=INK, spaceBefore=apart, spaceAfter=apart)


def _drawings(drawn: Sequence[Drawn], styles: Styles, width: float) -> list[Flowable]:
    """Return up to four outlines, two beside each other."""
    if not drawn:
        return []
    shown = drawn[:4]
    columns = 1 if len(shown) == 1 else 2
    rows = -(-len(shown) // columns)
    room = width / columns - 2 * mm, 14.0 * styles.body.leading / rows - 2 * mm
    size_mm = room[0] / mm, room[1] / mm
    made: list[Any] = [PenDrawing(_outline_and_lanes(one, size_mm, styles.face), room=room) for one in shown]
    made += [""] * (columns * rows - len(made))
    cells = [made[at : at + columns] for at in range(0, len(made), columns)]
    return [table(cells, [width / columns] * columns, ruled=False)]


def _outline_and_lanes(one: Drawn, room: tuple[float, float], face: Typeface) -> Callable[[Pen], None]:
    def draw(pen: Pen) -> None:
        if not one.lanes:
            draw_outline(pen, one.rings, room=room, face=face)
            return
        ends = [point for lane in one.lanes for point in lane]
        around = [*one.rings[0], *ends]
        low = min(x for x, _ in around), min(y for _, y in around)
        high = max(x for x, _ in around), max(y for _, y in around)
        box = [(low, (high[0], low[1]), high, (low[0], high[1]))]
        scale = scale_for(box, (room[0], room[1] - (3.0 if one.laid_flat else 0.0)))

        def put(point: tuple[float, float]) -> tuple[float, float]:
            return (point[0] - low[0]) * scale, (high[1] - point[1]) * scale

        for ring in one.rings:
            pen.line([put(point) for point in (*ring, ring[0])], width_mm=_PEN_MM)
        if one.laid_flat:
            pen.text(0.0, (high[1] - low[1]) * scale + 3.0, _LAID_FLAT, size=_NOTE, font=face.regular)
        for number, (start, end) in enumerate(one.lanes, start=1):
            pen.line([put(start), put(end)], width_mm=0.4, dash_mm=(1.6, 1.0))
            pen.circle(put(start), 1.6, width_mm=0.2, fill=(255, 255, 255))
            pen.text(put(start)[0] - 0.5 * len(str(number)), put(start)[1], str(number), size=6.0, font=face.regular)

    return draw


def _steps(card: Card, styles: Styles, width: float) -> list[Flowable]:
    side = _TICK * styles.body.fontSize
    rows = [[TickBox(side=side), _step(step, card, styles)] for step in card.steps]
    widths = (side + 2 * mm, width - side - 2 * mm)
    return [table(rows, widths, ("LEFTPADDING", (0, 0), (-1, -1), 0), ruled=False), _line(styles)]


def _step(step: CardStep, card: Card, styles: Styles) -> list[Flowable]:
    rinse = ", then rinse" if len(step.numbers) > 1 else ""
    volts = f", {step.volts}" if step.volts else ""
    told = [styles.words(f"{step.number}  {step.title}{volts}{rinse}", styles.bold)]
    for place, run in enumerate(step.runs):
        if len(card.parts) > 1 and not card.shares:
            told.append(styles.words(card.parts[place]))
        told.append(styles.words("".join(run_words(run, charge=True)), styles.larger(1.15, bold=True)))
        told.append(styles.words("Read:  ______ A   ______ V   ______ min   ______ passes   ______ °C"))
    told += [styles.words(f"Solution: {step.solution}.")] if step.solution else []
    told.append(styles.words(f"{step.look_for[:1].upper()}{step.look_for[1:]}."))
    told += [styles.words(f"Caution: {', '.join(step.hazards)}", styles.bold)] if step.hazards else []
    return told
