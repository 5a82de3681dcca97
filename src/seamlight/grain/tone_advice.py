"""What can and can't be done about a two-tone pair, in a maker's words."""

from __future__ import annotations

from typing import Literal

import numpy as np

Cause = Literal["runout", "colour", "none", "unclear"]

NOTABLE_PCT = 1.5  # a smaller step at the joint goes unseen; common practice, no source

_NO_CURE = (
    "Turning or turning over one leaf doesn't cure it: as long as the halves mirror each other at the joint, "
    "their runout is opposed. Only a slip-match, which gives up the mirror, makes both answer light alike."
)
_CHOICES = (
    "Choices: accept it, if the runout is no steeper than 1:28 (2.0 degrees; common practice, no source); "
    "slip-match; shade the finish; or keep it for a smaller or a coloured job."
)
_HOW_STEEP = (
    "How steep the runout is these pictures don't tell: split an offcut along the grain and measure; "
    "slope = drop / length."
)
_AGAIN = (
    "Photograph again: same place, the room dark but for one lamp low at end 1, then at end 2, exposure held."
)


def advice_for(cause: Cause, runout_pct: float, colour_pct: float) -> tuple[str, ...]:
    """Sentences for the maker; figures in percent of the light.

    Args:
        runout_pct: by how much the lamp's place changes the contrast to either side, at least 0.
        colour_pct: what stays the same in both lights, above 0 where the left half is lighter.
    """
    stays = abs(colour_pct)
    darker = "right" if colour_pct > 0 else "left"
    if cause == "runout":
        told = (
            f"The lighter half changes sides with the lamp: runout, worth about {runout_pct:.0f} % of "
            "the light to either side. It isn't colour.",
            _NO_CURE,
            _CHOICES,
            _HOW_STEEP,
        )
        beside = (
            f"Beside it the {darker} half is about {stays:.0f} % darker in both lights: a little colour too."
        )
        return (*told, beside) if stays >= NOTABLE_PCT else told
    if cause == "colour":
        told = (
            f"The {darker} half is darker in both lights, by about {stays:.0f} %: real colour, mineral or "
            "oxidation, or one face sanded and the other not.",
            "Scrape both faces freshly and look again.",
            "Check the marks of the set: leaves that aren't consecutive differ in colour.",
            "Turning a leaf doesn't change its colour.",
        )
        beside = (
            f"Beside it the lamp's place changes that by {runout_pct:.0f} % to either side: some runout too."
        )
        return (*told, beside) if runout_pct >= NOTABLE_PCT else told
    if cause == "none":
        most = np.ceil(max(runout_pct + stays, 1.0))
        return (f"No two-tone to speak of: the halves differ by less than {most:.0f} %.",)
    return (
        f"The lamp's place changes the contrast by about {runout_pct:.1f} % to either side and about "
        f"{stays:.1f} % stays the same: runout and colour can't be told apart, or both are there.",
        _AGAIN,
        _NO_CURE,
    )
