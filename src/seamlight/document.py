"""What every JSON document of the command line has in common."""

from __future__ import annotations

from typing import Annotated, Any

import numpy as np
from numpy.typing import NDArray
from pydantic import BaseModel, BeforeValidator, ConfigDict, Field


def _rounded(value: Any) -> Any:
    """A figure to 0.0001 (mm, deg, ...); None where it is missing or not finite."""
    if value is None or isinstance(value, bool):
        return value
    number = float(value)
    return round(number, 4) if np.isfinite(number) else None


def point_list(points: NDArray[np.float64]) -> list[tuple[float, float]]:
    """(n, 2) array -> pairs rounded to 0.001 mm."""
    return [(round(float(x), 3), round(float(y), 3)) for x, y in np.asarray(points, dtype=np.float64)]


Figure = Annotated[float, BeforeValidator(_rounded)]
MaybeFigure = Annotated[float | None, BeforeValidator(_rounded)]
PointList = list[tuple[float, float]]


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
