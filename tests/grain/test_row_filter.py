"""Rows filtered in the spectrum against NumPy's own transform."""

from __future__ import annotations

import numpy as np
import pytest

from seamlight.grain.row_filter import filter_length, filtered


@pytest.mark.parametrize(("rows", "columns"), [(1, 2), (5, 37), (70, 200)])
def test_is_what_the_full_transform_gives(rows: int, columns: int) -> None:
    dice = np.random.default_rng(rows)
    picture = dice.normal(size=(rows, columns)).astype(np.float32)
    length = filter_length(columns + 8)
    assert length >= columns + 8
    assert length % 2 == 0
    gain = dice.uniform(0, 1, length // 2 + 1).astype(np.complex64)
    slope = (gain * 2j * np.pi * np.arange(length // 2 + 1) / length).astype(np.complex64)
    for found, weight in zip(filtered(picture, length, [gain, slope]), (gain, slope), strict=True):
        true = np.fft.irfft(np.fft.rfft(picture.astype(float), length, axis=1) * weight, length, axis=1)
        np.testing.assert_allclose(found, true[:, :columns], atol=1e-5)


def test_the_slope_of_a_wave_of_three_columns_is_its_own() -> None:
    columns = 600
    x = np.arange(columns)
    wave = np.sin(2 * np.pi * x / 3.0)[None].astype(np.float32)
    length = filter_length(columns)
    assert length == columns
    steep = (2j * np.pi * np.arange(length // 2 + 1) / length).astype(np.complex64)
    (found,) = filtered(wave, length, [steep])
    np.testing.assert_allclose(found[0], 2 * np.pi / 3 * np.cos(2 * np.pi * x / 3.0), atol=1e-3)
