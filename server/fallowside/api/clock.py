"""The server's clock, read in one place."""

import time
from datetime import datetime


def now_us() -> int:
    """Give the instant. [microseconds since 1970-01-01T00:00Z]"""
    return time.time_ns() // 1000


def local_text(us: int) -> str:
    """Write an instant as RFC 3339 with the offset of the machine's own time zone."""
    return datetime.fromtimestamp(us // 1_000_000).astimezone().isoformat()
