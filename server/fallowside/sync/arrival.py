"""The circumstances all entries of one call share."""

from dataclasses import dataclass

from fallowside.store.log import Came, OpenPlace


@dataclass(frozen=True, slots=True)
class Arrival:
    """Where and when a call arrived, and from whom.

    Attributes:
        place: The place, its writer's turn held.
        device_n: The device's number in the store.
        now_us: The server's clock. [microseconds]
        skew_ms: Server's clock minus the device's, if the device told it. [ms]
    """

    place: OpenPlace
    device_n: int
    now_us: int
    skew_ms: int | None

    @property
    def came(self) -> Came:
        """What the rows of its entries share."""
        return Came(self.place.n, self.device_n, self.now_us, self.skew_ms)

    @property
    def device_now_us(self) -> int:
        """The device's clock at receipt, by which the times of its entries are judged."""
        return by_device_clock(self.now_us, self.skew_ms)


def by_device_clock(now_us: int, skew_ms: int | None) -> int:
    """Give what a device's clock says when the server's says `now_us`. [microseconds]"""
    return now_us - (skew_ms or 0) * 1000
