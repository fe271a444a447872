"""Owners' cards of a library, and content that strains them."""

from __future__ import annotations

import copy
from pathlib import Path
from typing import Any
from unittest.mock import patch

from kbtools.cards.compiled import compiled_for_owner
from kbtools.cards.owner_card import OwnerCard, owner_card
from kbtools.library import Library
from kbtools.owner import for_owner, networks_for_owner
from tests.card_case import STRAINS, WORD, strained

STRAINED = ("plain", "long-title", "long-words", "many-outcomes", "many-signs", "too-many-signs", "right-to-left", "accented", "needs", "no-checks", "bare")  # fmt: skip


def cards_of(library: Library) -> dict[str, OwnerCard]:
    """The card of every symptom that owners read about."""
    own, networks = for_owner(library), networks_for_owner(library)
    who = next(iter(own.people))
    return {
        ident: owner_card(own, network, ident, compiled_for_owner(network, who), library.manual.revised)
        for ident, network in networks.items()
    }


def strained_card(folder: Path, name: str) -> OwnerCard:
    """The owner's card of one strain, all of whose remedies an owner may do."""
    topic: dict[str, Any] = copy.deepcopy(STRAINS[name])
    entry = topic["symptoms"]["s"]
    text = WORD if name == "long-words" else "Leave it as it is. Keep away from it. Then look again."
    entry["owner"] = {"title": entry["title"], "text": text}
    for cause in topic.get("causes", {}).values():
        cause["remedy"]["who"] = "owner"
    with patch.dict(STRAINS, {name: topic}):
        return cards_of(strained(folder, name))["s"]
