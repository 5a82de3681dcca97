"""Trains the flaw network on the packed boards and rendered leaves and writes flaws.onnx.

    python training/train.py --boards BOARDS.npz --leaves LEAVES.npz --out FOLDER --minutes 7 [--all]

Without --all every fifth block of boards and every sixth rendered leaf is held back, and figures on them are
printed; with it nothing is held back.
"""

from __future__ import annotations

import argparse
import copy
import math
import time
from pathlib import Path

import numpy as np
import torch

from network import KINDS, FlawNet, write_onnx
from patches import FLOOR, IGNORE_BIT, LIMIT, Picture, draw, read_pack

BLOCK = 7  # boards photographed one after the other are pieces of one plank: they are held back together


def held_back(index: int, marked_by_box: bool) -> bool:
    """Whether the picture of that index is for validation."""
    return (index // BLOCK) % 5 == 2 if marked_by_box else index % 6 == 5


def loss_of(
    logits: torch.Tensor, target: torch.Tensor, weight: torch.Tensor, unsure: torch.Tensor, doubt: float
) -> torch.Tensor:
    """Focal cross entropy and the overlap of each kind.

    Published marks are not complete: off the marks boards count less, and least where the network
    itself has come to see something.
    """
    p = torch.sigmoid(logits)
    cross = torch.nn.functional.binary_cross_entropy_with_logits(logits, target, reduction="none")
    wrong = torch.abs(p.detach() - target)
    light = torch.where((target == 0) & unsure, 0.4, 1.0)
    light = torch.where((target == 0) & unsure & (p.detach() > 0.6), doubt, light)
    strength = weight * light * (0.25 + wrong) * torch.where(target > 0, 2.0, 1.0)
    focal = (cross * strength).sum() / weight.sum()
    w = weight * light
    both = (p * target * w).sum((0, 2, 3))
    either = ((p + target) * w).sum((0, 2, 3))
    there = (target * w).sum((0, 2, 3)) > 20
    overlap = 1 - (2 * both + 10) / (either + 10)
    return 20 * focal + (overlap * there).sum() / torch.clamp(there.sum(), min=1)


def whole(net: FlawNet, picture: Picture) -> torch.Tensor:
    """(k, h/2, w/2) probabilities of a whole picture, as the package sees it."""
    x = torch.log((picture.rgb.float() / 255 + FLOOR) / (picture.middle[:, None, None] + FLOOR))
    x = torch.cat([torch.clamp(x, -LIMIT, LIMIT) * picture.wood, picture.wood[None].float()])
    high, wide = x.shape[1:]
    x = torch.nn.functional.pad(x, (0, -wide % 16, 0, -high % 16))
    return torch.sigmoid(net(x[None]))[0, :, : high // 2, : wide // 2]


@torch.no_grad()
def judge(net: FlawNet, pictures: list[Picture], name: str) -> None:
    """Prints recall and precision of pixels, by kind."""
    net.eval()
    sums = torch.zeros(3, len(KINDS))
    for picture in pictures:
        p = whole(net, picture).cpu() > 0.5
        bits = picture.label[: p.shape[1] * 2 : 2, : p.shape[2] * 2 : 2].cpu()
        seen = (bits & IGNORE_BIT) == 0
        for k in range(len(KINDS)):
            truth = ((bits >> k) & 1) > 0
            sums[0, k] += (p[k] & truth).sum()
            sums[1, k] += truth.sum()
            sums[2, k] += (p[k] & seen).sum()
    for k, kind in enumerate(KINDS):
        recall, precision = sums[0, k] / sums[1, k], sums[0, k] / sums[2, k]
        print(f"{name} {kind}: recall {recall:.3f} precision {precision:.3f}", flush=True)
    net.train()


def train(
    boards: list[Picture], leaves: list[Picture], minutes: float, batch: int, device: str, peak: float
) -> FlawNet:
    """The averaged network after so many minutes."""
    dice = np.random.default_rng(1)
    torch.manual_seed(1)
    torch.backends.cudnn.benchmark = True
    net = FlawNet().to(device).to(memory_format=torch.channels_last).train()
    average = copy.deepcopy(net)
    optimiser = torch.optim.AdamW(net.parameters(), lr=peak, weight_decay=1e-3)
    began, step, spent, running = time.time(), 0, 0.0, 0.0
    while spent < 1:
        spent = min(1.0, (time.time() - began) / (60 * minutes))
        rate = peak * min(1.0, (step + 1) / 200) * (0.02 + 0.98 * 0.5 * (1 + math.cos(math.pi * spent)))
        for group in optimiser.param_groups:
            group["lr"] = rate
        half = batch // 2 if leaves else batch
        chosen = [boards[i] for i in dice.integers(len(boards), size=half)]
        chosen += [leaves[i] for i in dice.integers(len(leaves), size=batch - half)] if leaves else []
        with torch.no_grad():
            x, target, weight, unsure = draw(chosen, dice, device)
        with torch.autocast(device, torch.bfloat16, enabled=device == "cuda"):
            logits = net(x.to(memory_format=torch.channels_last))
        loss = loss_of(logits.float(), target, weight, unsure, 1.0 if spent < 0.3 else 0.15)
        optimiser.zero_grad(set_to_none=True)
        loss.backward()
        torch.nn.utils.clip_grad_norm_(net.parameters(), 1.0)
        optimiser.step()
        keep = min(0.998, step / (step + 20))
        with torch.no_grad():
            for mean, now in zip(average.state_dict().values(), net.state_dict().values(), strict=True):
                if mean.dtype.is_floating_point:
                    mean.lerp_(now, 1 - keep)
        running = float(loss.detach()) if step % 50 == 0 else running
        if step % 500 == 0:
            print(f"step {step} spent {spent:.2f} loss {running:.3f}", flush=True)
        step += 1
    print("steps", step)
    return average


def main() -> None:
    """Trains, judges and writes."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--boards", type=Path, required=True)
    parser.add_argument("--leaves", type=Path)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--minutes", type=float, default=7)
    parser.add_argument("--batch", type=int, default=48)
    parser.add_argument("--rate", type=float, default=3e-3)
    parser.add_argument("--all", action="store_true")
    given = parser.parse_args()
    device = "cuda" if torch.cuda.is_available() else "cpu"
    boards = read_pack(given.boards, True, device)
    leaves = read_pack(given.leaves, False, device) if given.leaves else []
    kept: dict[bool, list[Picture]] = {}
    back: dict[bool, list[Picture]] = {}
    for boxed, pictures in ((True, boards), (False, leaves)):
        back[boxed] = [one for i, one in enumerate(pictures) if held_back(i, boxed)]
        kept[boxed] = [one for i, one in enumerate(pictures) if given.all or not held_back(i, boxed)]
    print(len(kept[True]), len(back[True]), len(kept[False]), len(back[False]), device, flush=True)
    net = train(kept[True], kept[False], given.minutes, given.batch, device, given.rate)
    keeps = copy.deepcopy(net).eval().cpu()
    stem = "flaws-all" if given.all else "flaws-split"
    torch.save(keeps.state_dict(), given.out / f"{stem}.pt")
    write_onnx(keeps, given.out / f"{stem}.onnx")
    for boxed, name in ((True, "boards"), (False, "leaves")):
        if back[boxed]:
            judge(net, back[boxed], name + (" (seen in training)" if given.all else " (held back)"))


if __name__ == "__main__":
    main()
