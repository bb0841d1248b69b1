"""The bench card on one page of paper: large type, boxes to tick, outline and lanes, room for what was read."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from areakit.reports.card import Card, CardRun, CardStep, Drawn
from areakit.reports.card_text import run_words, totals
from areakit.reports.fonts import Typeface, typeface
from areakit.reports.leaf import Leaf, one_page
from areakit.reports.part_outline import draw_outline, scale_for
from areakit.reports.pen import Pen

SIZES = (13.0, 12.0, 11.5, 11.0, 10.5, 10.0, 9.5, 9.0, 8.5, 8.0, 7.5, 7.0, 6.6, 6.2)
"""Type is read at arm's length from about 9 points on (working figure); smaller only where many words need it."""
_DRAWING_SHARE = 0.42
_TICK = 1.2
"""Side of a box to tick, in lines."""
_PEN_MM = 0.25
_NOTE = 6.5
_LAID_FLAT = "outside, laid flat"
_MOST_REMARKS = 4


def card_pdf(card: Card, drawn: Sequence[Drawn] = (), *, paper: str = "a4", font: Path | None = None) -> bytes:
    """Return the card as a PDF of one page.

    Raises InputError if it does not fit, or the paper is not known.
    """
    face = typeface(font)
    return one_page(lambda leaf: _write(leaf, card, drawn, face), paper=paper, face=face, title=card.name, sizes=SIZES)


def _write(leaf: Leaf, card: Card, drawn: Sequence[Drawn], face: Typeface) -> None:
    _head(leaf, card, drawn, face)
    for words in card.shares:
        leaf.text(f"{words[:1].upper()}{words[1:]}.")
    for words in card.stops:
        leaf.text(f"STOP: {words}", bold=True)
    if card.hands:
        leaf.text(f"Hands: {card.hands}.", bold=True)
    for words in card.remarks[:_MOST_REMARKS]:
        leaf.text(f"Note: {words}")
    leaf.skip(0.4)
    for step in card.steps:
        _step(leaf, step, card)
    leaf.rule(width=0.4)
    leaf.skip(0.3)
    leaf.text(
        "Safety data sheets, local codes and licensed practice come first: ventilate, gloves, goggles.", bold=True
    )
    leaf.skip(0.6)
    leaf.text(f"Job {'_' * 14}   Bottle {'_' * 12}   Date {'_' * 12}   Name {'_' * 14}")


def _head(leaf: Leaf, card: Card, drawn: Sequence[Drawn], face: Typeface) -> None:
    """Write name, parts and totals on the left, and draw the outlines on the right."""
    top, right = leaf.y, leaf.right
    middle = right - _DRAWING_SHARE * (right - leaf.left) if drawn else right
    with leaf.column(leaf.left, middle - (2.0 if drawn else 0.0)):
        leaf.text(card.name, larger=1.4, bold=True)
        for words in card.parts:
            leaf.text(words, larger=1.1, bold=True)
        leaf.text(f"{card.process}, on {card.base}")
        for words in totals(card):
            leaf.text(words)
    low = leaf.y
    if drawn:
        low = max(low, top + _drawings(leaf, drawn, face, (middle, top, right)))
    leaf.y = low + 0.8 * leaf.line
    leaf.rule(width=0.4)
    leaf.skip(0.5)


def _drawings(leaf: Leaf, drawn: Sequence[Drawn], face: Typeface, place: tuple[float, float, float]) -> float:
    """Draw up to four outlines side by side, and return how high they are. [mm]"""
    left, top, right = place
    shown = drawn[:4]
    columns = 1 if len(shown) == 1 else 2
    wide = (right - left) / columns
    tall = 14.0 * leaf.line / ((len(shown) + columns - 1) // columns)
    for number, one in enumerate(shown):
        at = (left + number % columns * wide, top + number // columns * tall)
        _drawing(leaf, one, at, (wide - 2.0, tall - 2.0), face)
    return 14.0 * leaf.line


def _drawing(leaf: Leaf, one: Drawn, at: tuple[float, float], room: tuple[float, float], face: Typeface) -> None:
    before = leaf.left, leaf.y
    leaf.left, leaf.y = at
    leaf.drawing(_outline_and_lanes(one, room, face))
    leaf.left, leaf.y = before


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


def _step(leaf: Leaf, step: CardStep, card: Card) -> None:
    side = _TICK * leaf.line * 0.6
    top = leaf.y

    def tick(pen: Pen) -> None:
        pen.line([(0, -side / 2), (side, -side / 2), (side, side / 2), (0, side / 2), (0, -side / 2)], width_mm=_PEN_MM)

    leaf.drawing(tick)
    with leaf.column(leaf.left + side + 2.0, leaf.right):
        rinse = ", then rinse" if len(step.numbers) > 1 else ""
        volts = f", {step.volts}" if step.volts else ""
        leaf.text(f"{step.number}  {step.title}{volts}{rinse}", bold=True)
        for place, run in enumerate(step.runs):
            _run(leaf, run, card.parts[place] if len(card.parts) > 1 and not card.shares else "")
        if step.solution:
            leaf.text(f"Solution: {step.solution}.")
        leaf.text(f"{step.look_for[:1].upper()}{step.look_for[1:]}.")
        if step.hazards:
            leaf.text(f"Caution: {', '.join(step.hazards)}", bold=True)
    leaf.y = max(leaf.y, top + side) + 0.35 * leaf.line


def _run(leaf: Leaf, run: CardRun, part: str) -> None:
    if part:
        leaf.text(part)
    leaf.text("".join(run_words(run, charge=True)), larger=1.15, bold=True)
    leaf.text("Read:  ______ A   ______ V   ______ min   ______ passes   ______ °C")
