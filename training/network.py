"""The flaw network in PyTorch, and its plain ONNX file written operator by operator.

A small U-shaped convolutional network. In: (n, 4, h, w), three planes of log colour over the wood's median
and one of wood (1) or not (0), at 2 px/mm; h and w multiples of 16. Out: (n, 5, h/2, w/2), the probability of
knot, pitch, crack, stain, wane at 1 px/mm. Batch normalisation is folded into the convolutions on export, so
that the file holds only Conv, Relu, MaxPool, Resize, Concat and Sigmoid.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import onnx
import torch
from onnx import TensorProto, helper, numpy_helper
from torch import nn

KINDS = ("knot", "pitch", "crack", "stain", "wane")
WIDTHS = (24, 40, 64, 96)


class Step(nn.Module):
    """A 3x3 convolution, batch normalisation and a rectifier."""

    def __init__(self, inside: int, outside: int, stride: int = 1) -> None:
        super().__init__()
        self.conv = nn.Conv2d(inside, outside, 3, stride, 1, bias=False)
        self.norm = nn.BatchNorm2d(outside)

    def forward(self, x: torch.Tensor) -> torch.Tensor:
        return torch.relu(self.norm(self.conv(x)))

    def folded(self) -> tuple[np.ndarray, np.ndarray]:
        """Weight and bias with the normalisation multiplied in."""
        gain = self.norm.weight / torch.sqrt(self.norm.running_var + self.norm.eps)
        weight = self.conv.weight * gain[:, None, None, None]
        bias = self.norm.bias - self.norm.running_mean * gain
        return weight.detach().cpu().numpy(), bias.detach().cpu().numpy()


class FlawNet(nn.Module):
    """Down three times by pooling, up three times by doubling, with the finer planes carried across."""

    def __init__(self) -> None:
        super().__init__()
        a, b, c, d = WIDTHS
        self.stem = Step(4, a, stride=2)
        self.down = nn.ModuleList(
            [
                nn.Sequential(Step(a, a)),
                nn.Sequential(Step(a, b), Step(b, b)),
                nn.Sequential(Step(b, c), Step(c, c)),
                nn.Sequential(Step(c, d), Step(d, d), Step(d, d)),
            ]
        )
        self.up = nn.ModuleList(
            [nn.Sequential(Step(d + c, c)), nn.Sequential(Step(c + b, b)), nn.Sequential(Step(b + a, a))]
        )
        self.head = nn.Conv2d(a, len(KINDS), 1)
        nn.init.constant_(self.head.bias, -4.0)

    def forward(self, x: torch.Tensor) -> torch.Tensor:
        """Logits at half the size of the input."""
        kept = []
        x = self.stem(x)
        for level, block in enumerate(self.down):
            if level:
                x = torch.max_pool2d(x, 2)
            x = block(x)
            kept.append(x)
        for block, finer in zip(self.up, kept[-2::-1], strict=True):
            x = torch.nn.functional.interpolate(x, scale_factor=2, mode="nearest")
            x = block(torch.cat([x, finer], 1))
        return self.head(x)


class _Writer:
    """Collects the operators and weights of an ONNX graph."""

    def __init__(self) -> None:
        self.nodes: list[onnx.NodeProto] = []
        self.weights: list[onnx.TensorProto] = []

    def keep(self, value: np.ndarray, name: str) -> str:
        self.weights.append(numpy_helper.from_array(np.ascontiguousarray(value), name))
        return name

    def add(self, kind: str, inputs: list[str], **attributes: object) -> str:
        name = f"{kind.lower()}{len(self.nodes)}"
        self.nodes.append(helper.make_node(kind, inputs, [name], **attributes))
        return name

    def conv(self, x: str, weight: np.ndarray, bias: np.ndarray, stride: int = 1) -> str:
        pad = weight.shape[2] // 2
        n = len(self.nodes)
        names = [x, self.keep(weight, f"w{n}"), self.keep(bias, f"b{n}")]
        return self.add(
            "Conv", names, kernel_shape=list(weight.shape[2:]), strides=[stride] * 2, pads=[pad] * 4
        )

    def step(self, x: str, step: Step) -> str:
        weight, bias = step.folded()
        return self.add("Relu", [self.conv(x, weight, bias, step.conv.stride[0])])


def write_onnx(net: FlawNet, path: Path) -> None:
    """Writes the trained network; height and width stay free."""
    w = _Writer()
    x = w.step("leaf", net.stem)
    kept = []
    for level, block in enumerate(net.down):
        if level:
            x = w.add("MaxPool", [x], kernel_shape=[2, 2], strides=[2, 2])
        for step in block:
            x = w.step(x, step)
        kept.append(x)
    scales = w.keep(np.array([1, 1, 2, 2], np.float32), "twice")
    for block, finer in zip(net.up, kept[-2::-1], strict=True):
        x = w.add(
            "Resize",
            [x, "", scales],
            mode="nearest",
            coordinate_transformation_mode="asymmetric",
            nearest_mode="floor",
        )
        x = w.step(w.add("Concat", [x, finer], axis=1), block[0])
    head = net.head
    x = w.conv(x, head.weight.detach().cpu().numpy(), head.bias.detach().cpu().numpy())
    w.nodes.append(helper.make_node("Sigmoid", [x], ["flaws"]))
    inside = helper.make_tensor_value_info("leaf", TensorProto.FLOAT, [1, 4, "h", "w"])
    outside = helper.make_tensor_value_info("flaws", TensorProto.FLOAT, [1, len(KINDS), "h2", "w2"])
    graph = helper.make_graph(w.nodes, "flaws", [inside], [outside], w.weights)
    model = helper.make_model(graph, opset_imports=[helper.make_opsetid("", 13)], ir_version=8)
    onnx.checker.check_model(model)
    onnx.save(model, str(path))
