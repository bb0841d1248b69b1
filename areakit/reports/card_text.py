"""The card as lines of text for one screen: at most twenty, unless many kinds of parts, or a stop, need more.

Nothing is cut: what does not fit on a line goes on below it, and notes that find no room are counted.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable

from areakit.reports.card import Card, CardRun, CardStep

WIDTH = 100
LINES = 20
_NUMBER = 5
_INDENT = _NUMBER + 2
"""Where the words of a step begin, behind its number."""


def card_lines(card: Card) -> list[str]:
    """Return the lines of a card."""
    head, end = _head(card), _end(card)
    met = f"Minimum met: {card.confidence}."
    last = [f"{met} All notes, and where each figure is from: --details.", *_LAST]
    steps: list[str] = []
    for much in (2, 1, 0):
        steps = [
            line
            for step in card.steps
            for line in _step_lines(step, several=len(card.parts) > 1 and not card.shares, see=much)
        ]
        if len(head) + len(steps) + len(end) + len(last) <= LINES:
            break
    lines = [*head, *steps, *end]
    notes, more = _notes(card, room=LINES - len(lines) - len(last))
    if more:
        last[0] = f"{met} {more} more note{'s' if more > 1 else ''}, and where each figure is from: --details."
    return [*lines, *notes, *last]


_LAST = ("! Safety data sheets, local codes and licensed practice come first: ventilate, gloves, goggles.",)


def _head(card: Card) -> list[str]:
    process = f"{card.process}, on {card.base}"
    if len(card.parts) > 1:
        found = _wrapped(f"{card.name}, {len(card.parts)} kinds of parts: {process}")
    else:
        found = [*_wrapped(f"{card.name}: {card.parts[0]}"), *_wrapped(process)]
    for words in card.stops:
        found += _wrapped(f"STOP: {words}")
    return found


def _step_lines(step: CardStep, *, several: bool, see: int) -> list[str]:
    """Return a step in one line, or two where something is plated; ``see`` 0 leaves out what to look for, 1 for steps
    without plating."""
    head, rinse = f"{step.number:>{_NUMBER}}  {step.brief}", ", rinse" if len(step.numbers) > 1 else ""
    if step.conditional and " if " not in step.brief:
        head += " (only if needed)"
    look = f": {step.see}" if see == 2 or (see == 1 and step.runs) else ""
    hazard = f"  ! {', '.join(step.hazards)}" if step.hazards else ""
    if not step.runs or several:
        told = ", ".join(one for one in (head, step.solution if step.runs else "", step.volts) if one)
        return _laid([f"{told}{rinse}", look, hazard])
    told = ", ".join(one for one in (step.solution, step.volts) if one)
    return [
        *_laid([f"{head}{rinse}: ", *run_words(step.runs[0], charge=True)]),
        *_laid([f"{' ' * _INDENT}{told}", look, hazard]),
    ]


def _laid(pieces: Iterable[str]) -> list[str]:
    """Return pieces one behind the other, each whole, those without room on the line below."""
    lines = [""]
    for piece in pieces:
        if len(lines[-1]) + len(piece.rstrip()) > WIDTH and lines[-1]:
            lines[-1] = lines[-1].rstrip(" ·")
            lines.append(" " * _INDENT)
            piece = piece.lstrip(" :·")
        lines[-1] += piece
    return [part for line in lines for part in _wrapped(line.rstrip())]


def _wrapped(line: str) -> list[str]:
    if len(line) <= WIDTH:
        return [line]
    return textwrap.wrap(line, WIDTH, subsequent_indent=" " * _INDENT, break_on_hyphens=False)


def kind_lines(card: Card) -> list[str]:
    """Return what to set for each kind of part: a table where it fits, else a paragraph for each."""
    layers = [step for step in card.steps if step.runs]
    head = ["", *(words for step in layers for words in _titles(step))]
    rows = [[words, *(c for step in layers for c in _cells(step.runs[place]))] for place, words in _numbered(card)]
    empty = [all(not row[at] for row in rows) for at in range(len(head))]
    kept = [[cell for cell, gone in zip(row, empty, strict=True) if not gone] for row in (head, *rows)]
    widths = [max(len(cell) for cell in column) for column in zip(*kept, strict=True)]
    lines = ["  ".join(f"{cell:<{width}}" for cell, width in zip(row, widths, strict=True)).rstrip() for row in kept]
    if max(map(len, lines)) <= WIDTH:
        return lines
    paragraphs = [
        _laid([f"{words}: ", *_between([f"{one.metal} {''.join(run_words(one.runs[place]))}" for one in layers])])
        for place, words in _numbered(card)
    ]
    return [line for lines in paragraphs for line in lines]


def _numbered(card: Card) -> list[tuple[int, str]]:
    return list(enumerate(card.parts))


def _titles(step: CardStep) -> tuple[str, str, str]:
    by_brush = any(run.passes for run in step.runs)
    head = f"{step.metal}: mean/peak" if any(run.peak for run in step.runs) else step.metal
    return head, "time", "passes" if by_brush else "load"


def _cells(run: CardRun) -> tuple[str, str, str]:
    if run.by_volts:
        return run.by_volts.partition(" by ")[0], run.time, run.passes
    return _amperes(run) or "not planned", run.time, run.passes or run.loads


def _amperes(run: CardRun) -> str:
    """Return mean and peak current in short: ``0.23/0.61 A``."""
    mean, _, unit = run.mean.partition(" ")
    peak, _, other = run.peak.partition(" ")
    if not peak:
        return run.mean
    return f"{mean}/{peak} {unit}" if unit == other else f"{run.mean}/{run.peak}"


def run_words(run: CardRun, *, charge: bool = False) -> list[str]:
    """Return what to set, and for how long, in pieces that stay whole."""
    time = f"{run.time} each" if run.apiece else run.time
    if run.by_volts:
        return [run.by_volts, f" · {time}", f" · {run.passes} passes of {run.each}"]
    told = f" · {run.charge}" if charge and run.charge else ""
    if run.peak:
        return [f"{run.mean} mean, {run.peak} peak", f" · {time}", f" · {run.passes} passes of {run.each}", told]
    if run.mean:
        return [run.mean, f" · {run.time}", f" · {run.loads}", told]
    return [f"amperes and minutes not planned{told}"]


def _end(card: Card) -> list[str]:
    found: list[str] = []
    if card.shares:
        found += [line for words in card.shares for line in _wrapped(f"{words[:1].upper()}{words[1:]}")]
    elif len(card.parts) > 1:
        found += kind_lines(card)
    found += _laid(["Total: ", *_between(totals(card), ", ")])
    if card.hands:
        found += _wrapped(f"Hands: {card.hands}.")
    if card.open_entries:
        found += _wrapped(f"For amperes and minutes also give {', '.join(card.open_entries)}")
    return found


def totals(card: Card) -> list[str]:
    """Return time with current, time at the bench, metal, and price, each where it is known."""
    time = f"{card.time} with current" if card.time else "time not planned"
    bench = f"{card.bench_time} at the bench" if card.bench_time else ""
    return [one for one in (time, bench, *card.metals, card.price) if one]


def _between(words: list[str], sign: str = "; ") -> list[str]:
    return [f"{one}{sign}" for one in words[:-1]] + words[-1:]


def _notes(card: Card, *, room: int) -> tuple[list[str], int]:
    """Return the weightiest remarks that find room, whole, and how many notes are left."""
    found: list[str] = []
    shown = 0
    for words in card.remarks:
        lines = _wrapped(f"Note: {words}")
        if len(found) + len(lines) > room:
            break
        found += lines
        shown += 1
    return found, len(card.remarks) - shown + card.others
