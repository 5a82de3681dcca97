"""Draws training patches out of the packs, turned, scaled, relit, blurred and streaked at random."""

from __future__ import annotations

import io
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import torch
import torch.nn.functional as nnf
from PIL import Image

from network import KINDS

PATCH = 384
FLOOR = 0.02  # as in the package: keeps the logarithm of black wood finite
LIMIT = 2.5
SOUND_BIT, IGNORE_BIT = 1 << 6, 1 << 7


@dataclass
class Picture:
    """One picture with its labels on the device."""

    rgb: torch.Tensor  # (3, h, w) u8
    wood: torch.Tensor  # (h, w) bool
    label: torch.Tensor  # (h, w) u8, a bit per kind, bit 7: learn nothing here
    middle: torch.Tensor  # (3,) the wood's median colour, 0..1
    places: np.ndarray  # (n, 2) row and column of each flaw's middle
    marked_by_box: bool  # published boxes: unmarked flaws may be anywhere; no wane
    name: str


def read_pack(path: Path, marked_by_box: bool, device: str) -> list[Picture]:
    """Every picture of a pack."""
    pack = np.load(path)
    pictures = []
    columns = {key: pack[key] for key in ("picture", "label", "wood")}
    ends = {key: np.concatenate([[0], pack[key + "_ends"]]) for key in columns}
    for i, name in enumerate(pack["names"]):
        planes = {}
        for key, column in columns.items():
            raw = column[ends[key][i] : ends[key][i + 1]].tobytes()
            planes[key] = np.array(Image.open(io.BytesIO(raw)))
        wood = planes["wood"] > 127
        middle = np.median(planes["picture"][wood], axis=0) / 255.0
        label = planes["label"]
        column, cuts = pack["middle"], np.concatenate([[0], pack["middle_ends"]])
        places = np.frombuffer(column[cuts[i] : cuts[i + 1]].tobytes(), np.float32).reshape(-1, 2)
        pictures.append(
            Picture(
                torch.from_numpy(planes["picture"]).permute(2, 0, 1).contiguous().to(device),
                torch.from_numpy(wood).to(device),
                torch.from_numpy(label).to(device),
                torch.from_numpy(middle.astype(np.float32)).to(device),
                places,
                marked_by_box,
                str(name),
            )
        )
    return pictures


def draw(
    pictures: list[Picture], dice: np.random.Generator, device: str
) -> tuple[torch.Tensor, torch.Tensor, torch.Tensor, torch.Tensor]:
    """One patch of each picture.

    Returns:
        Input (n, 4, p, p); target (n, k, p/2, p/2); the weight of each target; and (n, 1, p/2, p/2) where
        a target of nothing is not sure, for only some flaws of the picture are marked.
    """
    inputs, labels = [], []
    for picture in pictures:
        patch, label = _cut(picture, dice, device)
        inputs.append(patch)
        labels.append(label)
    colour = torch.cat([patch[:, :3] for patch in inputs])
    wood = torch.cat([patch[:, 3:] for patch in inputs])
    bits = torch.cat(labels).to(torch.uint8)
    planes = torch.cat([((bits >> k) & 1) for k in range(len(KINDS))], 1).float()
    target = nnf.max_pool2d(planes, 2)
    ignore = nnf.max_pool2d(((bits & IGNORE_BIT) > 0).float(), 2)
    inside = (nnf.avg_pool2d(wood, 2) > 0.5).float()
    weight = (inside * (1 - ignore)).expand_as(target).clone()
    for i, picture in enumerate(pictures):
        if picture.marked_by_box:
            weight[i, KINDS.index("wane")] = 0
    weight = torch.where(target > 0, inside.expand_as(target), weight)
    boxed = torch.tensor([one.marked_by_box for one in pictures], device=device)[:, None, None, None]
    unsure = boxed & (nnf.max_pool2d(((bits & SOUND_BIT) > 0).float(), 2) == 0)
    return torch.cat([_relight(colour, wood, device), wood], 1), target, weight, unsure


def _cut(picture: Picture, dice: np.random.Generator, device: str) -> tuple[torch.Tensor, torch.Tensor]:
    _, high, wide = picture.rgb.shape
    if len(picture.places) and dice.random() < 0.6:
        y, x = (float(v) for v in picture.places[int(dice.integers(len(picture.places)))])
    else:
        y, x = float(dice.uniform(0, high)), float(dice.uniform(0, wide))
    scale = float(np.exp(dice.uniform(np.log(0.5), np.log(2.0))))  # patch pixels per picture pixel
    squeeze = float(np.exp(dice.normal(0, 0.15)))
    turn = np.radians(dice.normal(0, 4.0))
    shift = dice.uniform(-0.4, 0.4, 2) * PATCH / scale
    sx, sy = PATCH / (scale * squeeze) / wide, PATCH / (scale / squeeze) / high
    fx, fy = dice.choice([-1.0, 1.0], 2)
    cx = 2 * np.clip(x + shift[0], 0, wide) / wide - 1
    cy = 2 * np.clip(y + shift[1], 0, high) / high - 1
    rows = [
        [fx * sx * np.cos(turn), -fy * sx * np.sin(turn), cx],
        [fx * sy * np.sin(turn), fy * sy * np.cos(turn), cy],
    ]
    theta = torch.tensor([rows], dtype=torch.float32, device=device)
    grid = nnf.affine_grid(theta, [1, 4, PATCH, PATCH], align_corners=False)
    planes = torch.cat([picture.rgb.float() / 255.0, picture.wood[None].float()])[None]
    if scale < 0.75:  # keep fine detail from folding over
        planes = nnf.avg_pool2d(planes, 2)
    patch = nnf.grid_sample(planes, grid, align_corners=False)
    label = nnf.grid_sample(picture.label[None, None].float(), grid, mode="nearest", align_corners=False)
    patch[:, :3] = torch.log((patch[:, :3] + FLOOR) / (picture.middle[None, :, None, None] + FLOOR))
    patch[:, 3:] = (patch[:, 3:] > 0.6).float()
    return patch, label


def _relight(colour: torch.Tensor, wood: torch.Tensor, device: str) -> torch.Tensor:
    """Contrast, tint, hue, uneven light, streaks, pores, blur and noise; off the wood: nothing."""
    n, _, high, wide = colour.shape

    def some(*shape: int) -> torch.Tensor:
        return torch.randn(n, *shape, device=device)

    def even(low: float, top: float, *shape: int) -> torch.Tensor:
        return torch.rand(n, *shape, device=device) * (top - low) + low

    def cloud(rows: int, cols: int, planes: int = 1) -> torch.Tensor:
        rough = some(planes, rows, cols)
        return nnf.interpolate(rough, size=(high, wide), mode="bicubic", align_corners=False)

    def often(share: float) -> torch.Tensor:
        return (torch.rand(n, 1, 1, 1, device=device) < share).float()

    mix = torch.eye(3, device=device)[None] + 0.1 * some(3, 3)
    x = torch.einsum("nij,njhw->nihw", mix / mix.sum(2, keepdim=True), colour)
    grey = x.mean(1, keepdim=True)
    x = grey + (x - grey) * even(0.3, 1.6, 1, 1, 1)
    x = x * torch.exp(0.3 * some(1, 1, 1))
    x = x + 0.07 * some(1, 1, 1) + 0.03 * some(3, 1, 1)
    x = x + cloud(3, 3) * even(0, 0.15, 1, 1, 1) * often(0.7)
    # Silk, saw marks and bright streaks lie across the grain; pores and fine lines along it. None is a flaw.
    streaks = torch.relu(cloud(high, 6) - 1.5) * even(0, 0.25, 1, 1, 1) * often(0.4)
    fleck = torch.relu(cloud(high // 3, wide // 24) - 1.2) * even(-0.1, 0.3, 1, 1, 1) * often(0.4)
    saw = cloud(high, 2) * even(0, 0.05, 1, 1, 1) * often(0.4)
    pores = torch.relu(cloud(high // 24, wide) - 1.5) * even(0, 0.15, 1, 1, 1) * often(0.4)
    figure = cloud(high // 16, wide // 48) * even(0, 0.06, 1, 1, 1) * often(0.4)
    x = x + streaks + fleck + saw - pores + figure
    x = _blur(x)
    x = x + some(3, high, wide) * even(0, 0.05, 1, 1, 1) * often(0.7)
    return torch.clamp(x, -LIMIT, LIMIT) * wood


def _blur(x: torch.Tensor) -> torch.Tensor:
    """Half of the patches softened, each by its own width."""
    n = len(x)
    sigma = torch.rand(n, device=x.device) * 1.6 + 0.2
    sigma[torch.rand(n, device=x.device) < 0.5] = 0.05
    taps = torch.arange(-4, 5, device=x.device)
    kernel = torch.exp(-0.5 * (taps[None] / sigma[:, None]) ** 2)
    kernel = (kernel / kernel.sum(1, keepdim=True)).repeat_interleave(3, 0)
    flat = x.reshape(1, n * 3, *x.shape[2:])
    flat = nnf.conv2d(flat, kernel[:, None, :, None], padding=(4, 0), groups=n * 3)
    flat = nnf.conv2d(flat, kernel[:, None, None, :], padding=(0, 4), groups=n * 3)
    return flat.reshape(x.shape)
