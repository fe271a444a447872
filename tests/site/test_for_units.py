"""Shares, procedures and cards for units that have causes or checks of their own, and the marks by which pages show them."""

from __future__ import annotations

import doctest
from pathlib import Path

import pytest

from kbtools.applies import Unit
from kbtools.cards import card
from kbtools.library import Library, open_content
from kbtools.site import order, render, units
from kbtools.site.edition import SERVICE
from kbtools.site.paper import pages
from kbtools.site.render import counted, only, units_of, whole
from kbtools.site.site import Site
from kbtools.site.units import as_all, for_units
from tests.content_case import TOPIC, Content

CONTENT = Path(__file__).parents[2] / "content"
SYMPTOM = "step-stays-in"
W4 = "  w4: {title: W4, serial_prefix: W4-, summary: Drawbar trailer on four legs.}\n"


def limited(content: Content) -> Library:
    """The tiny manual with a cause that W6 has from serial number 20500 on."""
    line = "    title: Actuator worn out\n"
    content.edit(TOPIC, line, f"{line}    applies_to: [w4, {{type: w6, from: 20500}}]\n")
    library, problems = open_content(content.folder)
    assert problems == []
    return library


def site_of(library: Library) -> Site:
    return Site(library, SERVICE, unit_networks=SERVICE.unit_networks_for(library))


@pytest.mark.parametrize("module", [render, units])
def test_examples_in_the_docstrings_hold(module: object) -> None:
    assert doctest.testmod(module).failed == 0  # type: ignore[arg-type]


def test_only_units_that_differ_have_something_of_their_own(content: Content, small: Library) -> None:
    site = site_of(limited(content))
    assert [(u.key, u.name, u.words) for u in for_units(site, SYMPTOM)] == [
        ("w6:-20500", "w6-below-20500", "W6 up to W6-20499")
    ]
    assert as_all(site, SYMPTOM) == "w6:20500- w6"
    assert for_units(site_of(small), SYMPTOM) == ()
    assert as_all(site_of(small), SYMPTOM) == ""


def test_shares_of_a_unit_are_those_of_its_causes_and_sum_to_one(content: Content) -> None:
    library = limited(content)
    all_units = {s.cause.id: s.probability for s in order.shares(library, SYMPTOM) if s.cause}
    found = order.shares(library, SYMPTOM, Unit("w6", 20499))
    assert sum(share.probability for share in found) == pytest.approx(1)
    left = 1 - all_units.pop("actuator-worn")
    assert {s.cause.id: s.probability for s in found if s.cause} == pytest.approx(
        {cause: share / left for cause, share in all_units.items()}
    )
    own = for_units(site_of(library), SYMPTOM)[0].shares
    assert sum(own.values()) == pytest.approx(1) and "unlisted" in own


def test_a_card_for_some_units_says_so_and_names_their_causes_alone(content: Content) -> None:
    library = limited(content)
    found = dict(pages(site_of(library)))
    own, general = found[f"cards/{SYMPTOM}.w6-below-20500.html"], found[f"cards/{SYMPTOM}.html"]
    assert "Only W6 up to W6-20499 · Entry step" in own
    assert "Actuator worn out" in general and "Actuator worn out" not in own
    assert "Fuse F2 is open" in own
    assert [path for path in found if ".w" in path] == [f"cards/{SYMPTOM}.w6-below-20500.html"]


def test_every_card_of_the_demo_for_some_units_fits() -> None:
    library, _ = open_content(CONTENT)
    site, count = site_of(library), 0
    for symptom in library.symptoms:
        for found in for_units(site, symptom):
            made = card(library, symptom, found.procedure, units=found.limit)
            assert made.height <= made.room and not made.refused and made.boxes, (symptom, found.key)
            assert " Only " not in "".join(run.text for para in made.causes for run in para)
            count += 1
    assert count >= 4


def test_marks_name_limits_and_whose_they_are(small: Library) -> None:
    out, stays = small.symptoms["step-stays-out"], small.symptoms["step-stays-in"]
    mark = ' data-applies="w4 w6:20500-" data-entry="symptom/step-stays-out"'
    assert only(out) == mark
    assert only(stays) == only(out, stays) == only() == ""
    assert only(out, out).count("w6:20500-") == 2
    assert whole(small, out) == ' data-page-applies="w4 w6:20500-" data-page-words="W4; W6 from W6-20500"'
    assert whole(small, stays) == ""


def test_numbers_of_entries_can_be_counted_anew(small: Library) -> None:
    out, stays = small.symptoms["step-stays-out"], small.symptoms["step-stays-in"]
    assert counted([[stays], [stays]], "symptom") == "2 symptoms"
    assert counted([[out], [stays], [out, stays]], "remedy", "remedies") == (
        '<span data-count="w4 w6:20500-||" data-one="remedy" data-many="remedies">3 remedies</span>'
    )


def test_what_can_be_chosen_is_known_where_there_is_a_choice(small: Library, content: Content) -> None:
    assert units_of(small) == {"types": [["w4", "W4", "W4-", 5], ["w6", "W6", "W6-", 5]], "example": "W4-12345"}
    content.edit("equipment/equipment.yml", W4, "")
    content.edit(TOPIC, "    applies_to: [w4, w6]\n", "    applies_to: [w6]\n")
    content.edit(
        TOPIC, "    applies_to: [w4, {type: w6, from: 20500}]\n", "    applies_to: [{type: w6, from: 20500}]\n"
    )
    assert units_of(open_content(content.folder)[0]) is not None, "one type, but limits within it"
    content.edit(TOPIC, "    applies_to: [{type: w6, from: 20500}]\n", "")
    assert units_of(open_content(content.folder)[0]) is None
