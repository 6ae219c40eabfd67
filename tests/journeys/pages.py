"""What every page must keep: looked at in a page that is already open. Each check gives sentences, none when fine."""

import re
from collections import deque
from collections.abc import Iterator
from typing import Any
from urllib.parse import parse_qsl, urlsplit

from axe_playwright_python.base import AXE_SCRIPT
from playwright.sync_api import Page

UUID = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}")
# Not pages of the house: documents, health, and the interface's own description.
NOT_PAGES = re.compile(r"^/(static|health|api)/|/pdf/$|\.(csv|xlsx|pdf|svg|jpg|ics)$|/fit-photos/|/photos/")
# A link inside a drawing has an object for its href: ask for the attribute.
LINKS = """[...document.querySelectorAll('a[href]')].map(
  found => new URL(found.getAttribute('href'), document.baseURI).href)"""

AXE: dict[str, Any] = {
    "runOnly": {
        "type": "tag",
        "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
    },
    "resultTypes": ["violations"],
    "preload": False,  # everything comes from our own address
    "iframes": False,
}

# The member's menu hangs over the page; it is looked at by itself.
UNFOLD = "document.querySelectorAll('details:not(.member)').forEach(found => { found.open = true })"

OVERFLOW = """() => {
  const room = document.documentElement.clientWidth;
  const wide = document.documentElement.scrollWidth;
  if (wide <= room) return [];
  const scrolls = e => { for (let p = e.parentElement; p; p = p.parentElement)
    if (['auto', 'scroll', 'hidden', 'clip'].includes(getComputedStyle(p).overflowX)) return true; return false; };
  const out = [...document.querySelectorAll('body *')].filter(
    e => e.getBoundingClientRect().right > room + 1 && !scrolls(e));
  return [`${wide} px wide in ${room}: ` + out.slice(0, 3).map(e => e.outerHTML.slice(0, 90)).join(' | ')];
}"""

# Words that end outside their sheet although the page itself does not scroll; what scrolls by itself is fine.
SPILLED = """() => [...document.querySelectorAll('.panel')].filter(e => e.scrollWidth > e.clientWidth + 1)
  .map(e => `a sheet's content is ${e.scrollWidth} px wide in ${e.clientWidth}: ` + e.innerText.slice(0, 60))"""

HEADINGS = """() => {
  const found = [...document.querySelectorAll('h1')].map(h => h.innerText.trim());
  const out = [];
  if (found.length !== 1 || !found[0]) out.push(`h1: ${JSON.stringify(found)}`);
  if (!document.title.trim() || document.title.trim().startsWith('·')) out.push(`title: "${document.title}"`);
  return out;
}"""

# After a Tab the browser shows focus wherever a script puts it too.
FOCUS = """() => {
  const out = [];
  const can = 'a[href], button, input:not([type=hidden]), select, textarea, summary, [tabindex="0"]';
  for (const e of document.querySelectorAll(can)) {
    if (e.disabled || !e.checkVisibility({visibilityProperty: true})) continue;
    e.focus({preventScroll: true});
    const style = getComputedStyle(e);
    const shown = style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) >= 2;
    if (document.activeElement !== e || !e.matches(':focus-visible') || !shown)
      out.push('no visible focus: ' + e.outerHTML.slice(0, 120));
  }
  return out.slice(0, 5);
}"""

SKIP_LINK = """() => {
  const e = document.activeElement, box = e.getBoundingClientRect();
  if (!e.matches('a.skip[href="#work"]')) return ['the first Tab reaches ' + e.outerHTML.slice(0, 120)];
  if (box.top < 0 || box.left < 0 || box.width < 24 || box.height < 24) return ['the skip link stays out of sight'];
  return document.querySelector('#work') ? [] : ['the skip link leads nowhere'];
}"""


# The page's own part, with what differs from run to run taken out.
SAME = """() => innerWidth + document.querySelector('main').outerHTML
  .replace(/[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}/g, '').replace(/value="[A-Za-z0-9]{64}"/g, '')
  .replace(/[0-9a-f]{64}/g, '').replace(/[0-9]+/g, '0')"""
_looked_at: set[str] = set()


def look(page: Page, *, keyboard: bool = True, axe: bool = True) -> list[str]:
    """What is amiss on the open page at its present size, folded and unfolded."""
    amiss: list[str] = []
    if keyboard:
        amiss += _by_keyboard(page)
    amiss += page.evaluate(HEADINGS)
    amiss += [f"folded: {words}" for words in page.evaluate(OVERFLOW) + page.evaluate(SPILLED)]
    page.evaluate(UNFOLD)
    amiss += [f"unfolded: {words}" for words in page.evaluate(OVERFLOW) + page.evaluate(SPILLED)]
    if keyboard:
        amiss += page.evaluate(FOCUS)
        page.evaluate("document.activeElement.blur()")
    return amiss + (by_axe(page, once=True) if axe else [])


def by_axe(page: Page, *, once: bool = False) -> list[str]:
    """What axe-core finds; with ``once``, nothing for a page that it found in order before (for another role)."""
    same = page.evaluate(SAME)
    if once and same in _looked_at:
        return []
    if not page.evaluate("'axe' in window"):
        page.evaluate(AXE_SCRIPT)
    amiss = []
    for violation in page.evaluate("options => axe.run(options)", AXE)["violations"]:
        first = violation["nodes"][0]
        amiss.append(
            f"axe {violation['id']} ({len(violation['nodes'])}×): {violation['help']}: "
            f"{' '.join(map(str, first['target']))} {first['html'][:160]} {first.get('failureSummary', '')}"
        )
    if not amiss:
        _looked_at.add(same)
    return amiss


def _by_keyboard(page: Page) -> list[str]:
    """The first Tab shows the skip link, unless the page puts the cursor where typing begins."""
    if page.evaluate("document.activeElement.matches('[autofocus]')"):
        page.keyboard.press("Tab")
        return []
    page.keyboard.press("Tab")
    found: list[str] = page.evaluate(SKIP_LINK)
    return found


def pattern_of(url: str) -> str:
    """The address with its ids collapsed; of a query only what is asked, not the answer."""
    parts = urlsplit(url)
    asked = "&".join(sorted(name for name, _ in parse_qsl(parts.query)))
    return UUID.sub("*", parts.path) + (f"?{asked}" if asked else "")


def reachable(page: Page, *starts: str) -> Iterator[str]:
    """Open one page of each pattern, beginning at ``starts``; yields the pattern of the page that is open."""
    waiting, seen = deque(starts), set(map(pattern_of, starts))
    while waiting:
        address = waiting.popleft()
        answer = page.goto(address)
        assert answer is not None
        assert answer.status == 200, f"{address} is linked and answers {answer.status}"
        links = page.evaluate(LINKS)
        for link in links:
            parts = urlsplit(link)
            here = parts.netloc == urlsplit(page.url).netloc and not NOT_PAGES.search(parts.path)
            if here and pattern_of(link) not in seen:
                seen.add(pattern_of(link))
                waiting.append(link.partition("#")[0])
        yield pattern_of(address)
