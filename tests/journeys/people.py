"""What a person's hands do on a page: find a field by its words, click, type, choose."""

import re

from playwright.sync_api import Locator, Page

Place = Page | Locator


def field(place: Place, words: str) -> Locator:
    """The field under this label; what stands in brackets after it (a unit, "optional") need not be named."""
    return place.get_by_label(re.compile(rf"^\s*{re.escape(words)}\s*(\([^)]*\)\s*)*$"))


def write(place: Place, words: str, text: str) -> None:
    """Click into a field, take out what stands there, type letter by letter."""
    box = field(place, words)
    box.click()
    if box.input_value():
        box.press("Control+a")
        box.press("Delete")
    box.press_sequentially(text)


def choose(place: Place, words: str, beginning: str) -> None:
    """Choose in a list the entry with these words, or the only one that begins with them."""
    box = field(place, words)
    box.wait_for()  # the page that the last press led to may still be on its way
    labels: list[str] = box.locator("option").all_inner_texts()
    exactly = [label for label in labels if label.strip() == beginning]
    (found,) = exactly or [label for label in labels if label.strip().startswith(beginning)]
    box.select_option(label=found)


def tick(place: Place, *words: str) -> None:
    for name in words:
        place.get_by_label(name, exact=True).check()


def press(place: Place, words: str) -> None:
    """Press the button or follow the link with exactly these words."""
    button = place.get_by_role("button", name=words, exact=True)
    button.or_(place.get_by_role("link", name=words, exact=True)).first.click()


def unfold(place: Place, words: str) -> Locator:
    """Open what is folded under these words; gives its content."""
    page = place.page if isinstance(place, Locator) else place
    folded = place.locator("details", has=page.locator("summary", has_text=words)).first
    if folded.get_attribute("open") is None:
        folded.locator("summary").first.click()
    return folded
