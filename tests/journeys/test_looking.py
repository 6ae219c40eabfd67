"""The looking itself: each check finds the fault that it is there for."""

import pytest
from playwright.sync_api import Page

from tests.journeys.conftest import TABLET, Visitor, Watch
from tests.journeys.pages import look

pytestmark = pytest.mark.browser  # nothing is written to the database


@pytest.fixture
def page(visitor: Visitor) -> Page:
    opened = visitor(TABLET)
    opened.goto("/sign-in/")
    return opened


def test_a_page_in_order_is_left_in_peace(page: Page) -> None:
    assert look(page) == []


@pytest.mark.parametrize(
    ("spoil", "found"),
    [
        ("document.querySelector('h1').style.width = '900px'", "px wide in 820"),
        ("document.querySelector('h1').remove()", "h1: []"),
        ("document.querySelector('h1').textContent = ' '", 'h1: [""]'),
        ("document.title = ''", 'title: ""'),
        ("document.querySelector('label').remove()", "axe label"),
        ("document.querySelector('main button').style.color = '#345'", "axe color-contrast"),
        ("document.querySelector('main button').style.outline = 'none'", "no visible focus: <button"),
        (
            "document.activeElement.blur();"
            "document.querySelectorAll('[autofocus]').forEach(e => e.removeAttribute('autofocus'));"
            "document.querySelector('.skip').remove()",
            "the first Tab reaches <input",
        ),
    ],
)
def test_a_spoilt_page_is_told(page: Page, spoil: str, found: str) -> None:
    page.evaluate(spoil)
    told = look(page)
    assert any(found in words for words in told), told


@pytest.mark.parametrize(
    ("spoil", "found"),
    [
        ("document.body.setAttribute('style', 'color: red')", "Content Security Policy"),
        (
            "document.body.append(Object.assign(document.createElement('script'), {text: '1'}))",
            "Content Security",
        ),
        ("setTimeout(() => { throw new Error('a torn thread') })", "a torn thread"),
        ("fetch('/not/here/')", "status of 404"),
        ("console.error('a dropped stitch')", "a dropped stitch"),
    ],
)
def test_what_the_console_says_is_told(page: Page, watch: Watch, spoil: str, found: str) -> None:
    page.evaluate(spoil)
    page.wait_for_timeout(300)
    told, watch.amiss = watch.amiss, []
    assert any(found in words for words in told), told
