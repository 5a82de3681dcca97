"""What every JSON document of the command line has in common."""

from __future__ import annotations

from typing import Annotated, Any

import numpy as np
from pydantic import BaseModel, BeforeValidator, ConfigDict, Field


def _rounded(value: Any) -> Any:
    """A figure to 0.0001 (mm, deg, ...); None where it is missing or not finite."""
    if value is None or isinstance(value, bool):
        return value
    number = float(value)
    return round(number, 4) if np.isfinite(number) else None


def _point_list(value: Any) -> Any:
    """(n, 2) array -> pairs rounded to 0.001 mm."""
    return np.round(np.asarray(value, dtype=np.float64), 3).tolist()


Figure = Annotated[float, BeforeValidator(_rounded)]
MaybeFigure = Annotated[float | None, BeforeValidator(_rounded)]
PointList = Annotated[list[tuple[float, float]], BeforeValidator(_point_list)]


class Part(BaseModel):
    """A block inside a document."""

    model_config = ConfigDict(populate_by_name=True, extra="forbid", frozen=True)


class Document(Part):
    """One JSON document: `schema` names it, `warnings` says what its figures rest on.

    Subclasses give `schema_` its default, such as "seamlight/read/1".
    """

    schema_: str = Field(alias="schema")
    warnings: list[str] = Field(default_factory=list)

    def to_json(self) -> str:
        """The document as one JSON text; never holds NaN."""
        return self.model_dump_json(by_alias=True)
