"""Signal words, colours and contrast against what is published about them."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

CSS = Path(__file__).parents[2] / "site_overrides" / "assets" / "safety.css"

# ISO 3864 colours as RAL numbers and their usual screen values: encyclopedia page "ISO 3864".
ISO_3864 = {"danger": "#9b2423", "warning": "#d05d29", "caution": "#f9a800", "notice": "#005387"}

# WCAG 2.2 SC 1.4.3: 4.5:1 for text.
AA_TEXT = 4.5


def properties() -> dict[str, str]:
    root = re.search(r":root \{(.*?)\}", CSS.read_text(), re.S)
    assert root
    return dict(re.findall(r"--kb-([\w-]+):\s*([^;]+);", root.group(1)))


def contrast(one: str, other: str) -> float:
    """Contrast ratio by WCAG 2.2, "relative luminance" and "contrast ratio"."""

    def luminance(colour: str) -> float:
        channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
        linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_the_bands_bear_the_colours_of_iso_3864() -> None:
    assert {name: properties()[name] for name in ISO_3864} == ISO_3864


@pytest.mark.parametrize(
    ("word", "ratio"),
    # white on red, black on orange, black on yellow, white on blue, computed with another implementation
    [("danger", 7.86), ("warning", 5.28), ("caution", 10.63), ("notice", 8.12)],
)
def test_the_words_can_be_read_on_their_bands(word: str, ratio: float) -> None:
    found = contrast(properties()[word], properties()[f"{word}-ink"])
    assert found == pytest.approx(ratio, abs=0.01)
    assert found >= AA_TEXT


def test_white_on_that_orange_would_fail() -> None:
    found = contrast("#ffffff", properties()["warning"])
    assert found == pytest.approx(3.98, abs=0.01)
    assert found < AA_TEXT


@pytest.mark.parametrize(("grey", "ratio"), [("#767676", 4.54), ("#777777", 4.48)])
def test_the_contrast_formula_itself(grey: str, ratio: float) -> None:
    # WCAG 2.2 SC 1.4.3: the widely published pair on either side of 4.5:1
    assert contrast(grey, "#ffffff") == pytest.approx(ratio, abs=0.005)
