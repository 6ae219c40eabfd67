"""The letters of every printed document: our own fonts first, and a further one for each script that they lack.

DejaVu (it comes with matplotlib) writes Latin, Greek, Cyrillic, Arabic and Hebrew, and is all that most documents
need. Kurinto (it comes with weblate-fonts, under the Open Font License) writes the others. A further font is given
exactly those letters that the ones before it lack, so the same text is set by the same fonts on every machine. A
letter that none of them has comes from the machine's own fonts, or is the empty box of a missing letter.
"""

import base64
import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from importlib.metadata import version as installed_version
from pathlib import Path

SCHEME = "report-font"
SANS, SERIF = "Report Sans", "Report Serif"
# (family, weight, style): file
OWN = {
    (SANS, "normal", "normal"): "DejaVuSans.ttf",
    (SANS, "bold", "normal"): "DejaVuSans-Bold.ttf",
    (SANS, "normal", "italic"): "DejaVuSans-Oblique.ttf",
    (SERIF, "normal", "normal"): "DejaVuSerif.ttf",
}
# Han letters are written a little otherwise in each region, so each has a font of its own.
EAST = {"JP": "KurintoSansJP", "SC": "KurintoSansSC", "TC": "KurintoSansTC", "KR": "KurintoSansKR"}
WORLD = {"World": "KurintoSans"}
WEIGHTS = {"normal": "Rg", "bold": "Bd"}
# The national standards that list which Han letters a region writes.
NATIONAL = (("SC", "gb2312"), ("TC", "big5"), ("JP", "shift_jis"))
DRAWING = re.compile(r"data:image/svg\+xml;base64,([A-Za-z0-9+/=]+)")


@dataclass(frozen=True)
class Dressed:
    """A document that names its fonts, and the style sheet that brings them."""

    html: str
    faces: str


def fonts_words() -> str:
    """The fonts by version, for the record of what made a document."""
    return (
        f"DejaVu from matplotlib {installed_version('matplotlib')}"
        f" and Kurinto from weblate-fonts {installed_version('weblate-fonts')}"
    )


def dress(html: str) -> Dressed:
    """Give a document the fonts that its letters need, in its drawings as well."""
    further = further_fonts(html + "".join(drawing for _, drawing in _drawings(html)))
    names = [f"Report {name}" for name in further]
    stacks = {SANS: [SANS, *names], SERIF: [SERIF, SANS, *names]}
    html = DRAWING.sub(lambda found: _restacked_drawing(found, stacks), html) if names else html
    for family, stack in stacks.items():
        html = html.replace(f'"{family}"', ", ".join(f'"{name}"' for name in stack))
    faces = [_face(family, weight, style, file) for (family, weight, style), file in OWN.items()]
    for name, letters in further.items():
        faces += [
            _face(f"Report {name}", weight, "normal", f"{_file_of(name)}-{end}.ttf", letters)
            for weight, end in WEIGHTS.items()
        ]
    return Dressed(html, "\n".join(faces))


def font_files() -> dict[str, Path]:
    """Where each file of the document's fonts lies, by name; nothing else is ever given to the renderer."""
    import matplotlib
    import weblate_fonts

    ours = Path(matplotlib.get_data_path()) / "fonts" / "ttf"
    theirs = Path(weblate_fonts.__file__).parent / "static" / "weblate_fonts" / "kurinto" / "ttf"
    further = [f"{stem}-{end}.ttf" for stem in (EAST | WORLD).values() for end in WEIGHTS.values()]
    return {file: ours / file for file in OWN.values()} | {file: theirs / file for file in further}


def further_fonts(text: str) -> dict[str, str]:
    """Which fonts beyond our own a text needs, by name, each with the letters that it sets."""
    lacking = {letter for letter in set(text) if ord(letter) > 0x24F and _is_written(letter)}
    lacking -= _letters_of(OWN[SANS, "normal", "normal"])
    wide = {letter for letter in lacking if unicodedata.east_asian_width(letter) in "WF"}
    found: dict[str, str] = {}
    for name, wanted in [*((region, wide) for region in _regions(wide)), ("World", lacking)]:
        has = {letter for letter in wanted & lacking if letter in _letters_of(f"{_file_of(name)}-Rg.ttf")}
        if has:
            found[name] = "".join(sorted(has))
            lacking -= has
    return found


def _regions(letters: Iterable[str]) -> list[str]:
    """The East Asian fonts in the order in which these letters ask for them.

    Kana are Japanese and Hangul is Korean. Han letters alone tell less: the first national standard that lists them
    all decides.
    """
    names = {unicodedata.name(letter, "").partition(" ")[0] for letter in letters}
    order = ["JP"] if names & {"HIRAGANA", "KATAKANA"} else []
    order += ["KR"] if "HANGUL" in names else []
    han = "".join(letter for letter in letters if unicodedata.name(letter, "").startswith("CJK UNIFIED"))
    order += [region for region, standard in NATIONAL if _lists(standard, han)][:1]
    return list(dict.fromkeys([*order, "SC", "TC", "JP", "KR"]))


def _lists(standard: str, letters: str) -> bool:
    try:
        letters.encode(standard)
    except UnicodeEncodeError:
        return False
    return True


def _is_written(letter: str) -> bool:
    """Whether a letter leaves ink: no blank, control or formatting sign."""
    return unicodedata.category(letter)[0] not in "ZC"


def _file_of(name: str) -> str:
    return (EAST | WORLD)[name]


@lru_cache(maxsize=16)
def _letters_of(file: str) -> frozenset[str]:
    from fontTools.ttLib import TTFont

    with TTFont(font_files()[file], lazy=True) as font:
        return frozenset(map(chr, font.getBestCmap()))


def _face(family: str, weight: str, style: str, file: str, letters: str = "") -> str:
    only = f" unicode-range: {', '.join(f'U+{ord(letter):X}' for letter in letters)};" if letters else ""
    return (
        f'@font-face {{ font-family: "{family}"; font-weight: {weight}; font-style: {style};'
        f' src: url("{SCHEME}:{file}");{only} }}'
    )


def _drawings(html: str) -> list[tuple[str, str]]:
    return [(found, base64.b64decode(found).decode("utf-8", "replace")) for found in DRAWING.findall(html)]


def _restacked_drawing(found: "re.Match[str]", stacks: dict[str, list[str]]) -> str:
    svg = base64.b64decode(found[1]).decode("utf-8", "replace")
    svg = svg.replace(f'font-family="{SANS}"', f'font-family="{", ".join(stacks[SANS])}"')
    return "data:image/svg+xml;base64," + base64.b64encode(svg.encode()).decode("ascii")
