"""Colours: drawings and pages share one palette, and every pairing that is used can be read.

Source: WCAG 2.2 (W3C Recommendation, 2023): relative luminance and contrast ratio as defined there; success
criteria 1.4.3 (text, 4.5:1) and 1.4.11 (edges of controls and meaningful graphics, 3:1).
"""

import re
from itertools import product
from pathlib import Path

import pytest

import studio
from studio.figures import palette

CSS = Path(studio.__path__[0], "platform", "static", "platform", "css")
TOKENS = (CSS / "tokens.css").read_text(encoding="utf-8")
LIGHT_TEXT, DARK_TEXT = TOKENS.split("@media (prefers-color-scheme: dark)")


def tokens(text: str) -> dict[str, str]:
    return dict(re.findall(r"--([\w-]+):\s*(#[0-9a-f]{6});", text))


LIGHT = tokens(LIGHT_TEXT)
DARK = {**LIGHT, **tokens(DARK_TEXT)}


def luminance(colour: str) -> float:
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    r, g, b = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels)
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


def contrast(a: str, b: str) -> float:
    high, low = sorted((luminance(a), luminance(b)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_contrast_agrees_with_its_definition() -> None:
    # WCAG 2.2: black on white is 21:1, a colour on itself 1:1.
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#777777", "#777777") == 1


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=["light", "dark"])
def test_every_text_colour_reads_on_every_ground(theme: dict[str, str]) -> None:
    for text, ground in product(
        ("ink", "ink-soft", "thread", "good", "care", "stop"), ("paper", "sheet", "shade")
    ):
        assert contrast(theme[text], theme[ground]) >= 4.5, (text, ground)
    for state in ("good", "care", "stop", "thread"):
        assert contrast(theme[state], theme[f"{state}-pale"]) >= 4.5, state
        assert contrast(theme["ink"], theme[f"{state}-pale"]) >= 4.5, state
    # Links stand in messages of every kind.
    assert contrast(theme["thread"], theme["stop-pale"]) >= 4.5
    assert contrast(theme["on-ink"], theme["ink"]) >= 4.5


@pytest.mark.parametrize("theme", [LIGHT, DARK], ids=["light", "dark"])
def test_every_edge_of_a_control_and_the_focus_ring_can_be_seen(theme: dict[str, str]) -> None:
    for edge, ground in product(("edge", "thread"), ("paper", "sheet", "shade")):
        assert contrast(theme[edge], theme[ground]) >= 3, (edge, ground)


def test_drawings_use_the_colours_of_the_page() -> None:
    named = {
        k.lower().replace("_", "-"): v for k, v in vars(palette).items() if re.fullmatch("#.{6}", str(v))
    }
    assert len(named) >= 12
    for name, colour in named.items():
        assert LIGHT[name] == colour, name
    assert DARK["figure-ground"] == palette.SHEET


def test_tape_lines_can_be_seen_on_the_body_and_beside_it() -> None:
    for ground in (palette.SHADE, palette.SHEET):
        assert contrast(palette.THREAD, ground) >= 3
        assert contrast(palette.INK_SOFT, ground) >= 4.5


@pytest.mark.parametrize("name", ["tokens", "base", "parts", "print"])
def test_the_style_sheets_fetch_nothing_and_use_known_tokens_only(name: str) -> None:
    text = re.sub(r"/\*.*?\*/", "", (CSS / f"{name}.css").read_text(encoding="utf-8"), flags=re.S)
    assert "url(" not in text
    assert "@import" not in text
    assert "gradient" not in text
    assert text.count("{") == text.count("}")
    known = set(re.findall(r"--([\w-]+):", TOKENS))
    assert set(re.findall(r"var\(--([\w-]+)", text)) <= known


def test_colours_are_named_in_one_place() -> None:
    for name in ("base", "parts"):
        text = re.sub(r"/\*.*?\*/", "", (CSS / f"{name}.css").read_text(encoding="utf-8"), flags=re.S)
        assert not re.findall(r"#[0-9a-f]{3,8}\b", text), name
