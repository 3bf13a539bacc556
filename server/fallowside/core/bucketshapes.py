"""The shapes of the answer to where a bucket goes, JSON-ready; conventions as in `shapes`."""

from typing import Literal, TypedDict

from fallowside.core.shapes import Because, ConstantPlan, Warning


class RoutePart(TypedDict):
    """One part of a bucket, weighed."""

    material: str
    kg: float
    low: float
    high: float


class RouteShare(TypedDict):
    """Part of one material and where it goes: a station (and side), the freezer, or elsewhere.

    `amounts` are this share of what was asked, in the way it was measured, ready for entries. `until`
    is the day by which what is kept will have gone in, null where that can't be said.
    """

    material: str
    kg: float
    where: Literal["station", "keep", "elsewhere"]
    station: str | None
    side: str | None
    amounts: list[dict[str, object]]
    until: str | None
    cautions: list[str]
    because: Because


class RouteAddition(TypedDict):
    """Bedding or water to put in with a share."""

    material: str
    kg: float
    station: str
    side: str | None
    because: Because


class RouteStation(TypedDict):
    """What a station (and side) takes of a bucket, and the mix of what was fed there of late with it."""

    station: str
    name: str
    side: str | None
    side_name: str
    ration_kg: float
    kg: float
    moisture_pct: float | None
    carbon_to_nitrogen: float | None
    because: Because


class Route(TypedDict):
    """Where a bucket goes, by rations of the instant `at`."""

    at: str
    bucket: list[RoutePart]
    shares: list[RouteShare]
    together: list[RouteAddition]
    stations: list[RouteStation]
    warnings: list[Warning]
    constants: dict[str, ConstantPlan]
