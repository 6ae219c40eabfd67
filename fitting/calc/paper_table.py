"""Charts and patterns as a table: the columns, and rows read into what they mean. Pure: texts in, values out.

One row is one figure of one size. What belongs to the whole (source, unit, garment) stands on its first row and may
be repeated on others, but not differently. Lengths come out in mm.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

# Column heads by what they hold; the first that is needed of every file stand in REQUIRED.
CHART_HEADS = {
    "name": "Chart",
    "source": "Source",
    "unit": "Unit",
    "base_height": "Height of the base figure",
    "base_cup": "Cup of the base figure",
    "notes": "Notes",
    "size": "Size",
    "measure": "Measure",
    "value": "Value",
}
PATTERN_HEADS = {
    "name": "Pattern",
    "kind": "Garment",
    "closeness": "Fit",
    "structure": "Cloth",
    "stretch": "Stretch in percent",
    "basis": "Table holds",
    "chart": "Body chart",
    "unit": "Unit",
    "seam_allowance": "Seam allowance",
    "base_height": "Height of the base figure",
    "base_cup": "Cup of the base figure",
    "notes": "Notes",
    "size": "Size",
    "measure": "Measure",
    "value": "Value",
    "piece": "Piece",
    "cut": "Cut",
    "on_fold": "On the fold",
    "times": "Times",
    "allowances": "Seam allowances crossed",
    "intakes": "Darts, tucks, pleats",
}
OF_ROW = frozenset(
    {"name", "size", "measure", "value", "piece", "times", "allowances", "intakes", "cut", "on_fold"}
)
REQUIRED = ("name", "size", "measure", "value")
UNITS = {
    "cm": "cm",
    "centimetres": "cm",
    "in": "in",
    "inches": "in",
    '"': "in",
    "mm": "mm",
    "millimetres": "mm",
}


@dataclass(frozen=True)
class Problem:
    """What can't be used: the row as a spreadsheet counts it (0: the file), the column's head, a sentence."""

    row: int
    column: str
    reason: str


@dataclass(frozen=True)
class Figure:
    """One figure with the row that it stands in; `piece` is blank unless it was measured flat."""

    row: int
    size: str
    measure: str
    value: Decimal
    piece: str = ""
    times: int = 1
    cut: int = 0
    on_fold: bool = False
    allowances: tuple[Decimal, ...] = ()
    intakes: tuple[tuple[str, Decimal], ...] = ()


@dataclass
class Whole:
    """One chart or pattern: its facts as texts, each with the row where it stands, and its figures."""

    name: str
    row: int
    facts: dict[str, tuple[str, int]] = field(default_factory=dict)
    figures: list[Figure] = field(default_factory=list)
    broken: bool = False  # a row of it can't be used

    def fact(self, name: str) -> str:
        return self.facts.get(name, ("", 0))[0]


Parse = Callable[[str, str], Decimal]  # (text, unit) -> mm; raises ValueError in a sentence


def columns_of(heads: Sequence[str]) -> tuple[str, dict[str, int]]:
    """("charts" or "patterns", field -> place) from the heads.

    Raises ValueError naming what is missing, and what is not known: a head spelt otherwise would be lost unseen.
    """
    known = {_plain(head): place for place, head in reversed(list(enumerate(heads)))}
    what = "patterns" if _plain("Pattern") in known else "charts"
    table = heads_of(what)
    found = {name: known[_plain(head)] for name, head in table.items() if _plain(head) in known}
    missing = [table[name] for name in REQUIRED if name not in found]
    if missing:
        raise ValueError(
            f"The first row must name the columns; {', '.join(missing)} "
            f"{'is' if len(missing) == 1 else 'are'} missing. An export shows all of them."
        )
    strange = [
        head.strip() for head in heads if head.strip() and _plain(head) not in map(_plain, table.values())
    ]
    if strange:
        raise ValueError(
            f"The column {strange[0]!r} is not known here; known are {', '.join(table.values())}. "
            "Rename it, or leave it out."
        )
    return what, found


def heads_of(what: str) -> Mapping[str, str]:
    return PATTERN_HEADS if what == "patterns" else CHART_HEADS


def read_table(
    what: str, columns: Mapping[str, int], rows: Iterable[tuple[int, Sequence[str]]], parse: Parse
) -> tuple[list[Whole], list[Problem]]:
    """The charts or patterns of a file in its order, and every problem with a row."""
    heads, problems = heads_of(what), []
    found: dict[str, Whole] = {}
    last = ""
    for number, cells in rows:
        row = {name: cells[place].strip() if place < len(cells) else "" for name, place in columns.items()}
        name = " ".join((row["name"] or last).split())
        if not name:
            problems.append(Problem(number, heads["name"], "No row above names what this belongs to."))
            continue
        last = name
        whole = found.setdefault(name.lower(), Whole(name, number))
        wrong = _take_facts(whole, row, number, heads)
        figure, unread = _figure(whole, row, number, heads, parse, charts=what == "charts")
        wrong += unread
        problems += wrong
        whole.broken = whole.broken or bool(wrong)
        if figure is not None:
            whole.figures.append(figure)
    return list(found.values()), problems


def _take_facts(whole: Whole, row: Mapping[str, str], number: int, heads: Mapping[str, str]) -> list[Problem]:
    problems = []
    for name, cell in row.items():
        if name in OF_ROW or not cell:
            continue
        text = UNITS.get(cell.lower(), cell) if name == "unit" else cell
        earlier, where = whole.facts.setdefault(name, (text, number))
        if earlier != text:
            reason = f"{whole.name} says {earlier!r} in row {where} and {text!r} here."
            if name == "unit":
                reason = f"{whole.name} is stated in {earlier} in row {where} and in {text} here: one unit for all."
            problems.append(Problem(number, heads[name], reason))
    return problems


def _figure(
    whole: Whole, row: Mapping[str, str], number: int, heads: Mapping[str, str], parse: Parse, *, charts: bool
) -> tuple[Figure | None, list[Problem]]:
    problems: list[Problem] = []
    unit = whole.fact("unit") or "cm"
    if unit not in {"cm", "in", "mm"}:
        return None, [Problem(number, heads["unit"], f"{unit!r} is no unit here; write cm or in.")]
    for name in ("size", "measure", "value"):
        if not row[name]:
            problems.append(Problem(number, heads[name], f"{heads[name]} is empty."))
    if problems:
        return None, problems

    def length(name: str, text: str) -> Decimal:
        typed = _typed_unit(text)
        if charts and typed and typed != unit:
            raise ValueError(
                f"{text} is in another unit than the rest of {whole.name}, which is in {unit}: one unit for all of it."
            )
        return parse(text, unit)

    def attempt(name: str, text: str) -> Decimal:
        try:
            return length(name, text)
        except ValueError as exc:
            problems.append(Problem(number, heads[name], str(exc)))
            return Decimal(0)

    value = attempt("value", row["value"])
    allowances = tuple(attempt("allowances", part) for part in _parts(row.get("allowances", "")))
    intakes = []
    for part in _parts(row.get("intakes", "")):
        kind, _, amount = part.partition(" ")
        intakes.append((kind.lower().rstrip("s:"), attempt("intakes", amount.strip() or part)))
    whole_numbers = {}
    for name in ("times", "cut"):
        text = row.get(name, "")
        if text and not re.fullmatch(r"[0-9]{1,3}", text):
            problems.append(Problem(number, heads[name], f"{text!r} is no whole number."))
        whole_numbers[name] = int(text) if re.fullmatch(r"[0-9]{1,3}", text) else 0
    if problems:
        return None, problems
    figure = Figure(
        row=number,
        size=row["size"],
        measure=row["measure"],
        value=value,
        piece=" ".join(row.get("piece", "").split()),
        times=whole_numbers["times"] or 1,
        cut=whole_numbers["cut"],
        on_fold=row.get("on_fold", "").lower() in {"yes", "y", "true", "1"},
        allowances=allowances,
        intakes=tuple(intakes),
    )
    return figure, []


def _plain(head: str) -> str:
    return " ".join(head.lower().split())


def _parts(text: str) -> list[str]:
    return [part.strip() for part in re.split(r"[+;]", text) if part.strip()]


def _typed_unit(text: str) -> str:
    """The unit that a cell names by itself, "" for none."""
    found = re.search(r"(mm|cm|in|inches|\"|\u2033)\s*$", text.lower())
    return UNITS.get(found[1].replace("\u2033", '"'), "") if found else ""
