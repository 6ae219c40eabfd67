"""The grids in which a run of sizes is typed: finished or body measures, or pieces measured flat."""

import re
from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

from django import forms
from django.forms.boundfield import BoundField

from fitting.queries.paper_zones import paper_zones
from fitting.services.patterns import FlatGiven, IntakeGiven, PieceGiven, SizeGiven
from studio.calc.units import parse_length


def cell_name(size: str, measure: str) -> str:
    """A cell's field; by the size's name, so that what was typed outlives a new order of sizes."""
    return f"cell-{size}-{measure}"


def paper_names() -> dict[str, tuple[str, str]]:
    """The measures of paper: code to (name, how it is measured)."""
    return {code: (zone.name, zone.how) for code, zone in paper_zones().items()}


class SizeGridForm(forms.Form):
    """The second step: a grid with the sizes across and the measures down."""

    def __init__(
        self,
        data: Any,
        *,
        sizes: Sequence[str],
        measures: Sequence[str],
        unit: str,
        known: Mapping[str, tuple[str, str]] | None = None,
    ) -> None:
        super().__init__(data)
        self.sizes, self.unit = list(sizes), unit
        self.known = known or paper_names()
        self.measures = [code for code in self.known if code in measures]
        for code in self.measures:
            for size in self.sizes:
                self.fields[cell_name(size, code)] = forms.CharField(
                    max_length=32,
                    label=f"{self.known[code][0]}, size {size}",
                    error_messages={"required": f"Type the {self.known[code][0].lower()} of size {size}."},
                    widget=forms.TextInput(
                        attrs={
                            "inputmode": "decimal" if unit == "cm" else "text",
                            "autocomplete": "off",
                            "aria-label": f"{self.known[code][0]}, size {size}, in {unit}",
                        }
                    ),
                )

    @property
    def lines(self) -> list[tuple[str, str, list[BoundField]]]:
        """Each measure with its name, how it is taken, and its cells."""
        return [
            (
                self.known[code][0],
                self.known[code][1],
                [self[cell_name(size, code)] for size in self.sizes],
            )
            for code in self.measures
        ]

    @property
    def wrong(self) -> list[BoundField]:
        """The cells that can't be used, in the order of the grid."""
        return [cell for _, _, cells in self.lines for cell in cells if cell.errors]

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        self.values: dict[str, dict[str, Decimal]] = {size: {} for size in self.sizes}
        for code in self.measures:
            for size in self.sizes:
                typed = given.get(cell_name(size, code))
                if typed:
                    try:
                        self.values[size][code] = parse_length(typed, self.unit)
                    except ValueError as exc:
                        self.add_error(cell_name(size, code), f"Size {size}: {exc}")
        return given

    def run(self) -> list[SizeGiven]:
        return [SizeGiven(size, self.values[size]) for size in self.sizes]

    def pieces(self) -> list[PieceGiven]:
        return []

    def cell_of(self, field: str) -> str | None:
        """The cell that a reason of the service speaks of: ``sizes.2.measures.hip`` or ``sizes.2.name``."""
        found = re.fullmatch(r"sizes\.(\d+)\.(?:measures\.(\w+)|name)", field)
        if found is None or int(found[1]) >= len(self.sizes):
            return None
        code = found[2] or self.measures[0]
        return cell_name(self.sizes[int(found[1])], code) if code in self.measures else None


class FlatGridForm(forms.Form):
    """The second step where the pieces are measured flat: for each measure the pieces down, the sizes across."""

    def __init__(
        self, data: Any, *, sizes: Sequence[str], measures: Sequence[str], pieces: Sequence[str], unit: str
    ) -> None:
        super().__init__(data)
        self.sizes, self.piece_names, self.unit = list(sizes), list(pieces), unit
        self.known = paper_names()
        self.measures = [code for code in self.known if code in measures]
        for code in self.measures:
            for place, piece in enumerate(self.piece_names):
                what = f"{self.known[code][0]}, {piece}"
                self.fields[f"cell-times-{code}-{place}"] = forms.IntegerField(
                    required=False, min_value=1, max_value=24, label=f"{what}: times",
                    widget=forms.NumberInput(attrs={"aria-label": f"{what}: how often it goes in"}),
                )  # fmt: skip
                for field, words in (("allow", "seam allowances"), ("take", "darts, tucks, pleats")):
                    self.fields[f"cell-{field}-{code}-{place}"] = forms.CharField(
                        required=False, max_length=80, label=f"{what}: {words}",
                        widget=forms.TextInput(attrs={"autocomplete": "off", "aria-label": f"{what}: {words}"}),
                    )  # fmt: skip
                for size in self.sizes:
                    self.fields[self._width(code, place, size)] = forms.CharField(
                        required=False, max_length=32, label=f"{what}, size {size}",
                        widget=forms.TextInput(
                            attrs={
                                "inputmode": "decimal" if unit == "cm" else "text",
                                "autocomplete": "off",
                                "aria-label": f"{what}, size {size}, in {unit}",
                            }
                        ),
                    )  # fmt: skip

    @staticmethod
    def _width(code: str, place: int, size: str) -> str:
        return f"cell-{size}-{code}-{place}"

    @property
    def blocks(self) -> list[tuple[str, str, list[tuple[str, list[BoundField]]]]]:
        """(measure, how it is taken, [(piece, its cells: times, allowances, intakes, a width for each size)])."""
        return [
            (
                *self.known[code],
                [
                    (
                        piece,
                        [
                            self[f"cell-times-{code}-{place}"],
                            self[f"cell-allow-{code}-{place}"],
                            self[f"cell-take-{code}-{place}"],
                            *(self[self._width(code, place, size)] for size in self.sizes),
                        ],
                    )
                    for place, piece in enumerate(self.piece_names)
                ],
            )
            for code in self.measures
        ]

    @property
    def wrong(self) -> list[BoundField]:
        return [cell for _, _, rows in self.blocks for _, cells in rows for cell in cells if cell.errors]

    def clean(self) -> dict[str, Any]:
        given = super().clean() or {}
        self._flats: list[list[tuple[str, FlatGiven]]] = [[] for _ in self.piece_names]
        for code in self.measures:
            for place in range(len(self.piece_names)):
                widths = {size: given.get(self._width(code, place, size), "") for size in self.sizes}
                if any(widths.values()):
                    self._read(given, code, place, widths)
        return given

    def _read(self, given: Mapping[str, Any], code: str, place: int, widths: Mapping[str, str]) -> None:
        allowances = self._lengths(f"cell-allow-{code}-{place}", given)
        intakes = self._intakes(f"cell-take-{code}-{place}", given)
        times = given.get(f"cell-times-{code}-{place}") or 1
        for size, typed in widths.items():
            cell = self._width(code, place, size)
            if not typed:
                self.add_error(cell, f"Type the width in size {size} too, or leave the whole line blank.")
                continue
            try:
                width = parse_length(typed, self.unit)
            except ValueError as exc:
                self.add_error(cell, f"Size {size}: {exc}")
                continue
            self._flats[place].append((cell, FlatGiven(size, code, width, times, allowances, intakes)))

    def _lengths(self, field: str, given: Mapping[str, Any]) -> tuple[Decimal, ...]:
        """ "1.5 + 1.5" as millimetres."""
        try:
            return tuple(parse_length(part, self.unit) for part in _parts(given.get(field, "")))
        except ValueError as exc:
            self.add_error(field, f"{exc} Several go with a plus between them: 1.5 + 1.5.")
            return ()

    def _intakes(self, field: str, given: Mapping[str, Any]) -> tuple[IntakeGiven, ...]:
        """ "dart 2 + pleat 6" as what each swallows."""
        found = []
        for part in _parts(given.get(field, "")):
            what, _, typed = part.partition(" ")
            try:
                found.append(IntakeGiven(what.lower().rstrip("s:"), parse_length(typed.strip(), self.unit)))
            except ValueError as exc:
                self.add_error(field, f"{exc} Write what it is and what it swallows: dart 2 + pleat 6.")
                return ()
        return tuple(found)

    def run(self) -> list[SizeGiven]:
        return [SizeGiven(size, {}) for size in self.sizes]

    def pieces(self) -> list[PieceGiven]:
        """The pieces; how often each is cut is the most that it goes into any measure."""
        return [
            PieceGiven(
                name,
                cut=max((flat.times for _, flat in flats), default=1),
                flats=tuple(flat for _, flat in flats),
            )
            for name, flats in zip(self.piece_names, self._flats, strict=True)
        ]

    def cell_of(self, field: str) -> str | None:
        """The cell that a reason of the service speaks of: ``pieces.0.flats.3.intakes``, ``sizes.2.measures.hip``."""
        found = re.fullmatch(r"pieces\.(\d+)\.flats\.(\d+)(?:\.(\w+))?", field)
        if found is not None and int(found[1]) < len(self._flats):
            cell, flat = self._flats[int(found[1])][int(found[2])]
            return f"cell-take-{flat.measure}-{found[1]}" if found[3] == "intakes" else cell
        found = re.fullmatch(r"sizes\.(\d+)\.measures\.(\w+)", field)
        if found is not None and found[2] in self.measures and int(found[1]) < len(self.sizes):
            return self._width(found[2], 0, self.sizes[int(found[1])])
        return None


def _parts(text: str) -> list[str]:
    return [part.strip() for part in re.split(r"[+;]", text) if part.strip()]
