"""The shapes of what a pond's and a hive's state hold beside plain figures, JSON-ready; as in `shapes`."""

from typing import Literal, NotRequired, TypedDict

from fallowside.core.shapes import Because, Figure


class ShoalState(TypedDict):
    """All fish of one kind: their numbers by whereabouts, weight of one and of all, growth a day."""

    species: str
    kind: str
    put_in: int
    found: int
    pond: int
    held: int
    killed: int
    died: int
    released_times: int
    killed_kg: float
    grams: Figure | None
    kg: float | None
    growth: Figure | None
    because: Because


Barred = Literal["hooks", "bath"]
"""Why the scraps of a catch are given to nothing: a hook may be in them, or the fish lay in a bath."""


Missing = Literal["weight", "cut", "both", "believed"]
"""What would tell the scraps of a catch: a weight that can be `believed` where the one there can't."""


class DayCatch(TypedDict):
    """A catch, planned or taken, and what its cleaning leaves.

    `scraps` is null where that is not known, and then `missing` says what would tell it. Of a planned
    one `number` is what is still to be taken.
    """

    id: str
    day: str
    species: str
    number: int
    kg: Figure | None
    cut: str | None
    scraps: Figure | None
    missing: Missing | None
    barred: Barred | None


class DayStep(TypedDict):
    """One step for fish to be eaten, with its cautions."""

    name: str
    because: Because
    cautions: list[str]


class ShareOut(TypedDict):
    """Where a day's scraps of fish go, `scraps_kg` of them as expected or weighed, from low to high. [kg]

    `bury_kg` is what no freezer holds; `days` until the last is gone from the freezer, null if never.
    """

    scraps_kg: float
    low_kg: float
    high_kg: float
    today_kg: float
    freeze_kg: float
    others_kg: float
    bury_kg: float
    days: int | None
    because: Because


class BathWait(TypedDict):
    """How long fish must still lie in a bath, and whether the second, certain step is noted."""

    done: bool
    left_min: int | None
    second_step: bool
    because: Because


class BathRecipe(TypedDict):
    """What to measure for a bath that was noted, or what is missing (`problem`).

    `figures`: litres, mg_per_l, oil_mg, oil_ml, measure_ml (of the stock), other_ml (were '1:10' meant
    the other way), drops_low, drops_high, syringe_ml, line_ml, published_low, published_high.
    """

    id: str
    problem: Because | None
    stock: NotRequired[str]
    figures: NotRequired[dict[str, float]]
    because: NotRequired[Because]
    cautions: NotRequired[list[str]]
    wait: NotRequired[BathWait]


class BathState(TypedDict):
    """Whether the place opened the bath, why, and what the newest one needs."""

    open: bool
    because: Because
    recipe: BathRecipe | None


class PondDay(TypedDict):
    """The day of a catch; `share_out` is of `of_day`, null where no scraps are to be given to anything."""

    planned: list[DayCatch]
    taken: list[DayCatch]
    of_day: str | None
    steps: list[DayStep]
    bath: BathState
    share_out: ShareOut | None


class PreserveState(TypedDict):
    """A batch smoked or kept; `short_of` names limits it does not show to have met."""

    id: str
    method: str
    kg: float | None
    inside_c: float | None
    minutes: int | None
    salt_in_water_pct: float | None
    kept_at_c: float | None
    days: int
    short_of: list[str]
    because: Because


class StackBox(TypedDict):
    """A box of the hive's stack, from the top down, and what it most likely holds."""

    box: str
    since: str
    days: int
    holds: Literal["building", "brood", "honey"]
    honey_kg: float
    because: Because
