"""The cross-linked graph, on the tiny manual."""

from __future__ import annotations

from pathlib import Path

import pytest

from kbtools.library import ContentMissing, Library, open_content
from kbtools.model import KINDS, SIGNAL_WORDS, Symptom, references, references_in
from kbtools.problem import did_you_mean
from tests.content_case import TOPIC, Content


def _ids(entries: object) -> list[str]:
    return [entry.id for entry in entries]  # type: ignore[attr-defined]


def test_every_kind_is_there(small: Library) -> None:
    assert all(small.entries[kind] for kind in KINDS)


def test_symptoms_causes_and_checks_are_linked_both_ways(small: Library) -> None:
    assert _ids(small.causes_of("step-stays-in")) == [
        "coupled-locks-step",
        "fuse-f2-open",
        "door-switch-out-of-place",
        "actuator-worn",
    ]
    assert _ids(small.symptoms_of_cause("coupled-locks-step")) == ["step-stays-in"]
    assert _ids(small.symptoms_of_cause("actuator-worn")) == ["step-stays-in", "step-stays-out"]
    assert _ids(small.checks_of_cause("fuse-f2-open")) == ["step-click", "step-supply"]
    assert _ids(small.causes_of_check("step-click")) == ["door-switch-out-of-place", "fuse-f2-open"]
    assert _ids(small.checks_of("step-stays-out")) == ["step-click", "step-supply"]
    assert _ids(small.symptoms_of_check("tractor-plugged-in")) == ["step-stays-in"]


def test_a_symptom_may_allow_only_some_checks(tmp_path: Path) -> None:
    content = Content(tmp_path)
    content.edit(
        TOPIC,
        "    causes: [door-switch-out-of-place",
        "    only_checks: [step-supply]\n    causes: [door-switch-out-of-place",
    )
    library, problems = open_content(content.folder)
    assert not [problem for problem in problems if problem.severity == "error"]
    assert _ids(library.checks_of("step-stays-out")) == ["step-supply"]
    assert _ids(library.symptoms_of_check("step-click")) == ["step-stays-in"]
    assert _ids(library.symptoms_of_check("step-supply")) == ["step-stays-in", "step-stays-out"]


def test_related_symptoms_share_causes(small: Library) -> None:
    ((other, shared),) = small.related("step-stays-out")
    assert other.id == "step-stays-in"
    assert _ids(shared) == ["fuse-f2-open", "door-switch-out-of-place", "actuator-worn"]


def test_backlinks_name_the_entry_and_the_field(small: Library) -> None:
    found = {(ref.kind, ref.id, ref.path) for ref in small.backlinks("check", "step-supply")}
    assert found == {
        ("cause", "fuse-f2-open", ("remedy", "only_after", 0)),
        ("cause", "fuse-f2-open", ("remedy", "prove_by", "check")),
        ("cause", "actuator-worn", ("remedy", "only_after", 0)),
        ("cause", "actuator-worn", ("remedy", "prove_by", "check")),
    }
    assert small.named_by("precaution", "somebody-caught", "manual") == ("manual",)


def test_every_reference_stands_where_it_says(small: Library) -> None:
    """The text at each reference's position is the id itself."""
    for ref in small.references:
        if ref.path == ():
            continue
        at = small.at(ref.kind, ref.id, ref.path)
        key = small.at(ref.kind, ref.id, ref.path, key=True)
        lines = (small.folder / at.file).read_text(encoding="utf-8").splitlines()
        there = [lines[(p.line or 1) - 1][(p.column or 1) - 1 :] for p in (at, key)]
        assert any(text.startswith(ref.to_id) for text in there), (ref, there)


def test_shared_remedies_are_followed(content: Content) -> None:
    content.write(
        "topics/step/more.yml",
        'causes: {loose: {title: A, nature: fault, explains: B, interim: {use: "yes", tow: "no"}, remedy: {same_as: actuator-worn}}}\n',
    )
    library, _ = open_content(content.folder)
    assert library.remedy_owner("loose") == "actuator-worn"
    assert library.remedy_of("loose") is library.causes["actuator-worn"].remedy


def test_hazards_of_an_action_its_place_and_its_tools_come_most_severe_first(content: Content) -> None:
    content.edit(
        "equipment/equipment.yml",
        "tools:\n  multimeter: {",
        "tools:\n  multimeter: {hazards: [step-trips, step-moves], ",
    )
    library, _ = open_content(content.folder)
    check = library.checks["step-supply"]
    assert _ids(library.hazards_of(check)) == ["step-moves", "step-trips"]
    words = [hazard.signal_word for hazard in library.hazards_of(check)]
    assert words == sorted(words, key=SIGNAL_WORDS.index) == ["WARNING", "CAUTION"]


def test_a_step_carries_its_own_hazards(small: Library) -> None:
    remedy = small.remedy_of("actuator-worn")
    assert remedy is not None
    assert [_ids(small.hazards_of_step(step)) for step in remedy.steps] == [[], ["step-moves"], [], []]


def test_dangerous_symptoms(small: Library) -> None:
    assert small.dangerous("step-stays-in")
    assert not small.dangerous("step-stays-out")


def test_people_rank_by_file_order(small: Library) -> None:
    assert [small.rank(person) for person in ("owner", "technician", "specialist", "nobody")] == [0, 1, 2, 3]


def test_entries_cannot_be_changed(small: Library) -> None:
    symptom: Symptom = small.symptoms["step-stays-in"]
    with pytest.raises(ValueError, match="frozen"):
        symptom.title = "x"  # type: ignore[misc]
    with pytest.raises(TypeError):
        small.entries["symptom"]["x"] = symptom  # type: ignore[index]


def test_an_entry_with_a_mistake_is_left_out_and_the_rest_is_there(content: Content) -> None:
    content.edit(TOPIC, "nature: operation", "nature: operational")
    library, problems = open_content(content.folder)
    assert [p.rule for p in problems] == ["wrong-value"]
    assert "coupled-locks-step" not in library.causes
    assert "coupled-locks-step" in library.declared("cause")
    assert _ids(library.causes_of("step-stays-in"))[0] == "fuse-f2-open"


def test_revision_follows_names_and_bytes(content: Content) -> None:
    first = open_content(content.folder)[0].revision
    assert len(first) == 8
    assert int(first, 16) >= 0
    assert open_content(content.folder)[0].revision == first
    content.edit(TOPIC, "no step", "no step!")
    second = open_content(content.folder)[0].revision
    (content.folder / TOPIC).rename(content.folder / "topics/step/other.yml")
    third = open_content(content.folder)[0].revision
    assert len({first, second, third}) == 3


def test_no_folder() -> None:
    with pytest.raises(ContentMissing, match="there is no content folder nowhere"):
        open_content(Path("nowhere"))


@pytest.mark.parametrize(("word", "hint"), [("soft-grond", "Did you mean soft-ground?"), ("zebra", "")])
def test_did_you_mean(word: str, hint: str) -> None:
    assert did_you_mean(word, ["soft-ground", "worn-seal"]) == hint


def test_a_walk_over_data_finds_what_the_walk_over_the_typed_entry_finds(small: Library) -> None:
    for (kind, ident), where in small.where.items():
        data = where.document.data[KINDS[kind][0]][ident]
        walked = {(to, name, where.at(path)) for to, name, path in references_in(data, KINDS[kind][1])}
        typed = {(to, name, where.at(path)) for to, name, path in references(small.entry(kind, ident))}
        assert walked == typed
