"""Reading and writing lengths and weights as people type them.

Lengths become `Decimal` millimetres, weights `Decimal` kilograms, both carried to four decimals.
One inch is 25.4 mm and one pound 0.45359237 kg, both exactly (international yard and pound agreement, 1959),
so a sixteenth of an inch, 1.5875 mm, keeps all its figures.

A text that could mean two things is refused instead of guessed: a wrong length gets cut into cloth.
The arithmetic is done in exact fractions, so no result depends on a rounding setting.
"""

import math
import re
from decimal import Decimal
from fractions import Fraction
from typing import Final

Number = Decimal | Fraction | float | int

LENGTH_UNITS: Final = ("cm", "in", "mm")
WEIGHT_UNITS: Final = ("kg", "lb")

MM_PER_UNIT: Final = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "in": Fraction(254, 10),
    "ft": Fraction(3048, 10),
}
KG_PER_UNIT: Final = {"kg": Fraction(1), "lb": Fraction(45359237, 100000000)}

LONGEST_TEXT: Final = 40
PLACES: Final = 4  # what the database keeps: numeric(10,4)
LARGEST: Final = Fraction(10**6)  # the same column holds six figures before the point

_UNIT_WORDS: Final = {
    "mm": ("mm", "millimetre", "millimetres", "millimeter", "millimeters"),
    "cm": ("cm", "cms", "centimetre", "centimetres", "centimeter", "centimeters"),
    "m": ("m", "metre", "metres", "meter", "meters"),
    "in": ("in", "in.", "ins", "inch", "inches", '"'),
    "ft": ("ft", "ft.", "foot", "feet", "'"),
    "kg": ("kg", "kgs", "kilo", "kilos", "kilogram", "kilograms"),
    "lb": ("lb", "lb.", "lbs", "pound", "pounds"),
}
_UNIT_OF_WORD: Final = {word: unit for unit, words in _UNIT_WORDS.items() for word in words}

# What keyboards and word processors make of a space, a slash, a minus, a foot and an inch mark.
_LOOKALIKES: Final = str.maketrans(
    {
        "\u00a0": " ",
        "\u202f": " ",
        "\u2009": " ",
        "\u2044": "/",
        "\u2212": "-",
        "\u2019": "'",
        "\u2032": "'",
        "\u201d": '"',
        "\u2033": '"',
    }
)
_VULGAR: Final = {
    "¼": "1/4",
    "½": "1/2",
    "¾": "3/4",
    "⅛": "1/8",
    "⅜": "3/8",
    "⅝": "5/8",
    "⅞": "7/8",
}
_DENOMINATORS: Final = (2, 4, 8, 16)

_DEFAULT_STEPS: Final = {"cm": Fraction(1, 10), "in": Fraction(1, 8), "mm": Fraction(1)}

_ALLOWED: Final = re.compile(r"[0-9A-Za-z.,/'\" \-+]+")
_TOKEN: Final = re.compile(
    r"(?P<fraction>[0-9]+/[0-9]+)|(?P<number>[0-9]+(?:[.,][0-9]+)?)|(?P<unit>[A-Za-z]+\.?|''|'|\")|(?P<hyphen>-)"
)
_NOT_A_NUMBER: Final = re.compile(r"[+-]?(?:nan|inf|infinity)", re.IGNORECASE)


def parse_length(text: str, default_unit: str) -> Decimal:
    """Return the length that `text` says, in millimetres, exact, with four decimals.

    `default_unit` ("cm", "in" or "mm") holds where no unit is typed; a typed unit wins over it.
    Understood: ``97``, ``97.5``, ``97,5 cm``, ``970 mm``, ``1.68 m``, ``38 1/4``, ``38-1/4"``, ``38¼ in``,
    ``3' 2"``, ``5 ft``. Fractions are halves, quarters, eighths and sixteenths.

    Raises `ValueError`, in a sentence for the person who typed, where the text is empty, not a length,
    negative, finer than 0.0001 mm, 1000 m or longer, or could be read in two ways (``1,234``; ``38 5``;
    two units).
    """
    _require_unit(default_unit, LENGTH_UNITS)
    tokens = _tokens(text, "length", "97.5 cm or 38 1/4 in")
    shown = _shown(text)
    feet = Fraction(0)
    has_feet = len(tokens) >= 2 and tokens[0][0] == "number" and _unit_of(tokens[1]) == "ft"
    if has_feet:
        if not tokens[0][1].isdigit():
            raise ValueError(
                f"{shown} can be read in two ways (tenths of a foot, or inches). Type it as 5' 6\"."
            )
        feet = Fraction(tokens[0][1])
        tokens = tokens[2:]
    if has_feet and not tokens:
        return _stored(feet * MM_PER_UNIT["ft"], shown, "length")
    amount, unit = _amount_and_unit(tokens, shown, ("mm", "cm", "m", "in"), "length")
    if has_feet:
        if unit not in (None, "in"):
            raise ValueError(f"{shown} mixes two units. After feet only inches can follow, as in 3' 2\".")
        if amount >= 12:
            raise ValueError(f"{shown} has 12 or more inches after the feet. Type all of it in inches.")
        unit = "in"
    unit = unit or default_unit
    number = tokens[0][1]
    if unit == "mm" and re.fullmatch(r"[0-9]{1,3}\.[0-9]{3}", number):
        raise ValueError(
            f"{shown} can be read in two ways (a thousand, or thousandths of a millimetre). "
            "Type it without a mark for the thousands, as in 1680 mm."
        )
    return _stored(feet * MM_PER_UNIT["ft"] + amount * MM_PER_UNIT[unit], shown, "length")


def parse_weight(text: str, default_unit: str) -> Decimal:
    """Return the weight that `text` says, in kilograms, rounded to four decimals (a tenth of a gram).

    `default_unit` ("kg" or "lb") holds where no unit is typed.
    Understood: ``60``, ``60,5 kg``, ``132 1/2 lb``.

    Raises `ValueError`, in a sentence for the person who typed, on the same grounds as `parse_length`.
    """
    _require_unit(default_unit, WEIGHT_UNITS)
    tokens = _tokens(text, "weight", "60.5 kg or 132 lb")
    shown = _shown(text)
    amount, unit = _amount_and_unit(tokens, shown, WEIGHT_UNITS, "weight")
    kilograms = amount * KG_PER_UNIT[unit or default_unit]
    # A pound has eight decimals of a kilogram; no scale reads a tenth of a gram on a person.
    return _stored(Fraction(_half_up(kilograms * 10**PLACES), 10**PLACES), shown, "weight")


def format_length(mm: Number, unit: str, step: Number | None = None) -> str:
    """Write a length of `mm` millimetres in `unit` ("cm", "in" or "mm") with its unit.

    `step` is the smallest part shown, in that unit: 0.1 for cm, 1/8 for in, 1 for mm where none is given.
    The value goes to the nearest step, halves away from zero: ``97.2 cm``, ``38 1/4 in``, ``972 mm``.

    Raises `ValueError` for an unknown unit, an impossible step, NaN, infinity or a negative length
    (for a change or an ease, which may be negative, see `format_difference`).
    """
    _require_unit(unit, LENGTH_UNITS)
    exact = _fraction(mm, "length")
    if exact < 0:
        raise ValueError(f"A length cannot be negative (got {float(exact):g} mm).")
    return _format(exact / MM_PER_UNIT[unit], unit, step)


def format_difference(mm: Number, unit: str, step: Number | None = None) -> str:
    """Write a change or an ease of `mm` millimetres with its sign: ``+1.5 cm``, ``−3/8 in``.

    What rounds to nothing has no sign: ``0.0 cm``. Units, steps, rounding and errors as in `format_length`,
    but the value may be negative.
    """
    _require_unit(unit, LENGTH_UNITS)
    exact = _fraction(mm, "difference")
    text = _format(abs(exact) / MM_PER_UNIT[unit], unit, step)
    if not re.search("[1-9]", text):
        return text
    return ("\u2212" if exact < 0 else "+") + text


def format_change(before_mm: Number, after_mm: Number, unit: str, step: Number | None = None) -> str:
    """Write the change from one length to another as the difference of what `format_length` shows of the two.

    80.8 cm and 84.2 cm shown side by side differ by ``+3.4 cm``, whatever was rounded away of either. Units, steps,
    rounding and errors as in `format_length`.
    """
    _require_unit(unit, LENGTH_UNITS)
    part = _DEFAULT_STEPS[unit] if step is None else _fraction(step, "step")
    if part <= 0:
        raise ValueError(f"The step must be greater than 0 (got {step}).")
    before, after = (_fraction(mm, "length") / MM_PER_UNIT[unit] for mm in (before_mm, after_mm))
    if before < 0 or after < 0:
        raise ValueError("A length cannot be negative.")
    steps = _half_up(after / part) - _half_up(before / part)
    return format_difference(steps * part * MM_PER_UNIT[unit], unit, step)


def format_weight(kg: Number, unit: str, step: Number | None = None) -> str:
    """Write a weight of `kg` kilograms in `unit` ("kg" or "lb"), by default to the nearest tenth of it.

    Raises `ValueError` for an unknown unit, an impossible step, NaN, infinity or a negative weight.
    """
    _require_unit(unit, WEIGHT_UNITS)
    exact = _fraction(kg, "weight")
    if exact < 0:
        raise ValueError(f"A weight cannot be negative (got {float(exact):g} kg).")
    return _format(exact / KG_PER_UNIT[unit], unit, step)


def _require_unit(unit: str, known: tuple[str, ...]) -> None:
    if unit not in known:
        raise ValueError(f"Unknown unit {unit!r}: use one of {', '.join(known)}.")


def _shown(text: str) -> str:
    """Quote what was typed, without characters that a page or a log could not show."""
    return "“" + "".join(sign if sign.isprintable() else "?" for sign in text.strip()) + "”"


def _tokens(text: str, noun: str, example: str) -> list[tuple[str, str]]:
    """Split a typed text into (kind, text) pairs, or say what is wrong with it."""
    if not isinstance(text, str):
        raise ValueError(f"A {noun} is read from text, not from {type(text).__name__}.")
    if len(text) > LONGEST_TEXT:
        raise ValueError(f"The text is too long for a {noun}. Type it as in {example}.")
    plain = text.strip().translate(_LOOKALIKES)
    if not plain:
        raise ValueError(f"No {noun} was typed. Type one, as in {example}.")
    shown = _shown(text)
    for sign, figures in _VULGAR.items():
        plain = plain.replace(sign, f" {figures} ")
    if not _ALLOWED.fullmatch(plain):
        raise ValueError(
            f"{shown} holds a character that does not belong in a {noun}. "
            f"Use the figures 0 to 9, a point or comma, a fraction and a unit, as in {example}."
        )
    plain = plain.strip()
    if _NOT_A_NUMBER.match(plain):
        raise ValueError(f"{shown} is not a {noun}. Type a number, as in {example}.")
    if plain.startswith("-"):
        raise ValueError(f"{shown} is negative. A {noun} is zero or more.")
    tokens: list[tuple[str, str]] = []
    position = 0
    while position < len(plain):
        if plain[position] == " ":
            position += 1
            continue
        match = _TOKEN.match(plain, position)
        if match is None:
            raise ValueError(f"{shown} could not be read as a {noun}. Type it as in {example}.")
        tokens.append((str(match.lastgroup), match.group()))
        position = match.end()
        # "97." and "1.2.3" are unfinished or slips; "1/2/3" no fraction.
        if match.lastgroup in ("number", "fraction") and plain[position : position + 1] in (".", ",", "/"):
            raise ValueError(f"{shown} could not be read as a {noun}. Type it as in {example}.")
    return tokens


def _unit_of(token: tuple[str, str]) -> str | None:
    kind, word = token
    return _UNIT_OF_WORD.get('"' if word == "''" else word.lower()) if kind == "unit" else None


def _amount_and_unit(
    tokens: list[tuple[str, str]], shown: str, units: tuple[str, ...], noun: str
) -> tuple[Fraction, str | None]:
    """Read [number] [fraction] [unit] and nothing else; the unit is None where none was typed."""
    numbers = [text for kind, text in tokens if kind == "number"]
    fractions = [text for kind, text in tokens if kind == "fraction"]
    words = [token for token in tokens if token[0] == "unit"]
    for word in words:
        if _unit_of(word) is None or _unit_of(word) not in (*units, "ft"):
            raise ValueError(f"{shown} has an unknown unit, {word[1]!r}. Use one of {', '.join(units)}.")
    if len(words) > 1:
        raise ValueError(f"{shown} has more than one unit. Type the {noun} in one unit.")
    if len(numbers) > 1 or len(fractions) > 1:
        raise ValueError(f"{shown} has more than one number. Type one; a part goes after a point.")
    kinds = [kind for kind, _ in tokens]
    if "hyphen" in kinds and kinds[:3] == ["number", "hyphen", "fraction"]:
        kinds.remove("hyphen")  # 38-1/4 is how many write 38 1/4
    if kinds not in (
        ["number"],
        ["fraction"],
        ["number", "fraction"],
        ["number", "unit"],
        ["fraction", "unit"],
        ["number", "fraction", "unit"],
    ):
        raise ValueError(f"{shown} could not be read as a {noun}: a number comes first, then its unit.")
    unit = _unit_of(words[0]) if words else None
    if unit is not None and unit not in units:
        raise ValueError(f"{shown} could not be read as a {noun}: type whole feet first, then inches.")
    amount = _number(numbers[0], shown) if numbers else Fraction(0)
    if fractions:
        if numbers and not numbers[0].isdigit():
            raise ValueError(f"{shown} has both decimals and a fraction. Use one of the two.")
        amount += _proper_fraction(fractions[0], shown)
    return amount, unit


def _number(text: str, shown: str) -> Fraction:
    whole, _, decimals = text.replace(",", ".").partition(".")
    if "," in text and len(decimals) == 3:
        raise ValueError(
            f"{shown} can be read in two ways (a comma for the thousands, or for the decimals). "
            "Type it without a comma."
        )
    return Fraction(f"{whole}.{decimals or 0}")


def _proper_fraction(text: str, shown: str) -> Fraction:
    top, bottom = (int(part) for part in text.split("/"))
    if bottom not in _DENOMINATORS:
        raise ValueError(f"{shown} has an unknown fraction. Use halves, quarters, eighths or sixteenths.")
    if not 0 < top < bottom:
        raise ValueError(f"{shown} has the fraction {text}, which is not below one: a space may be missing.")
    return Fraction(top, bottom)


def _stored(exact: Fraction, shown: str, noun: str) -> Decimal:
    scaled = exact * 10**PLACES
    if scaled.denominator != 1:
        raise ValueError(f"{shown} has more decimals than a {noun} needs. Leave some out.")
    if exact >= LARGEST:
        raise ValueError(f"{shown} is too large for a {noun}. Check the number and its unit.")
    # Built from digits, since Decimal arithmetic would round by the caller's context.
    return Decimal((0, tuple(int(digit) for digit in str(scaled.numerator)), -PLACES))


def _fraction(value: Number, noun: str) -> Fraction:
    """Return the exact value; a float counts as the decimal it prints as, so that 0.1 is a tenth."""
    if isinstance(value, bool) or not isinstance(value, int | float | Decimal | Fraction):
        raise ValueError(f"A {noun} must be a number, not {type(value).__name__}.")
    if not isinstance(value, Fraction) and not math.isfinite(value):
        raise ValueError(f"A {noun} must be a finite number (got {value}).")
    return Fraction(repr(float(value))) if isinstance(value, float) else Fraction(value)


def _half_up(value: Fraction) -> int:
    """Round a value of zero or more to the nearest whole number, halves up."""
    return math.floor(value + Fraction(1, 2))


def _format(amount: Fraction, unit: str, step: Number | None) -> str:
    part = _DEFAULT_STEPS.get(unit, Fraction(1, 10)) if step is None else _fraction(step, "step")
    if part <= 0:
        raise ValueError(f"The step must be greater than 0 (got {step}).")
    if unit == "in":
        if part.numerator != 1 or part.denominator not in (1, *_DENOMINATORS):
            raise ValueError(f"The step in inches must be 1, 1/2, 1/4, 1/8 or 1/16 (got {step}).")
        whole, rest = divmod(_half_up(amount / part) * part, 1)
        if not rest:
            return f"{whole} in"
        return f"{whole} {rest} in" if whole else f"{rest} in"
    places = next((n for n in range(PLACES + 1) if (part * 10**n).denominator == 1), None)
    if places is None:
        raise ValueError(f"The step must be a number of at most {PLACES} decimals (got {step}).")
    digits = str(int(_half_up(amount / part) * part * 10**places)).rjust(places + 1, "0")
    number = f"{digits[:-places]}.{digits[-places:]}" if places else digits
    return f"{number} {unit}"
