"""A visit's sheet in the words that the page prints."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

from coatwright.printing import words
from coatwright.printing.sheet import ComingShow, Hand, Measure, Note, Over, Sheet, SheetZone, Spared, Window

READINGS = {
    "longest": "the longest hair",
    "shortest": "the shortest hair",
    "look": "the cover in a word",
    "step": "a layer that the comb tells apart",
}
DOUBTS = {
    "ready": "being ready",
    "zones": "how many zones are ready",
    "growth": "how fast the coat grows",
}
"""What a reading tells of."""
NOTES_MOST = 300
"""Letters of a dog's notes that a sheet has room for."""


def sheet_view(sheet: Sheet, unit: str) -> dict[str, Any]:
    """The sheet in the words that the page prints."""
    words.check_unit(unit)
    spoken = words.APPROACHES.get(sheet.approach, sheet.approach)
    weight = "" if sheet.weight_kg is None else f", {words.quantity(f'{sheet.weight_kg:g}', 'kg')}"
    return {
        "title": f"Visit sheet: {sheet.dog}, {words.long_day(sheet.day)}",
        "description": f"What to pull from each zone of {sheet.dog} on {words.long_day(sheet.day)}.",
        "kind": "visit sheet",
        "number": f"planned visit {sheet.number} of {sheet.count}, {spoken}",
        "dog": sheet.dog,
        "day": words.long_day(sheet.day),
        "about": sheet.pattern + weight,
        "people": people_line(sheet.owner, sheet.handler),
        "picture_alt": picture_alt(sheet),
        "stops": list(sheet.stops),
        "after_stop": sheet.after_stop,
        "facts": _facts(sheet),
        "aftercare": " ".join(sheet.aftercare),
        "told": told_rows(unit),
        "zones": [_zone(zone, sheet, unit) for zone in sheet.zones],
        "after": _after(sheet),
        "cautions": [note_view(note) for note in sheet.cautions],
        "foot": f"Planned {words.day_text(sheet.made)} from the coat as last read. Shares are of all the zone's "
        "hairs; cover is the share above the skin, before and after.",
    }


def told_rows(unit: str) -> dict[str, list[str]]:
    """What is written down by hand at the table: places to fill in, and boxes to tick."""
    return {
        "fill": ["minutes", f"longest hair, {unit}", f"shortest seen, {unit}", "cover by eye, %", "tool"],
        "dog": ["calm", "restless", "in pain: stopped"],
        "skin": ["sound", "red", "other"],
    }


def picture_alt(sheet: Sheet) -> str:
    """The picture in words, for whoever cannot see it."""
    takes = words.listed(f"{zone.name.lower()} {words.percent(zone.share)}" for zone in sheet.zones)
    return f"{sheet.dog} from the side, each zone shaded by what is taken from it: {takes}."


def note_view(note: Note) -> dict[str, str]:
    """A caution for the page."""
    return {"level": note.level, "title": note.title, "text": note.text}


def people_line(owner: str, handler: str) -> str:
    """Who the dog belongs to and who shows it."""
    return ", ".join(f"{role} {name}" for role, name in (("owner", owner), ("handler", handler)) if name)


def show_state(show: ComingShow) -> str:
    """Whether the plan makes the dog ready for a show, and if not, where."""
    if show.ready:
        return "ready"
    if len(show.missing) > 4:
        return f"not ready in {len(show.missing)} zones"
    return f"not ready: {words.listed(show.missing).lower()}"


def show_line(show: ComingShow, near: date) -> str:
    """A show with its day and place, how ready the dog is, and when entries close."""
    place = f", {show.place}" if show.place and show.place not in show.name else ""
    closing = f"; entries close {words.short_day(show.closing, near)}" if show.closing else ""
    chance = f"; chance {words.chance_line(show.chance)}" if show.chance else ""
    return f"{words.short_day(show.day, near)}  {show.name}{place}: {show_state(show)}{chance}{closing}"


def windows_line(windows: Sequence[Window], near: date, most: int = 3) -> str:
    """Ready windows, the first few, and that a coat just pulled does not count as ready."""
    text = words.windows(windows, near, most)
    return text + (", but not just after a visit" if any(each.rests for each in windows[:most]) else "")


def _facts(sheet: Sheet) -> list[dict[str, Any]]:
    pulling = sheet.minutes - sheet.setup
    parts = [
        {
            "title": "Time",
            "lines": [
                f"{words.minutes(sheet.minutes)} of {words.minutes(sheet.limit)}: "
                f"{words.minutes(pulling)} to pull, {words.minutes(sheet.setup)} for the rest"
            ],
        }
    ]
    if sheet.tools:
        parts.append({"title": "Lay out", "lines": [f"{words.sentence('; '.join(sheet.tools))}."]})
    if sheet.next_visits:
        lines = [
            f"{words.short_day(each.day, sheet.day)}  {words.minutes(each.minutes)}"
            for each in sheet.next_visits
        ]
        parts.append({"title": "Next visits", "lines": ["; ".join(lines)]})
    parts.append(
        {"title": "Ready, as planned", "lines": [words.sentence(windows_line(sheet.windows, sheet.day))]}
    )
    if sheet.shows:
        parts.append({"title": "Shows", "lines": [show_line(show, sheet.day) for show in sheet.shows[:3]]})
    return parts


def hand_line(hand: Hand) -> str:
    """``Maren Sedge pulls a fifth more than judged``."""
    part = abs(hand.factor - 1.0)
    who = hand.groomer or "The hand of this dog"
    return f"{who} pulls {words.nearly(part)} {'more' if hand.factor > 1.0 else 'less'} than judged"


def measure_line(measures: Sequence[Measure]) -> str:
    """What to read before the pulling, and what each reading is worth."""
    first, *others = measures
    part = words.nearly(first.share)
    text = (
        f"{READINGS[first.reading]} on the {first.name.lower()}: it alone would take away {part} of the doubt about "
        f"{DOUBTS[first.what]}"
    )
    for each in others:
        worth = words.nearly(each.share)
        text += (
            f"; {READINGS[each.reading]} on the {each.name.lower()}: {'as much' if worth == part else worth}"
        )
    return f"{words.sentence(text)}."


def over_line(over: Over, near: date) -> str:
    """What the last visit took where less was planned."""
    return (
        f"{words.percent(over.taken)} went on {words.short_day(over.day, near)} "
        f"where {words.percent(over.planned)} was planned"
    )


def _zone(zone: SheetZone, sheet: Sheet, unit: str) -> dict[str, str]:
    return {
        "name": zone.name,
        "take": words.percent(zone.share),
        "minutes": words.minutes(zone.minutes),
        "hairs": words.hairs(zone.hairs, unit),
        "hold": zone.hold,
        "tip": zone.tip,
        "tender": f"tender, {words.percent(zone.cap)} at most" if zone.tender else "",
        "card": "yes" if zone.card else "",
        "cover": f"{round(100 * zone.cover_before)} → {words.percent(zone.cover_after)}",
        "judge": f"judge it {words.percent(zone.judge)}" if zone.judge is not None else "",
        "over": f"spared: {over_line(zone.over, sheet.day)}" if zone.over else "",
    }


def _after(sheet: Sheet) -> list[dict[str, Any]]:
    """Lines below the table: zones spared, carded, finished with scissors, and the dog's own notes."""
    lines = []
    if sheet.hand is not None and any(zone.judge is not None for zone in sheet.zones):
        text = (
            f"{hand_line(sheet.hand)}. Where a zone says what to judge it, judge that, so that the plan's share "
            "comes out; log what you judged."
        )
        lines.append({"title": "your hand", "text": text, "grave": False})
    if sheet.measure:
        lines.append({"title": "measure first", "text": measure_line(sheet.measure), "grave": False})
    for zone in sheet.spared:
        if zone.over:
            text = f"{zone.name}: {over_line(zone.over, sheet.day)}{_next(zone, sheet)}."
            lines.append({"title": "spared today", "text": text, "grave": True})
    alone: dict[date | None, list[str]] = {}
    for zone in sheet.spared:
        if not zone.over:
            alone.setdefault(zone.next_day, []).append(zone.name.lower())
    if alone:
        later = sorted((day, names) for day, names in alone.items() if day)
        said = [f"{words.listed(names)} (next {words.short_day(day, sheet.day)})" for day, names in later]
        said += [words.listed(names) for day, names in alone.items() if not day]
        lines.append(
            {"title": "leave alone today", "text": f"{words.sentence('; '.join(said))}.", "grave": False}
        )
    carded = [zone.name.lower() for zone in sheet.spared if zone.card]
    if carded:
        lines.append(
            {"title": "card only", "text": f"{words.sentence(words.listed(carded))}.", "grave": False}
        )
    for work, title in (("tidy", "tidy"), ("scissors", "scissors")):
        found = [zone.name.lower() for zone in sheet.finish if zone.work == work]
        if found:
            text = f"{words.sentence(words.listed(found))}, as needed; not in the minutes above."
            lines.append({"title": title, "text": text, "grave": False})
    if sheet.notes:
        lines.append({"title": "notes", "text": shorten(sheet.notes, NOTES_MOST), "grave": False})
    return lines


def shorten(text: str, most: int) -> str:
    """A text on one line, cut at a word where it is longer than ``most``."""
    line = " ".join(text.split())
    if len(line) <= most:
        return line
    return line[:most].rsplit(" ", 1)[0].rstrip(",;:.") + " …"


def _next(zone: Spared, sheet: Sheet) -> str:
    return f"; next take {words.short_day(zone.next_day, sheet.day)}" if zone.next_day else ""
