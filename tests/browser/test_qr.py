"""QR codes: the standard's own examples and capacities, another encoder's matrices, and an independent decoder."""

from __future__ import annotations

import io
import random
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import segno
from numpy.typing import NDArray

pytestmark = pytest.mark.browser

SCRIPT = Path(__file__).parents[2] / "site_overrides/assets/qr.js"
VERSIONS = range(1, 16)
BYTES = (14, 26, 42, 62, 84, 106, 122, 152, 180, 213, 251, 287, 331, 362, 412)
SIGNS = (20, 38, 61, 90, 122, 154, 178, 221, 262, 311, 366, 419, 483, 528, 600)
"""Bytes and alphanumeric signs that versions 1 to 15 hold at level M (ISO/IEC 18004, table 7; from memory)."""

ALPHANUMERIC = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ $%*+-./:"
ADDRESS = "abcdefghijklmnopqrstuvwxyzABCXYZ0123456789-._~:/?#&=%"


@pytest.fixture(scope="module")
def page(chromium: Any) -> Iterator[Any]:
    page = chromium.new_page()
    page.set_content("<!doctype html><meta charset=utf-8><body style='margin:0'>")
    page.add_script_tag(path=str(SCRIPT))
    yield page
    page.close()


def some(dice: random.Random, signs: str, length: int) -> str:
    return "".join(dice.choice(signs) for _ in range(length))


def encoded(page: Any, cases: list[tuple[str, dict[str, int]]]) -> list[Any]:
    return list(
        page.evaluate("cases => cases.map(([text, wanted]) => kbQr.of(text, wanted))", [list(c) for c in cases])
    )


def decoded(image: NDArray[np.uint8]) -> list[tuple[str, str, str]]:
    """Contents, format and error correction level of every code in a picture."""
    zxingcpp = pytest.importorskip("zxingcpp")
    found = zxingcpp.read_barcodes(np.ascontiguousarray(image))
    return [(one.text, one.format.name, one.ec_level) for one in found]


def picture(dark: list[list[bool]]) -> NDArray[np.uint8]:
    """Three pixels a module with the quiet zone of four modules."""
    paper = np.pad(np.array(dark, dtype=bool), 4)
    return np.kron(np.where(paper, 0, 255).astype(np.uint8), np.ones((3, 3), dtype=np.uint8))


# --- the standard's own examples ---


def test_error_correction_of_the_standards_example(page: Any) -> None:
    """ISO/IEC 18004, annex on encoding a symbol: 01234567 in version 1-M, data and correction codewords (from memory)."""
    data = [0x10, 0x20, 0x0C, 0x56, 0x61, 0x80, *[0xEC, 0x11] * 5]
    found = page.evaluate("data => kbQr.correction(data, 10)", data)
    assert found == [0xA5, 0x24, 0xD4, 0xC1, 0xED, 0x36, 0xC7, 0x87, 0x2C, 0x55]


def test_format_and_version_information_of_the_standards_examples(page: Any) -> None:
    """ISO/IEC 18004, annexes on format and version information: level M with mask 101, and version 7 (from memory)."""
    assert page.evaluate("kbQr.format(5)") == 0b100000011001110
    assert page.evaluate("kbQr.versionBits(7)") == 0b000111110010010100


def test_alphanumeric_bits_of_the_standards_example(page: Any) -> None:
    """ISO/IEC 18004, alphanumeric mode: AC-42 in version 1 (from memory)."""
    bits = "".join(map(str, page.evaluate("kbQr.segment('AC-42', 1)")))
    assert bits == "0010" + "000000101" + "00111001110" + "11100111001" + "000010"


@pytest.mark.parametrize(("table", "sign"), [(BYTES, "a"), (SIGNS, "A")])
def test_every_version_holds_as_much_as_the_standard_says(page: Any, table: tuple[int, ...], sign: str) -> None:
    cases = [(sign * (count + more), {"mask": 0}) for count in table for more in (0, 1)]
    versions = [found and found["version"] for found in encoded(page, cases)]
    assert versions == [*[v for number in VERSIONS for v in (number, number + 1)][:-1], None]


# --- another encoder, and a decoder ---


def test_the_same_modules_as_another_encoder(page: Any) -> None:
    """segno, every version, both modes, every mask in turn. It adds a zero codeword where the bits end on a whole one, which the
    standard does not ask for; so bytes fill their version here, and alphanumeric texts end elsewhere.
    """
    dice = random.Random(2)
    cases, wanted = [], []
    for version in VERSIONS:
        length = SIGNS[version - 1] - 10
        while (4 + (9 if version < 10 else 11) + length // 2 * 11 + length % 2 * 6 + 4) % 8 == 0:
            length -= 1
        texts = {
            "byte": "a" + some(dice, ADDRESS, BYTES[version - 1] - 1),
            "alphanumeric": "A" + some(dice, ALPHANUMERIC, length - 1),
        }
        for mode, text in texts.items():
            for mask in {version % 8, (3 * version + 5) % 8}:
                cases.append((text, {"version": version, "mask": mask}))
                wanted.append(
                    segno.make(text, error="m", version=version, mask=mask, mode=mode, boost_error=False, micro=False)
                )
    for found, theirs in zip(encoded(page, cases), wanted, strict=True):
        assert found["mode"] == theirs.mode
        assert [[int(dark) for dark in row] for row in found["dark"]] == [list(row) for row in theirs.matrix]


def test_an_independent_decoder_reads_every_version_mode_and_mask(page: Any) -> None:
    dice = random.Random(5)
    cases = [
        (
            ("a" if signs is ADDRESS else "A") + some(dice, signs, dice.randrange(1, table[version - 1])),
            {"version": version, "mask": mask},
        )
        for version in VERSIONS
        for signs, table in ((ADDRESS, BYTES), (ALPHANUMERIC, SIGNS))
        for mask in (version % 8, (version + 3) % 8)
    ]
    for (text, _), found in zip(cases, encoded(page, cases), strict=True):
        assert decoded(picture(found["dark"])) == [(text, "QRCode", "M")]
    assert {case[1]["mask"] for case in cases} == set(range(8))


@pytest.mark.parametrize("length", [1, 30, 120, 213, 412])
def test_the_drawing_in_a_dark_page_is_black_on_white_and_is_read(page: Any, length: int) -> None:
    from PIL import Image

    text = (
        "https://manual.example/#" + some(random.Random(length), ADDRESS, length)
        if length < 213
        else some(random.Random(length), ADDRESS, length)
    )
    page.evaluate(
        """text => { document.body.style.background = '#111'; document.body.style.color = '#eee'; const symbol = kbQr.of(text), svg = kbQr.svg(symbol, 'QR');
        svg.style.width = 4 * (symbol.size + 8) + 'px'; svg.style.display = 'block'; document.body.replaceChildren(svg); }""",
        text,
    )
    shot = Image.open(io.BytesIO(page.locator("svg").screenshot())).convert("L")
    pixels = np.array(shot)
    assert set(np.unique(pixels)) == {0, 255}
    assert (pixels[:16] == 255).all()
    assert (pixels[:, :16] == 255).all()
    assert decoded(pixels) == [(text, "QRCode", "M")]


# --- the mask ---


def penalty(dark: NDArray[np.bool_]) -> int:
    """The four penalties of ISO/IEC 18004, evaluation of masking results (from memory), written another way."""
    size, total = len(dark), 0
    for lines in (dark, dark.T):
        for line in lines:
            text = "".join("#" if module else "." for module in line)
            total += sum(3 + len(run) - 5 for run in (m.group() for m in re.finditer(r"(.)\1*", text)) if len(run) >= 5)
            total += 40 * len(re.findall(r"(?=#\.###\.#\.{4})|(?=\.{4}#\.###\.#)", text))
    same = (dark[1:, 1:] == dark[:-1, 1:]) & (dark[1:, 1:] == dark[1:, :-1]) & (dark[1:, 1:] == dark[:-1, :-1])
    share = 100 * dark.sum() / size**2
    return int(total + 3 * same.sum() + 10 * (abs(share - 50) // 5))


def test_the_mask_of_least_penalty_is_taken(page: Any) -> None:
    dice = random.Random(8)
    for version in (1, 2, 3, 5, 7, 10):
        text = "a" + some(dice, ADDRESS, BYTES[version - 1] - 2)
        symbols = encoded(page, [(text, {"version": version, "mask": mask}) for mask in range(8)])
        ours = [penalty(np.array(symbol["dark"], dtype=bool)) for symbol in symbols]
        assert page.evaluate("list => list.map(kbQr.penalty)", [symbol["dark"] for symbol in symbols]) == ours
        (found,) = encoded(page, [(text, {})])
        assert found["mask"] == ours.index(min(ours))


def test_every_mask_is_the_best_for_some_text_and_is_read(page: Any) -> None:
    dice = random.Random(6)
    texts = ["A" + some(dice, ALPHANUMERIC, 12) for _ in range(60)]
    found = dict(zip(texts, encoded(page, [(text, {}) for text in texts]), strict=True))
    for mask in range(8):
        text = next(text for text, symbol in found.items() if symbol["mask"] == mask)
        assert decoded(picture(found[text]["dark"])) == [(text, "QRCode", "M")]
