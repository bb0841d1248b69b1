"""The card as lines of text for one screen: at most twenty, unless many kinds of parts, or a stop, need more."""

from __future__ import annotations

from areakit.reports.card import Card, CardRun, CardStep, brief

WIDTH = 100
LINES = 20


def card_lines(card: Card, *, details: str = "--details") -> list[str]:
    """Return the lines of a card; ``details`` says where everything behind it is found."""
    several = len(card.parts) > 1
    what = f"{len(card.parts)} kinds of parts, side by side below" if several else card.parts[0]
    lines = [_cut(f"{card.name}: {what}"), _cut(f"{card.process}, on {card.base}")]
    lines += [f"STOP: {words}" for words in card.stops]
    for step in card.steps:
        lines += _step_lines(step, several=several)
    if several:
        lines += [_cut(f"{words}: {_kind_words(card, place)}") for place, words in enumerate(card.parts)]
    end = _end(card)
    room = max(LINES - len(lines) - len(end) - 1, 0)
    shown = card.remarks[:room]
    told = [_cut(f"Note: {words}") for words in shown]
    more = len(card.remarks) - len(shown) + card.others
    return [*lines, *end[:-1], *told, f"{more} more note(s), and where each figure is from: {details}.", end[-1]]


def _step_lines(step: CardStep, *, several: bool) -> list[str]:
    head = f"{step.number:>5}  {step.title}"
    if step.conditional and " if " not in step.title:
        head += " (only if needed)"
    rinse = ", rinse" if len(step.numbers) > 1 else ""
    hazard = f"  ! {', '.join(step.hazards)}" if step.hazards else ""
    if not step.runs or several:
        told = ", ".join(one for one in (step.title, step.solution, step.volts) if one)
        return [_fit(f"{step.number:>5}  {told}{rinse}", f": {brief(step.look_for)}", hazard)]
    told = ", ".join(one for one in (step.solution, step.volts, step.runs[0].charge) if one)
    return [
        _cut(f"{head}: {run_words(step.runs[0])}"),
        _fit(f"       {told}{rinse}", f": {brief(step.look_for)}", hazard),
    ]


def _kind_words(card: Card, place: int) -> str:
    """Return what to set for one kind of part, layer by layer."""
    said = []
    for step in card.steps:
        if step.runs:
            run = step.runs[place]
            amperes = f"{run.mean}/{run.peak}" if run.peak else run.mean
            words = (
                [run.by_volts] if run.by_volts else [amperes, run.time, f"{run.passes} passes" if run.passes else ""]
            )
            said.append(f"{step.metal} {', '.join(one for one in words if one) or 'not planned'}")
    return "; ".join(said)


def run_words(run: CardRun) -> str:
    """Return what to set, and for how long."""
    if run.by_volts:
        return run.by_volts
    if run.peak:
        return f"{run.mean} mean, {run.peak} peak · {run.time} · {run.passes} passes of {run.each}"
    if run.mean:
        return f"{run.mean} · {run.time} · {run.loads}"
    return "amperes and minutes not planned"


def _end(card: Card) -> list[str]:
    said = [f"{card.time} with current" if card.time else "time not planned", *card.metals]
    said += [card.price] if card.price else []
    said.append(f"minimum met: {card.confidence}")
    lines = [f"Total: {'; '.join(said)}"]
    if card.open_entries:
        lines.append(f"For amperes and minutes also give {', '.join(card.open_entries)}")
    lines.append("! Safety data sheets, local codes and licensed practice come first: ventilate, gloves, goggles.")
    return lines


def _fit(what: str, see: str, hazard: str) -> str:
    """Return a line in which what to look for gives way first, then what to do, and the hazard never."""
    room = WIDTH - len(what) - len(hazard)
    if room < 0:
        return f"{what[: WIDTH - len(hazard) - 1].rstrip(' ,')}…{hazard}"
    shown = see if len(see) <= room else f"{see[: max(room - 1, 0)].rstrip(' ,')}…" if room > 12 else ""
    return f"{what}{shown}{hazard}"


def _cut(line: str) -> str:
    return line if len(line) <= WIDTH else f"{line[: WIDTH - 1]}…"
