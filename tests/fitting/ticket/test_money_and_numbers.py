"""Amounts, ticket numbers, and what lies inside a seam; against ISO 4217, ISO 7064 and published arithmetic."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st
from iso4217 import Currency
from stdnum.iso7064 import mod_11_10

from fitting.calc.money import DECIMALS, MOST_MINOR, format_money, parse_money, plain_money
from fitting.calc.pinned import reach_of
from fitting.calc.ticket_number import check_digit, ticket_words, typed_number
from fitting.queries.cautions import cautions_for
from fitting.queries.prices import TABLE, job_kinds


def test_currencies_and_decimals_are_those_of_iso_4217() -> None:
    """Source: the maintenance agency's list of currencies, as the package iso4217 carries it."""
    listed = {currency.code: currency.exponent for currency in Currency}
    assert all(listed[code] == decimals for code, decimals in DECIMALS.items())
    # What is left out is no money at a counter: funds, units of account, metals, and codes for tests.
    left_out = set(listed) - set(DECIMALS)
    funds = {"BOV", "CHE", "CHW", "CLF", "COU", "MXV", "USN", "UYI", "UYW"}
    assert {code for code in left_out if not code.startswith("X")} == funds
    assert {code for code in left_out if code.startswith("X") and listed[code] is not None} <= {"XAD"}


@given(st.integers(0, MOST_MINOR), st.sampled_from(sorted(DECIMALS)))
def test_what_is_written_is_read_again(minor: int, currency: str) -> None:
    assert parse_money(format_money(minor, currency), currency) == minor
    assert parse_money(plain_money(minor, currency).replace(".", ","), currency) == minor


@pytest.mark.parametrize(
    ("text", "currency", "minor"),
    [("12", "EUR", 1200), ("12,5", "EUR", 1250), ("eur 12.50", "EUR", 1250), ("1250", "JPY", 1250),
     ("1.250", "KWD", 1250), ("0", "EUR", 0)],
)  # fmt: skip
def test_amounts_as_they_are_typed(text: str, currency: str, minor: int) -> None:
    assert parse_money(text, currency) == minor


@pytest.mark.parametrize(
    ("text", "currency", "says"),
    [("", "EUR", "Give an amount"), ("1,250", "EUR", "two ways"), ("12.5", "JPY", "no decimals"),
     ("12.3456", "EUR", "too many decimals"), ("-3", "EUR", "less than nothing"), ("12 USD", "EUR", "not an amount"),
     ("nan", "EUR", "not an amount"), ("12", "EURO", "not a currency"), ("1000000", "EUR", "more than")],
)  # fmt: skip
def test_what_is_no_amount_is_refused_in_a_sentence(text: str, currency: str, says: str) -> None:
    with pytest.raises(ValueError, match=says):
        parse_money(text, currency)


@given(st.integers(1, 99_999_999))
def test_check_digit_is_that_of_iso_7064(number: int) -> None:
    """Source: ISO 7064 MOD 11,10 as the package python-stdnum reckons it."""
    assert str(check_digit(number)) == mod_11_10.calc_check_digit(str(number))
    assert typed_number(ticket_words(number)) == number


def test_a_published_number_has_its_check_digit() -> None:
    """Source: 86095742719, the sample of the German tax number, whose last figure is ISO 7064 MOD 11,10."""
    assert check_digit(8609574271) == 9


@given(st.integers(1001, 999_999), st.data())
def test_one_wrong_figure_finds_no_other_ticket(number: int, data: st.DataObject) -> None:
    written = ticket_words(number)
    place = data.draw(st.sampled_from([at for at, sign in enumerate(written) if sign.isdigit()]))
    wrong = data.draw(st.sampled_from([figure for figure in "0123456789" if figure != written[place]]))
    assert typed_number(written[:place] + wrong + written[place + 1 :]) is None


@pytest.mark.parametrize("text", ["1001", "0555 0142", "teal trousers", "", "1-", "ticket", "12345678901234"])
def test_what_is_no_ticket_number(text: str) -> None:
    assert typed_number(text) is None


@pytest.mark.parametrize("text", ["{}", "#{}", "Ticket {}", "ticket: {}", " {} "])
def test_a_number_as_it_is_said(text: str) -> None:
    assert typed_number(text.format("1001-" + str(check_digit(1001)))) == 1001


def test_what_can_be_let_out() -> None:
    """1.5 cm inside, 0.7 cm to keep: 0.8 cm at an edge, 3.2 cm over the four edges of two side seams.

    Source: total over four edges on a four-panel garment, procedures of USDA Home Economics Research Report 32
    (1965) and Montana Bulletin 265 (1950); the least to keep is common practice, no source.
    """
    assert reach_of(32, 15, 7, 4).enough
    short = reach_of(33, 15, 7, 4)
    assert not short.enough
    assert short.most == pytest.approx(32)
    assert short.words.startswith("It does not reach")
    assert reach_of(10, 5, 7, 2).most == 0
    with pytest.raises(ValueError, match="Amount"):
        reach_of(0, 15, 7, 4)


def test_the_table_of_jobs_is_whole() -> None:
    rows = json.loads(TABLE.read_text(encoding="utf-8"))["jobs"]
    assert len({row["code"] for row in rows}) == len(rows) == len({row["name"] for row in rows})
    for job in job_kinds().values():
        assert job.look.endswith(".")
        assert len(job.code) <= 24
        assert all(cautions_for(step=[step]) for step in job.steps)
        assert all(cautions_for(garment=["child"], feature=[feature]) for feature in job.features)
        assert all(cautions_for(material=[one]) for one in job.materials)
        if job.room:
            assert job.needs_amount
            assert job.room.keep_mm > 0
            assert all(number >= 1 for number, _ in job.room.edges)
