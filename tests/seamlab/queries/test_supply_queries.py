"""One thread in every numbering system."""

from decimal import Decimal

import pytest

from seamlab.queries import supplies
from studio.platform.errors import Refused


def test_a_thread_in_every_numbering():
    """The table of a teaching page: tex 27 is 270 dtex, 243 denier, Nm 37.04, ticket 111.1, Nec 21.87,
    cotton ticket 65.6."""
    sizes = {row.system: row.number for row in supplies.thread_sizes(Decimal(27), "tex")}
    assert sizes == {
        "tex": Decimal("27.00"),
        "dtex": Decimal("270.0"),
        "denier": Decimal("243.0"),
        "Nm": Decimal("37.04"),
        "Nec": Decimal("21.87"),
        "metric ticket": Decimal("111.1"),
        "cotton ticket": Decimal("65.62"),
    }


@pytest.mark.parametrize(
    ("value", "system", "field"), [(Decimal(0), "tex", "value"), (Decimal(40), "gauge", "system")]
)
def test_no_thread_no_sizes(value, system, field):
    with pytest.raises(Refused) as caught:
        supplies.thread_sizes(value, system)
    assert set(caught.value.reasons) == {field}
