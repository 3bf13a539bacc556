"""The documentation of what goes in and out; the sync path itself never builds these objects."""

import json
import types
from functools import cache
from typing import Annotated, Any, Literal, NotRequired, get_args, get_origin, get_type_hints, is_typeddict

from fastapi import APIRouter, FastAPI
from fastapi.responses import JSONResponse
from pydantic import BaseModel, Field, create_model

from fallowside.api import problems, rules
from fallowside.core import bucketshapes, shapes
from fallowside.sync import shapes as syncshapes

MOST_PARTS = 60
"""Parts a bucket may have."""


class RouteCall(BaseModel):
    """What is in a bucket."""

    bucket: list[Any] = Field(
        max_length=MOST_PARTS,
        description="its parts: a `feedstock` and its `amount`, as in a feed entry",
        examples=[[{"feedstock": "vegetable_scraps", "amount": {"value": 1.5, "unit": "kg"}}]],
    )
    freezer_kg: float | None = Field(
        None,
        ge=0.0,
        le=10_000.0,
        allow_inf_nan=False,
        description="room in the freezer; the place's, or a usual one, if left out",
    )


class Health(BaseModel):
    """Whether the server works, and on what."""

    ok: bool
    version: str
    models: str | None = Field(description="version of the models behind a plan; none to strangers, as below")
    entries: int | None
    held: int | None = Field(description="entries set aside and waiting to be mended")
    place: str | None


class WaitingEntry(BaseModel):
    """An entry set aside and waiting."""

    ref: str
    id: str | None
    device: str
    code: str
    why: str
    field: str
    values: dict[str, Any]
    received_at: str
    entry: Any = Field(description="the entry as it was sent; text where it is not JSON")


class HeldList(BaseModel):
    """All entries set aside and waiting."""

    held: list[WaitingEntry]


class LetIn(BaseModel):
    """Ids of what is in the log now."""

    let_in: list[str]


class Dropped(BaseModel):
    """How many entries were set aside for good."""

    dropped: int


class Stored(BaseModel):
    """Whether a photo is in the store now."""

    stored: bool


def describe(app: FastAPI) -> None:
    """Add to the application's description what FastAPI does not find by itself."""
    made = app.openapi

    def openapi() -> dict[str, Any]:
        described = made()
        schemas = described.setdefault("components", {}).setdefault("schemas", {})
        schemas["Problem"] = problems.Problem.model_json_schema()
        for path, methods in described["paths"].items():
            for method, operation in methods.items():
                for sent in operation.get("requestBody", {}).get("content", {}).values():
                    schemas |= sent["schema"].pop("$defs", {})
                for status, said in problems.documented(*_refused_by_all(f"{method.upper()} {path}")).items():
                    operation["responses"].setdefault(str(status), said)
        return described

    app.openapi = openapi  # type: ignore[method-assign]


def _refused_by_all(route: str) -> tuple[int, ...]:
    """Give the refusals that come before the route is reached."""
    return (413, 429) if rules.RULES[route] == "anyone" else (401, 403, 413, 429)


def router(app: FastAPI) -> APIRouter:
    """Give the route of the description itself."""
    routes = APIRouter()

    @routes.get("/api/openapi.json", include_in_schema=False)
    def description() -> JSONResponse:
        """Give the description of every route (OpenAPI)."""
        return JSONResponse(app.openapi())

    return routes


def as_json(value: object) -> bytes:
    """Write an answer as the core writes a plan."""
    return json.dumps(value, ensure_ascii=False, allow_nan=False, separators=(",", ":")).encode()


def replies(model: Any, *refusals: int) -> dict[int | str, dict[str, Any]]:
    """Describe a route's answer and its refusals."""
    return {200: {"model": model}, **problems.documented(*refusals)}


def sends(model: type[BaseModel]) -> dict[str, Any]:
    """Describe the body of a route that reads it itself."""
    return _sent("application/json", model.model_json_schema(ref_template="#/components/schemas/{model}"))


def sends_photo() -> dict[str, Any]:
    """Describe a body that is a photo."""
    return _sent("image/jpeg", {"type": "string", "format": "binary"})


def _sent(media_type: str, schema: dict[str, Any]) -> dict[str, Any]:
    return {"requestBody": {"required": True, "content": {media_type: {"schema": schema}}}}


def sync_responses() -> dict[int | str, dict[str, Any]]:
    """Describe the answers to a sync call."""
    return replies(model_of(syncshapes.SyncReply), 400, 401, 403, 413, 415, 422, 503, 507)


def sends_sync() -> dict[str, Any]:
    """Describe the body of a sync call."""
    return sends(model_of(syncshapes.SyncCall))


def plan_responses() -> dict[int | str, dict[str, Any]]:
    """Describe the answers to a question for the plan."""
    return {**replies(model_of(shapes.Plan), 401, 403, 422, 503), 304: {"description": "the same as before"}}


def tally_responses() -> dict[int | str, dict[str, Any]]:
    """Describe the answers to a question for the tally."""
    return {**replies(model_of(shapes.Tally), 401, 403, 422, 503), 304: {"description": "the same as before"}}


def route_responses() -> dict[int | str, dict[str, Any]]:
    """Describe the answers to a question for where a bucket goes."""
    return replies(model_of(bucketshapes.Route), 422, 503)


def file_responses(media_type: str) -> dict[int | str, dict[str, Any]]:
    """Describe the answers to a question for a file."""
    schema = {"type": "string"} | ({"format": "binary"} if media_type.startswith("application/") else {})
    content = {media_type: {"schema": schema}}
    return {200: {"description": "the file", "content": content}, **problems.documented(401, 403, 422, 503)}


@cache
def model_of(shape: Any) -> Any:
    """Make a pydantic model of a shape.

    The core knows no pydantic, and pydantic takes plain TypedDicts from Python 3.12 on only.
    """
    fields: dict[str, Any] = {}
    for name, hint in get_type_hints(shape, include_extras=True).items():
        optional = get_origin(hint) is NotRequired
        kind = _modelled(get_args(hint)[0] if optional else hint)
        fields[name] = (kind, None) if optional else (kind, ...)
    return create_model(shape.__name__, __doc__=shape.__doc__, **fields)


def _modelled(hint: Any) -> Any:
    if is_typeddict(hint):
        return model_of(hint)
    origin, inner = get_origin(hint), get_args(hint)
    if origin is Annotated:
        return Annotated[(_modelled(inner[0]), *hint.__metadata__)]
    if origin in (list, dict):
        return origin[tuple(map(_modelled, inner))]
    if origin is types.UnionType:
        made = _modelled(inner[0])
        for one in inner[1:]:
            made = made | _modelled(one)
        return made
    return Any if hint is object or origin not in (None, Literal) else hint
