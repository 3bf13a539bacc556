"""Refusals as problem JSON (RFC 9457), and the one table from an error to its status."""

import logging
from collections.abc import Mapping
from http import HTTPStatus
from typing import Any

from fastapi import FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse, Response
from pydantic import BaseModel, Field
from starlette.exceptions import HTTPException

from fallowside.core.errors import FallowsideError
from fallowside.store import errors
from fallowside.sync.call import BadCall

MEDIA_TYPE = "application/problem+json"
_log = logging.getLogger("fallowside")

_STATUS: Mapping[type[FallowsideError], int] = {
    errors.Busy: 503,
    errors.Unreachable: 503,
    errors.NoRoom: 507,
    errors.Damaged: 500,
}
_RETRY_AFTER_S = 2


class Problem(BaseModel):
    """Why a call was refused, and what to do."""

    type: str = Field(description="about:blank; `code` says which problem it is")
    title: str
    status: int
    detail: str = Field(description="one plain sentence: what was wrong, what to do")
    code: str = Field(description="stable name of the problem")
    field: str | None = Field(None, description="the field to mend, where one is to blame")


class Refusal(FallowsideError):
    """A call that is refused by the routers themselves."""

    def __init__(self, status: int, code: str, message: str, field: str = "") -> None:
        super().__init__(message)
        self.status, self.code, self.field = status, code, field


def documented(*statuses: int) -> dict[int | str, dict[str, Any]]:
    """Describe refusals for the documentation of a route."""
    return {
        status: {
            "description": HTTPStatus(status).phrase,
            "content": {MEDIA_TYPE: {"schema": {"$ref": "#/components/schemas/Problem"}}},
        }
        for status in statuses
    }


def answer(status: int, code: str, detail: str, field: str = "") -> JSONResponse:
    """Give a refusal."""
    content: dict[str, object] = {
        "type": "about:blank",
        "title": HTTPStatus(status).phrase,
        "status": status,
        "detail": detail,
        "code": code,
    }
    if field:
        content["field"] = field
    headers = {"Retry-After": str(_RETRY_AFTER_S)} if status == HTTPStatus.SERVICE_UNAVAILABLE else None
    return JSONResponse(content, status, headers, MEDIA_TYPE)


def install(app: FastAPI) -> None:
    """Let every error leave as problem JSON."""

    @app.exception_handler(Refusal)
    @app.exception_handler(BadCall)
    async def refused(request: Request, error: Exception) -> Response:
        assert isinstance(error, Refusal | BadCall)
        return answer(error.status, error.code, str(error), error.field)

    @app.exception_handler(errors.StoreProblem)
    async def failed(request: Request, error: Exception) -> Response:
        assert isinstance(error, errors.StoreProblem)
        status = next((_STATUS[kind] for kind in type(error).__mro__ if kind in _STATUS), 500)
        _log.error("%s: %s", _route(request), error)
        return answer(status, error.code, str(error))

    @app.exception_handler(RequestValidationError)
    async def invalid(request: Request, error: Exception) -> Response:
        assert isinstance(error, RequestValidationError)
        first = error.errors()[0]
        field = str(first["loc"][-1])
        return answer(422, "bad_request", f"`{field}`: {first['msg']}", field)

    @app.exception_handler(HTTPException)
    async def http(request: Request, error: Exception) -> Response:
        assert isinstance(error, HTTPException)
        code = HTTPStatus(error.status_code).name.lower()
        refusal = answer(error.status_code, code, str(error.detail))
        refusal.headers.update(error.headers or {})
        return refusal

    @app.exception_handler(Exception)
    async def unexpected(request: Request, error: Exception) -> Response:
        _log.exception("%s", _route(request), exc_info=error)
        return answer(500, "internal", "the server failed at this; nothing of the call was saved")


def _route(request: Request) -> str:
    """Name the route of a call for the server's own log; what was put into its address may be a secret."""
    route = request.scope.get("route")
    return f"{request.method} {getattr(route, 'path', request.url.path)}"
