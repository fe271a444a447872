"""Content that strains a card: long words and titles, many outcomes and steps, other scripts, nothing but the essentials."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import yaml
from jinja2 import Environment, FileSystemLoader, StrictUndefined

from kbtools.library import Library, open_content

OVERRIDES = Path(__file__).parent.parent / "site_overrides"

MANUAL = {
    "title": "Manual",
    "organisation": "Maker",
    "telephone": "01632 960247",
    "revised": "2025-06-30",
    "site_url": "https://manual.example/service/",
}
EQUIPMENT: dict[str, Any] = {
    "people": {
        "owner": {"title": "Operator", "visit_minutes": 0},
        "technician": {"title": "Technician", "visit_minutes": 60},
        "specialist": {"title": "Specialist", "visit_minutes": 120},
    },
    "places": {"bay": {"title": "In the bay", "who": "owner", "reach_minutes": 1, "where": "Here.", "hazards": ["hot"]}},
    "states": {"chocked": {"title": "Wheels chocked"}, "off": {"title": "Power off"}},
    "tools": {"meter": {"title": "Meter", "who": "technician"}},
    "hazards": {
        "hot": {"title": "Hot", "harm": "minor", "likelihood": "could", "consequence": "Burns.", "avoid": "Wait.", "who": "owner"},
        "falls": {"title": "Falls", "harm": "death", "likelihood": "could", "consequence": "Kills.", "avoid": "Prop it.", "who": "owner"},
    },
    "precautions": {
        "clear": {"title": "Get clear", "who": "owner", "hazards": ["falls"], "steps": ["Leave.", "Keep others away."]},
        "aid": {"title": "First aid", "who": "owner", "steps": ["Call the emergency number.", "Stay there."]},
    },
}  # fmt: skip


def cause(title: str, **more: Any) -> dict[str, Any]:
    remedy = {
        "who": "technician",
        "minutes": 5,
        "place": "bay",
        "steps": ["Mend it."],
        "prove_by": {"do": "Try.", "expect": "Works."},
    }
    return {"title": title, "nature": "fault", "explains": "It breaks.", "interim": {"use": "no", "tow": "no"}, "remedy": remedy, **more}  # fmt: skip


def check(title: str, causes: list[str]) -> dict[str, Any]:
    outcomes: dict[str, Any] = {"good": {"label": "As it should be", "normal": True}}
    outcomes |= {f"bad-{c}": {"label": f"Points to {c}", "seen_with": {c: "usually"}} for c in causes}
    return {"title": title, "who": "owner", "minutes": 2, "place": "bay", "steps": ["Look."], "outcomes": outcomes}  # fmt: skip


def topic(symptom: dict[str, Any], causes: int = 3, checks: int = 4, **every_check: Any) -> dict[str, Any]:
    """One symptom with plain causes and checks, each check about one cause."""
    ids = [f"c{i}" for i in range(causes)]
    return {
        "symptoms": {"s": {"title": "It fails", "causes": ids, **symptom}},
        "causes": {ident: cause(f"Cause {ident}") for ident in ids},
        "checks": {
            f"k{i}": {**check(f"Check {i}", [ids[i % causes]]), **every_check} for i in range(checks if causes else 0)
        },
    }


WORD = "Überlängenkabelschuhprüfprotokoll" * 6 + "En"
SAFE = {
    "first": ["clear"],
    "stop_if": [{"sign": "It tips", "then": "clear"}, {"sign": "Somebody is hurt", "then": "aid"}],
}
MANY = {
    f"o{i}": {"label": f"Outcome number {i}", "normal": i == 0, "seen_with": {"c0": "sometimes"}} for i in range(40)
}
STEPS = [f"Turn screw number {i} by a quarter." for i in range(60)]

STRAINS: dict[str, dict[str, Any]] = {
    "plain": topic(SAFE),
    "long-title": topic({**SAFE, "title": "The lamp goes out while the door is opened " * 7}),
    "long-words": topic(
        {**SAFE, "title": WORD, "stop_if": [{"sign": WORD, "then": "clear"}]},
        steps=[WORD],
        outcomes={"good": {"label": WORD, "normal": True}, "bad": {"label": WORD, "seen_with": {"c0": "always"}}},
    ),
    "many-outcomes": topic(SAFE, outcomes=MANY),
    "many-steps": topic(SAFE, steps=STEPS),
    "many-causes": topic(SAFE, causes=40, checks=30),
    "many-signs": topic({**SAFE, "stop_if": [{"sign": f"Sign number {i} is seen", "then": "clear"} for i in range(28)]}),
    "too-many-signs": topic({**SAFE, "stop_if": [{"sign": f"Sign {i}", "then": "clear"} for i in range(90)]}),
    "right-to-left": topic(
        {**SAFE, "title": "المصباح لا يضيء عند فتح الباب", "stop_if": [{"sign": "דליפת שמן מתחת לרכב", "then": "aid"}]},
        title="هل المصباح مضاء؟ V 24",
        steps=["افتح الباب ببطء وراقب المصباح الأخضر حتى يضيء.", "בדוק את הנתיך."],
    ),
    "accented": topic({**SAFE, "title": "Żółta lampa gaśnie – Čerpadlo běží, größte Öffnung ça ŷ ệ ǵ"}, title="Fällt die Spannung ab? 電圧は？"),
    "needs": topic(SAFE, needs=["chocked", "off"]),
    "bare": {"symptoms": {"s": {"title": "It fails"}}},
    "no-checks": topic(SAFE, checks=0),
    "draft": topic({**SAFE, "status": "draft", "hazards": ["hot", "falls"]}),
}  # fmt: skip


def strained(folder: Path, name: str) -> Library:
    """The content of one strain, opened."""
    (folder / "equipment").mkdir(parents=True)
    (folder / "topics" / "x").mkdir(parents=True)
    for file, data in (("manual", MANUAL), ("equipment/all", EQUIPMENT), ("topics/x/x", STRAINS[name])):
        (folder / f"{file}.yml").write_text(yaml.safe_dump(data, allow_unicode=True), encoding="utf-8")
    library, problems = open_content(folder)
    assert problems == []
    return library


def rendered(card: object, root: str = "../", template: str = "kb/card.html") -> str:
    """The card's page."""
    env = Environment(
        loader=FileSystemLoader(OVERRIDES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    return env.get_template(template).render(card=card, root=root)
