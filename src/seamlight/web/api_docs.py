"""What a program may ask of the shop: the list of operations, the errors, and the form's token."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, FastAPI, Request
from fastapi.openapi.utils import get_openapi
from pydantic import BaseModel
from starlette.responses import HTMLResponse, JSONResponse

from seamlight.web import csrf
from seamlight.web.render import page

router = APIRouter()

SUMMARY = "The shop's wood, readings and builds; lengths in mm, weights in g, temperatures in degrees C."


class FormToken(BaseModel):
    """What every change has to carry in the header X-CSRF, together with the cookie set here."""

    csrf: str


class Told(BaseModel):
    """What is wrong, where, and what to do instead; under /api every refusal looks like this."""

    status: int
    what: str
    where: str = ""
    do: str = ""


@router.get("/api/csrf", tags=["access"], response_model=FormToken)
def form_token(request: Request) -> JSONResponse:
    """The token for changes; sets the cookie that belongs to it."""
    answer = JSONResponse({"csrf": csrf.token_for(request)})
    csrf.keep_value(request, answer)
    return answer


@router.get("/api/docs", include_in_schema=False)
def docs(request: Request) -> HTMLResponse:
    """Every operation under /api on one page of our own."""
    schema = request.app.openapi()
    return page(
        request, "api_docs.html", title="For other programs", place="shop", operations=_operations(schema)
    )


def describe_api(app: FastAPI) -> None:
    """Let the app's OpenAPI tell of /api only, with the errors as they are answered."""

    def described() -> dict[str, Any]:
        if app.openapi_schema is None:
            whole = get_openapi(title=app.title, version=app.version, routes=app.routes, summary=SUMMARY)
            app.openapi_schema = _of_api(whole)
        return app.openapi_schema

    app.openapi = described  # type: ignore[method-assign]


def _of_api(whole: dict[str, Any]) -> dict[str, Any]:
    paths = {path: methods for path, methods in whole["paths"].items() if path.startswith("/api/")}
    told = {
        "description": Told.__doc__,
        "content": {"application/json": {"schema": {"$ref": "#/components/schemas/Told"}}},
    }
    for methods in paths.values():
        for operation in methods.values():
            operation["responses"].pop("422", None)
            operation["responses"]["4XX"] = told
    named = whole.get("components", {}).get("schemas", {})
    kept = {name: named[name] for name in _used(paths, named)}
    return whole | {"paths": paths, "components": {"schemas": kept | {"Told": Told.model_json_schema()}}}


def _used(part: Any, named: dict[str, Any]) -> set[str]:
    """Names of the models that a part of the description refers to, and those that they refer to."""
    found: set[str] = set()
    waiting = [part]
    while waiting:
        one = waiting.pop()
        if isinstance(one, dict):
            name = str(one.get("$ref", "")).rpartition("/")[2]
            if name in named and name not in found:
                found.add(name)
                waiting.append(named[name])
            waiting.extend(one.values())
        elif isinstance(one, list):
            waiting.extend(one)
    return found


def _operations(schema: dict[str, Any]) -> list[dict[str, Any]]:
    """One entry for each path and method, in the order of the paths."""
    return [
        {
            "method": method.upper(),
            "path": path,
            "summary": operation.get("description") or operation.get("summary", ""),
            "parameters": [
                (parameter["name"], parameter["in"], parameter.get("required", False))
                for parameter in operation.get("parameters", ())
            ],
            "body": sorted(operation.get("requestBody", {}).get("content", {})),
            "answers": sorted(operation.get("responses", {})),
        }
        for path, methods in sorted(schema.get("paths", {}).items())
        for method, operation in methods.items()
    ]
