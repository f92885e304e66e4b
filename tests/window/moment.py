"""When the tests of the window open their store."""

from datetime import timedelta

from tests.desk.shop import BUILT

OPENED = BUILT + timedelta(minutes=70)
"""10 minutes after the day shift began."""
