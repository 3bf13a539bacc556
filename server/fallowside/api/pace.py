"""How much one source may ask for: a bucket that fills steadily, and empties by what a call costs."""

import ipaddress
import threading
import time
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass

MOST_AT_ONCE = 300.0
"""A phone that comes back after weeks makes a few dozen calls; a house of phones may share one address."""
REFILL_PER_S = 5.0
_MOST_SOURCES = 10_000
_ONE_NETWORK = 64


@dataclass(slots=True)
class _Bucket:
    left: float
    at_s: float


class Pace:
    """Counts calls by where they come from, in memory."""

    def __init__(
        self,
        most: float = MOST_AT_ONCE,
        refill_per_s: float = REFILL_PER_S,
        now_s: Callable[[], float] = time.monotonic,
    ) -> None:
        self._most, self._refill_per_s, self._now_s = most, refill_per_s, now_s
        self._lock = threading.Lock()
        self._buckets: OrderedDict[str, _Bucket] = OrderedDict()

    def wait_s(self, source: str, cost: float = 1.0) -> float:
        """Count a call; give how long its source must wait, 0 if it may go on. [s]"""
        now = self._now_s()
        with self._lock:
            bucket = self._buckets.pop(source, None) or _Bucket(self._most, now)
            bucket.left = min(self._most, bucket.left + (now - bucket.at_s) * self._refill_per_s)
            bucket.at_s = now
            self._buckets[source] = bucket
            while len(self._buckets) > _MOST_SOURCES:
                self._buckets.popitem(last=False)
            if bucket.left < cost:
                return (cost - bucket.left) / self._refill_per_s
            bucket.left -= cost
            return 0.0


def source_of(host: str) -> str:
    """Say where a call comes from; addresses of one IPv6 network, which one machine may have, as one.

    >>> source_of("2001:db8:7:7::9"), source_of("192.0.2.9")
    ('2001:db8:7:7::/64', '192.0.2.9')
    """
    try:
        address = ipaddress.ip_address(host)
    except ValueError:
        return host
    if address.version == 4:
        return host
    return str(ipaddress.ip_network((address, _ONE_NETWORK), strict=False))
