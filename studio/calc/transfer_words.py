"""Words by which a file of readings is understood: its columns, its measures, yes and no, units, dates.

Dates that can be read in two ways are refused until somebody says how they are meant: a wrong day moves a whole
measuring in a body's history.
"""

import re
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time
from difflib import get_close_matches
from typing import Final
from zoneinfo import ZoneInfo

DATE_ORDERS: Final = {"dmy": "day, month, year", "mdy": "month, day, year"}
OLDEST_YEAR: Final = 1890

# Export and import alike: a spreadsheet takes a cell that begins so for a formula.
_DANGER: Final = frozenset("=+-@＝＋－＠'")
_BREAKS: Final = frozenset("\t\r\n")

_SLASHED: Final = re.compile(r"([0-9]{1,4})([./-])([0-9]{1,2})\2([0-9]{1,4})\.?")
_NAMED: Final = re.compile(
    r"(?:(?P<d1>[0-9]{1,2})(?:st|nd|rd|th|\.)?[ -]+(?P<m1>[^\W\d_]+)\.?"
    r"|(?P<m2>[^\W\d_]+)\.? +(?P<d2>[0-9]{1,2})(?:st|nd|rd|th)?)"
    r"[ ,-]+(?P<y>[0-9]{2,4})",
    re.IGNORECASE,
)
_CLOCK: Final = re.compile(r"([0-9]{1,2})[:.h]([0-9]{2})(?::([0-9]{2}))?(?: ?([ap])\.?m\.?)?", re.IGNORECASE)
_ISO_MOMENT: Final = re.compile(
    r"[0-9]{4}-[0-9]{2}-[0-9]{2}[T ][0-9]{2}:[0-9]{2}(:[0-9]{2}(\.[0-9]+)?)?(Z|[+-][0-9]{2}:?[0-9]{2})?"
)


@dataclass(frozen=True)
class Words:
    """What a file may say, folded, and what it means. ``names`` holds every measure's name by its code."""

    fields: Mapping[str, str]
    measures: Mapping[str, str]
    names: Mapping[str, str]
    weights: frozenset[str]  # codes of what is weighed, not taped
    over: Mapping[str, str]
    yes: frozenset[str]
    no: frozenset[str]
    units: Mapping[str, str]
    months: Mapping[str, int]


def fold(text: str) -> str:
    """Without capitals, accents and punctuation: "Tour de taille (cm)" -> "tour de taille cm"."""
    if text.isascii():
        plain = text.casefold()
    else:
        apart = unicodedata.normalize("NFKD", text).casefold()
        plain = "".join(sign for sign in apart if not unicodedata.combining(sign))
    return " ".join(re.findall(r"\w+", plain.replace("_", " ")))


def escape_cell(text: str) -> str:
    """Put an apostrophe before what a spreadsheet could take for a formula; ``unescape_cell`` takes it away again."""
    return "'" + text if _looks_active(text) else text


def unescape_cell(text: str) -> str:
    """Undo ``escape_cell`` exactly; a text that was never escaped stays as it is."""
    return text[1:] if text[:1] == "'" and _looks_active(text[1:]) else text


def _looks_active(text: str) -> bool:
    return text[:1] in _BREAKS or text.lstrip()[:1] in _DANGER if text else False


def unit_in_head(head: str, units: Mapping[str, str]) -> str:
    """The unit that a column's head names in brackets or last: "Waist (cm)" -> "cm"; "" for none.

    A bare last "in" or "m" counts only in brackets: "taken in" names no inches.
    """
    found = re.search(r"[(\[]\s*([^()\[\]]+?)\s*[)\]]\s*$", head)
    if found:
        return _unit_word(found.group(1), units)
    _, _, last = head.strip().rpartition(" ")
    return (
        _unit_word(last, units) if len(last) > 1 and last.casefold() != "in" and last != head.strip() else ""
    )


def _unit_word(text: str, units: Mapping[str, str]) -> str:
    plain = text.strip().casefold().rstrip(".")
    return units.get(plain, "")


def bare_head(head: str, units: Mapping[str, str]) -> str:
    """The head folded, without its unit and without the number of a repeat: "Waist 2 (cm)" -> "waist"."""
    text = re.sub(r"[(\[][^()\[\]]*[)\]]\s*$", "", head) if unit_in_head(head, units) else head
    words = fold(text).split()
    if len(words) > 1 and _unit_word(words[-1], units):
        words.pop()
    if len(words) > 1 and words[-1] in {"1", "2", "3", "4", "5"}:
        words.pop()
    return " ".join(words)


def nearest_measure(text: str, words: Words) -> str:
    """The name of the measure whose name comes nearest to what was written, or ""."""
    by_name = {fold(name): name for name in words.names.values()}
    found = get_close_matches(fold(text), list(by_name), n=1, cutoff=0.6)
    return by_name[found[0]] if found else ""


def parse_day(text: str, order: str, months: Mapping[str, int]) -> date:
    """A day as people write it: 2026-05-04, 4.5.2026, 25/12/2026, 4 May 2026, May 4, 2026.

    ``order`` is "dmy", "mdy" or "" for not said. Points mean day, month, year (common practice, no source). Raises
    ValueError in a sentence, also for what can be read in two ways (03/04/2026 without an order) and for
    years of two figures.
    """
    plain = " ".join(text.split())
    shown = f"“{_shown(plain)}”"
    slashed = _SLASHED.fullmatch(plain)
    if slashed:
        return _from_figures(
            slashed.group(1), slashed.group(3), slashed.group(4), slashed.group(2), order, shown
        )
    named = _NAMED.fullmatch(plain)
    month = months.get(fold(named["m1"] or named["m2"])) if named else None
    if named is None or month is None:
        raise ValueError(f"{shown} is not a date. Write it as in 2026-05-04.")
    return _day(named["y"], month, int(named["d1"] or named["d2"]), shown)


def _from_figures(first: str, second: str, third: str, mark: str, order: str, shown: str) -> date:
    if len(first) == 4:
        return _day(first, int(second), int(third), shown)
    one, two = int(first), int(second)
    if mark == "." and not order:
        order = "dmy"
    if not order:
        if one > 12:
            order = "dmy"
        elif two > 12:
            order = "mdy"
        elif one != two:
            raise ValueError(
                f"{shown} can be read in two ways (day or month first). Say below the columns which comes first."
            )
    day, month = (two, one) if order == "mdy" else (one, two)
    if month > 12 >= day:
        raise ValueError(f"{shown} is no date where the order is {DATE_ORDERS[order]}.")
    return _day(third, month, day, shown)


def _day(year: str, month: int, day: int, shown: str) -> date:
    if len(year) != 4:
        raise ValueError(f"{shown} has a year of {len(year)} figures. Write it with four.")
    try:
        found = date(int(year), month, day)
    except ValueError:
        raise ValueError(f"{shown} is no day of the calendar.") from None
    if found.year < OLDEST_YEAR:
        raise ValueError(f"{shown} lies before {OLDEST_YEAR}.")
    return found


def parse_clock(text: str) -> time:
    """A time of day: 10:30, 9.05, 2:15 pm. Raises ValueError in a sentence."""
    found = _CLOCK.fullmatch(" ".join(text.split()))
    shown = f"“{_shown(text)}”"
    if found is None:
        raise ValueError(f"{shown} is not a time of day. Write it as in 10:30.")
    hour, minute, second = int(found[1]), int(found[2]), int(found[3] or 0)
    if found[4]:
        if not 1 <= hour <= 12:
            raise ValueError(f"{shown} is not a time of day. Write it as in 10:30.")
        hour = hour % 12 + (12 if found[4].lower() == "p" else 0)
    try:
        return time(hour, minute, second)
    except ValueError:
        raise ValueError(f"{shown} is not a time of day. Write it as in 10:30.") from None


def parse_moment(text: str, order: str, months: Mapping[str, int], zone: ZoneInfo) -> datetime:
    """A day, or a day and a time of day, as an instant; ``zone`` holds where no offset is written.

    A day alone is its first minute, so that the same file read at another hour says the same instant. Raises
    ValueError in a sentence.
    """
    plain = " ".join(text.split())
    if _ISO_MOMENT.fullmatch(plain):
        try:
            found = datetime.fromisoformat(plain)
        except ValueError:
            raise ValueError(f"“{_shown(plain)}” is no moment of the calendar.") from None
        if found.year < OLDEST_YEAR:
            raise ValueError(f"“{_shown(plain)}” lies before {OLDEST_YEAR}.")
        return found if found.tzinfo else found.replace(tzinfo=zone)
    day, clock = plain, ""
    parts = re.match(r"(.*\S)[ ,T]+([0-9]{1,2}[:h][0-9]{2}.*)", plain)
    if parts:
        day, clock = parts.group(1).rstrip(","), parts.group(2)
    return datetime.combine(
        parse_day(day, order, months), parse_clock(clock) if clock else time.min, tzinfo=zone
    )


def meanings(listed: Mapping[str, Iterable[str]]) -> dict[str, str]:
    """{meaning: [words]} -> {folded word: meaning}; raises ValueError for a word that stands twice."""
    found: dict[str, str] = {}
    for meaning, words in listed.items():
        for word in words:
            if found.setdefault(fold(word), meaning) != meaning:
                raise ValueError(f"The word {word!r} stands for both {found[fold(word)]} and {meaning}.")
    return found


def _shown(text: str) -> str:
    plain = "".join(sign if sign.isprintable() else "?" for sign in text.strip())
    return plain if len(plain) <= 40 else plain[:39] + "…"
