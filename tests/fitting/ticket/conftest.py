"""The garment half's invented studio, with a currency and a few prices."""

from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest

from tests.fitting.garment.conftest import *  # noqa: F403 - the same fixtures
from tests.fitting.garment.conftest import Shop


def price_list(house: Any) -> None:
    """Invented prices; the house's scope must be open."""
    from fitting.services.prices import choose_currency, set_price

    choose_currency(house.instructor, currency="eur")
    for job, minor, kind in (
        ("shorten_hem", 1450, ""),
        ("let_out", 2200, "trousers"),
        ("let_out", 3100, ""),
        ("buttons", 150, ""),
    ):
        set_price(house.instructor, job=job, minor=minor, kind=kind)


@pytest.fixture
def taken(shop: Shop) -> Callable[..., Any]:
    """Take trousers of the shop's client in; what is given overrides."""
    from fitting.services.tickets import WantedJob, take_in

    price_list(shop.house)

    def take(**given: Any) -> Any:
        usual: dict[str, Any] = {
            "client_id": shop.client.pk,
            "words": "rust corduroy trousers",
            "kind": "trousers",
            "jobs": [WantedJob("shorten_hem", "both legs", Decimal(32))],
        }
        return take_in(shop.house.clerk, **(usual | given))

    return take
