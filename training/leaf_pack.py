"""Renders invented leaves with exact flaw masks for training: many woods, lights, blurs, saw marks, streaks.

    python training/leaf_pack.py OUT.npz [COUNT [MORE]]

Seeds 1 to COUNT, and MORE seeds from 100 001 on: no test, table or tuning uses either. Every fourth leaf
is clear wood.
"""

from __future__ import annotations

import sys
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import cv2
import numpy as np

from board_pack import CRACK, KNOT, PITCH, STAIN, WANE, as_bytes, save
from seamlight.demo import saw, wood
from seamlight.demo.knots import KnotAt
from seamlight.demo.pockets import PocketAt, StainAt
from seamlight.demo.species import SPECIES
from seamlight.demo.truth import FaceTruth

PX_PER_MM = 2.0
MORE_FROM = 100_001
PLANE_OF_KIND = {"knot": KNOT, "pitch": PITCH, "crack": CRACK, "stain": STAIN, "wane": WANE}


def grown(seed: int) -> FaceTruth:
    """One leaf's face, everything about it drawn from the seed."""
    dice = np.random.default_rng([seed, 77])
    clear = seed % 4 == 0

    def several(most: int) -> int:
        return 0 if clear else int(dice.integers(0, most + 1))

    def place(edge: float = 104.0) -> tuple[float, float]:
        return float(dice.uniform(-edge, edge)), float(dice.uniform(-275, 275))

    def log_even(low: float, high: float) -> float:
        return float(np.exp(dice.uniform(np.log(low), np.log(high))))

    kinds = ("live", "dead", "cracked", "live", "dead", "fallen")
    knots = [
        KnotAt(
            *place(),
            log_even(2.5, 20) if dice.random() < 0.6 else log_even(2.5, 7),
            kinds[dice.integers(6)],
            float(dice.uniform(15, 88)),
        )
        for _ in range(several(9))
    ]
    pitch = [PocketAt(*place(), log_even(7, 45), log_even(1.2, 5.0)) for _ in range(several(5))]
    stains = [StainAt(*place(), log_even(20, 140), log_even(6, 34)) for _ in range(several(2))]
    species = str(dice.choice([*SPECIES, "black walnut"]))  # dark wood hides small knots: more of it
    own = SPECIES[species]
    log = wood.grow_log(
        seed,
        species=species,
        ring_mm=own.ring_mm * log_even(0.6, 2.2),
        lean_deg=float(dice.choice([0, 5, 20, 45]) * dice.random()),
        pith_side=str(dice.choice(["left", "right"])),
        bend_mm=float(dice.normal(0, 2)),
        figure=float(dice.random() * (dice.random() < 0.35)),
        figure_mm=float(dice.uniform(5, 20)),
        knots=knots,
        pitch=pitch,
        stains=stains,
        wane_mm=float(dice.uniform(3, 30)) if not clear and dice.random() < 0.4 else 0.0,
    )
    pair = saw.saw_pair(
        log,
        seed,
        length_mm=float(dice.uniform(480, 600)),
        width_mm=float(dice.uniform(150, 235)),
        taper_mm=float(dice.uniform(0, 20)),
        rough_mm=float(dice.uniform(0, 2)),
        chips=int(dice.integers(0, 3)),
        holes=several(2),
        checks=several(3),
        saw_marks=float(dice.uniform(0, 1)),
        streaks=float(dice.uniform(0, 1)),
        ripple=float(dice.uniform(0, 1.2) * (dice.random() < 0.5)),
    )
    return saw.face(
        pair.a if dice.random() < 0.5 else pair.b,
        "sawn" if dice.random() < 0.5 else "other",
        px_per_mm=float(dice.choice([2.0, 2.0, 3.0])),
        lamp=dice.choice(["diffuse", "end 1", "end 2"]),
        noise=float(dice.uniform(0, 4)),
        blur_mm=float(dice.choice([0, 0, 0.15, 0.35])),
        contrast=float(dice.uniform(0.6, 1.4)),
        turned=bool(dice.random() < 0.5),
    )


def packed(seed: int) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """JPEG of the face at 2 px/mm, PNG of its flaw bits, PNG of its wood, middles of its flaws (y, x)."""
    face = grown(seed)
    by = PX_PER_MM / face.px_per_mm
    rgb = cv2.resize(face.rgb, None, fx=by, fy=by, interpolation=cv2.INTER_AREA)
    share = cv2.resize(face.wood.astype(np.float32), None, fx=by, fy=by, interpolation=cv2.INTER_AREA)
    bits = np.zeros(rgb.shape[:2], np.uint8)
    middles = [flaw.outline_mm.mean(axis=0)[::-1] * PX_PER_MM for flaw in face.flaws]
    for flaw in face.flaws:
        if flaw.kind not in PLANE_OF_KIND:
            continue
        mask = np.zeros_like(bits)
        line = np.round((flaw.outline_mm * PX_PER_MM - 0.5) * 16).astype(np.int32)
        cv2.fillPoly(mask, [line], 1, cv2.LINE_8, 4)
        bits |= mask << PLANE_OF_KIND[flaw.kind]
    picture = cv2.imencode(".jpg", rgb[..., ::-1], [cv2.IMWRITE_JPEG_QUALITY, 88])[1].ravel()
    label = cv2.imencode(".png", bits)[1].ravel()
    wood_png = cv2.imencode(".png", (share > 0.99).astype(np.uint8) * 255)[1].ravel()
    return picture, label, wood_png, as_bytes(middles)


def main(target: Path, count: int, more: int) -> None:
    """Writes the pack."""
    seeds = [*range(1, count + 1), *range(MORE_FROM, MORE_FROM + more)]
    with ProcessPoolExecutor() as pool:
        leaves = list(pool.map(packed, seeds, chunksize=4))
    pictures, labels, woods, middles = (list(column) for column in zip(*leaves, strict=True))
    save(target, pictures, labels, woods, middles, [str(seed) for seed in seeds])


if __name__ == "__main__":
    numbers = [int(text) for text in sys.argv[2:4]]
    main(Path(sys.argv[1]), *(numbers + [150, 0][len(numbers) :]))
