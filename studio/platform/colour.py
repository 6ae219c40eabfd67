"""A studio's own colour: can it be read on paper, and what goes with it in the dark. Pure.

Contrast is that of WCAG 2.2 ("relative luminance", "contrast ratio"): (L1 + 0.05) / (L2 + 0.05), from 1 to 21; text
needs 4.5 (success criterion 1.4.3).
"""

import re

HOUSE_COLOUR = "#a3234e"  # the basting thread of studio.figures.palette; a test holds the two equal
READABLE = 4.5
# The palest and the darkest ground that it is written on: white paper, the page's shade, the same in the dark.
WHITE, SHADE, DARK = "#ffffff", "#e8e3d6", "#263732"
DARK_SHEET = "#1b2a26"
PALE_SHARE = 0.14


def checked_colour(text: str) -> str:
    """A colour as #rrggbb in small letters that can be read on white and on pale paper; ValueError with a sentence."""
    colour = text.strip().lower()
    if not re.fullmatch(r"#[0-9a-f]{6}", colour):
        raise ValueError("Write the colour as # and six signs from 0 to 9 and a to f, for example #1f3f77.")
    found = contrast(colour, SHADE)
    if found < READABLE:
        raise ValueError(
            f"This colour is too pale to be read on paper: its contrast is {contrast(colour, WHITE):.1f} to 1 on white "
            f"and {found:.1f} to 1 on the pale ground of a page, and small words need {READABLE} to 1 on both. "
            "Choose a darker one."
        )
    return colour


def contrast(one: str, other: str) -> float:
    """The contrast ratio of two colours, 1 (none) to 21 (black on white)."""
    pale, dark = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (pale + 0.05) / (dark + 0.05)


def lit(colour: str) -> str:
    """The same colour, so much nearer to white that it can be read on the dark ground of a page at night."""
    for step in range(101):
        found = mixed(colour, WHITE, step / 100)
        if contrast(found, DARK) >= READABLE:
            break
    return found


def mixed(colour: str, ground: str, share: float) -> str:
    """``share`` of the way from a colour to a ground, 0 to 1."""
    pairs = zip(_parts(colour), _parts(ground), strict=True)
    return "#" + "".join(f"{round(one + (other - one) * share):02x}" for one, other in pairs)


def page_colours(colour: str) -> str:
    """A style sheet that sets a page's thread in this colour, by day and in the dark."""
    night = lit(colour)
    return (
        f":root {{ --thread: {colour}; --thread-pale: {mixed(WHITE, colour, PALE_SHARE)}; }}\n"
        f"@media (prefers-color-scheme: dark) {{ :root {{ --thread: {night}; "
        f"--thread-pale: {mixed(DARK_SHEET, night, PALE_SHARE * 2)}; }} }}\n"
    )


def _parts(colour: str) -> tuple[int, int, int]:
    return int(colour[1:3], 16), int(colour[3:5], 16), int(colour[5:7], 16)


def _luminance(colour: str) -> float:
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4
        for part in (sign / 255 for sign in _parts(colour))
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue
