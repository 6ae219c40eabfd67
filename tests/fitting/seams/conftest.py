"""The garment half's invented studio, with a lining and a second thread beside."""

from tests.fitting.garment.conftest import *  # noqa: F403 - the same fixtures
