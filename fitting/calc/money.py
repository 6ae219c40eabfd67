"""Money in whole numbers of a currency's smallest unit: read as people type it, written with the currency's code.

Codes and decimals are those of ISO 4217 (currencies in circulation; no funds, no metals). No floats, no rates.
"""

from __future__ import annotations

import re
from typing import Final

MOST_MINOR: Final = 99_999_999
"""The most that one amount may be, in the smallest unit."""

_TWO: Final = (
    "AED AFN ALL AMD AOA ARS AUD AWG AZN BAM BBD BDT BMD BND BOB BRL BSD BTN BWP BYN BZD CAD CDF CHF CNY COP CRC "
    "CUP CVE CZK DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS GIP GMD GTQ GYD HKD HNL HTG HUF IDR ILS INR IRR "
    "JMD KES KGS KHR KPW KYD KZT LAK LBP LKR LRD LSL MAD MDL MGA MKD MMK MNT MOP MRU MUR MVR MWK MXN MYR MZN NAD "
    "NGN NIO NOK NPR NZD PAB PEN PGK PHP PKR PLN QAR RON RSD RUB SAR SBD SCR SDG SEK SGD SHP SLE SOS SRD SSP STN "
    "SVC SYP SZL THB TJS TMT TOP TRY TTD TWD TZS UAH USD UYU UZS VED VES WST XCD XCG YER ZAR ZMW ZWG"
)
_NONE: Final = "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX VND VUV XAF XOF XPF"
_THREE: Final = "BHD IQD JOD KWD LYD OMR TND"
DECIMALS: Final[dict[str, int]] = dict(
    sorted(
        {
            **dict.fromkeys(_TWO.split(), 2),
            **dict.fromkeys(_NONE.split(), 0),
            **dict.fromkeys(_THREE.split(), 3),
        }.items()
    )
)
"""Decimals by currency code."""

_AMOUNT: Final = re.compile(r"([0-9]+)(?:([.,])([0-9]+))?")


def decimals_of(currency: str) -> int:
    """How many decimals a currency has; raises ValueError for what is no code of ISO 4217."""
    if currency not in DECIMALS:
        raise ValueError(
            f"{currency[:8]!r} is not a currency in circulation; give its three letters, for example EUR."
        )
    return DECIMALS[currency]


def parse_money(text: str, currency: str) -> int:
    """An amount as typed, in the currency's smallest unit: ``12``, ``12,5``, ``12.50``, ``12.50 EUR``.

    Raises ValueError in a sentence where it is empty, negative, has more decimals than the currency, names another
    currency, is too much, or could be read in two ways (``1,250`` with two decimals).
    """
    decimals = decimals_of(currency)
    shown = f"“{text.strip()[:24]}”"
    plain = " ".join(text.split())
    if plain.upper().endswith(currency) or plain.upper().startswith(currency):
        plain = re.sub(currency, "", plain, count=1, flags=re.IGNORECASE).strip()
    if not plain:
        raise ValueError(
            "Give an amount, for example " + format_money(1250 if decimals else 13, currency) + "."
        )
    if plain.startswith(("-", "\u2212")):
        raise ValueError(f"{shown} is less than nothing; an amount is 0 or more.")
    found = _AMOUNT.fullmatch(plain)
    if found is None:
        raise ValueError(
            f"{shown} is not an amount in {currency}: type figures, and a point or comma before the decimals."
        )
    whole, _, part = found.groups(default="")
    if len(part) == 3 and decimals != 3:
        raise ValueError(
            f"{shown} can be read in two ways: type it without a mark for the thousands, as in {whole}{part}."
        )
    if len(part) > decimals:
        has = f"{decimals} decimals" if decimals else "no decimals"
        raise ValueError(f"{shown} has too many decimals: {currency} has {has}.")
    minor = int(whole + part.ljust(decimals, "0"))
    if minor > MOST_MINOR:
        raise ValueError(f"{shown} is more than {format_money(MOST_MINOR, currency)}: check the figures.")
    return minor


def format_money(minor: int, currency: str) -> str:
    """``12.50 EUR``; what is owed back has a minus. Raises ValueError for an unknown currency."""
    return f"{plain_money(minor, currency)} {currency}"


def plain_money(minor: int, currency: str) -> str:
    """The figures alone, as they may be typed again: ``12.50``."""
    decimals = decimals_of(currency)
    figures = str(abs(minor)).rjust(decimals + 1, "0")
    text = f"{figures[:-decimals]}.{figures[-decimals:]}" if decimals else figures
    return ("\u2212" if minor < 0 else "") + text
