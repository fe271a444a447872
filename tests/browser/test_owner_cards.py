"""Owners' cards in a real browser: one A5 page each, larger type than on a technician's card, nothing clipped, nothing lost."""

from __future__ import annotations

from collections.abc import Iterator
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest

from kbtools.cards.owner_card import OwnerCard
from kbtools.cards.owner_layout import SIZES
from kbtools.library import Library
from tests.browser.test_cards import A5, MEASURE, squeezed
from tests.browser.test_paper import CUT_OFF, contents, printed
from tests.browser.test_paper import near, sizes as paper_sizes
from tests.owner_cards_case import cards_of, strained_owner_card

pypdf = pytest.importorskip("pypdf")
pytestmark = pytest.mark.browser

PARTS = """() => {
  const found = MEASURE();
  const points = px => px * 72 / 96;
  const height = query => [...document.querySelectorAll(query)].reduce((sum, box) => {
    const style = getComputedStyle(box);
    return sum + points(box.getBoundingClientRect().height + parseFloat(style.marginBottom) + parseFloat(style.marginTop));
  }, 0);
  found.parts = {
    'title': height('.plain-header'), 'safety panel': height('.card-panel'), 'first steps': height('.plain-first'),
    'stop signs': height('.plain-stop'), 'meaning': height('.plain-means'), 'questions': height('.plain-questions'),
    'remedies': height('.plain-tries'), 'call': height('.plain-call'), 'foot': height('.plain-foot'),
  };
  return found;
}""".replace("MEASURE()", f"({MEASURE})()")
