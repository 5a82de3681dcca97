"""What a program may ask of the shop: the list of operations, and the form's token."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request
from pydantic import BaseModel
from starlette.responses import HTMLResponse, JSONResponse

from seamlight.web import csrf
from seamlight.web.render import page

router = APIRouter()


class FormToken(BaseModel):
    """What every change has to carry in the header X-CSRF, together with the cookie set here."""

    csrf: str


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
