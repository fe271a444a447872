"""Write tests/vectors/units.json: what texts name which unit, and what is about it, as Python has it.

python -m tests.unit_vectors
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from kbtools.applies import Unit, UnitError, applies, classes, limits, one_of, unit_of, unit_words
from kbtools.library import Library, open_content
from kbtools.model import Applies
from kbtools.site.render import units_of

FILE = Path(__file__).parent / "vectors" / "units.json"
SMALL = Path(__file__).parent / "small"

TEXTS = (
    *("w6", " W4 ", "W6-20731", "w4-00017", "W6 20731", "w620731", "W6–20731", "w 6 - 2 0 7 3 1", "W6\t20731\n"),
    *("", "  ", "W9-20731", "20731", "W6-2073", "W6-2", "W6-207311", "W6-", "W6-2O731", "W6-²0731", "W6-20731 W4"),
    *("<b>W6</b>", "__proto__", "W6" * 200, "W6 🚚", "trailer “A”", "W6-20731.5", "-w6-20731"),
)
LIMITS: tuple[tuple[dict[str, Any], ...], ...] = (
    (),
    ({"type": "w4"},),
    ({"type": "w6", "from": 20500},),
    ({"type": "w6", "below": 20500},),
    ({"type": "w4"}, {"type": "w6", "from": 20500, "below": 20900}),
    ({"type": "w6", "from": 0, "below": 1}, {"type": "w6", "from": 99999}),
    ({"type": "gone"},),
)
SERIALS = (None, 0, 1, 20499, 20500, 20899, 20900, 99999)


def made(library: Library) -> dict[str, Any]:
    """Texts with their unit or message, limits with the units that they let through, and classes with the one of a unit."""
    units = [Unit(kind, serial) for kind in ("w4", "w6") for serial in SERIALS]
    found = [tuple(Applies.model_validate(limit) for limit in one) for one in LIMITS]
    kinds = classes(library, [limit for one in found for limit in one])
    return {
        "units": units_of(library),
        "texts": [[text, *_read(library, text)] for text in TEXTS],
        "applies": [
            [limits(one), [u.type, u.serial], applies(one, u), unit_words(library, u)] for one in found for u in units
        ],
        "classes": [limits([kind]) for kind in kinds],
        "members": [[[one_of(kind).type, one_of(kind).serial], at] for at, kind in enumerate(kinds)],
    }


def _read(library: Library, text: str) -> tuple[list[Any] | None, str]:
    try:
        unit = unit_of(library, text)
    except UnitError as error:
        return None, str(error)
    return [unit.type, unit.serial], unit_words(library, unit)


def text() -> str:
    """The file as it should be."""
    return json.dumps(made(open_content(SMALL)[0]), ensure_ascii=False, separators=(",", ":")) + "\n"


if __name__ == "__main__":
    FILE.write_text(text(), encoding="utf-8")
