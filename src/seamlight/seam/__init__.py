"""The joint: light through it, straightedge readings, what to take off, what the clamps must do.

In: pictures of the closed joint against a lamp (`read_light`, `read_light_files` give a `LightReading`), or
feeler readings (`load_readings`, `parse_readings` give `Readings`), and the `Bench` (leaf, glue, strokes
learned, room left on the layout, earlier readings). Out: `judge_light` and `judge_readings` give a
`Meaning`, `join_faces` adds feelers on both faces to a light reading, `SeamDocument` is its JSON (`seam`,
`edge`), `advise` its words. Beside them: `judge_flatness` and
`judge_dryness` before, `glue_up` for joining, `judge_step`, `judge_centre_line` and `fit_again` after,
`progress` over many readings, `learn` for the shop's own figure per stroke. Seam frame: s along the joint
from the neck end, mm.
"""

from seamlight.seam.advice import advise
from seamlight.seam.after import JoinedFit, StepVerdict, fit_again, judge_centre_line, judge_step
from seamlight.seam.bench import Bench
from seamlight.seam.closing import Closing, Pull, closing
from seamlight.seam.document import SeamDocument
from seamlight.seam.faces import join_faces, light_again
from seamlight.seam.flatness import Flatness, cup_mm, judge_dryness, judge_flatness, twist_mm
from seamlight.seam.folded import Edge, joint_of, joint_of_folded
from seamlight.seam.joining import GlueUp, glue_up, rig_can
from seamlight.seam.leaf import Leaf, leaf_of
from seamlight.seam.light import read_light, read_light_files
from seamlight.seam.light_reading import LightReading
from seamlight.seam.meaning import Meaning, judge_gap, judge_light, judge_readings
from seamlight.seam.profile import Profile, fit_gap
from seamlight.seam.progress import Progress, progress
from seamlight.seam.readings import Readings, load_readings, parse_readings
from seamlight.seam.shape import Shape
from seamlight.seam.square import Felt, Square, square_of
from seamlight.seam.strokes import StrokeFigure, Strokes, Worked, learn, plan_strokes
from seamlight.seam.take_off import Stretch, take_off
from seamlight.seam.verdict import Verdict

__all__ = [
    "Bench",
    "Closing",
    "Edge",
    "Felt",
    "Flatness",
    "GlueUp",
    "JoinedFit",
    "Leaf",
    "LightReading",
    "Meaning",
    "Profile",
    "Progress",
    "Pull",
    "Readings",
    "SeamDocument",
    "Shape",
    "Square",
    "StepVerdict",
    "Stretch",
    "StrokeFigure",
    "Strokes",
    "Verdict",
    "Worked",
    "advise",
    "closing",
    "cup_mm",
    "fit_again",
    "fit_gap",
    "glue_up",
    "join_faces",
    "joint_of",
    "joint_of_folded",
    "judge_centre_line",
    "judge_dryness",
    "judge_flatness",
    "judge_gap",
    "judge_light",
    "judge_readings",
    "judge_step",
    "leaf_of",
    "learn",
    "light_again",
    "load_readings",
    "parse_readings",
    "plan_strokes",
    "progress",
    "read_light",
    "read_light_files",
    "rig_can",
    "square_of",
    "take_off",
    "twist_mm",
]
