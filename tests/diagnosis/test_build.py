"""The network of a symptom, from the tiny manual."""

import numpy as np
import pytest

from kbtools.applies import Unit, applies
from kbtools.diagnosis.build import network_of
from kbtools.diagnosis.chart import boxes, compile_chart
from kbtools.diagnosis.network import Network
from kbtools.diagnosis.numbers import named_row, prior
from kbtools.diagnosis.posterior import State
from kbtools.library import Library, open_content
from kbtools.model import Applies
from tests.content_case import TOPIC, Content


def built(content: Content, symptom: str = "step-stays-in", **more: object) -> Network:
    library, problems = open_content(content.folder)
    assert problems == []
    return network_of(library, symptom, **more)  # type: ignore[arg-type]


def column(net: Network, check: str, cause: str) -> list[float]:
    one = next(c for c in net.checks if c.id == check)
    return [row[net.causes.index(cause)] for row in one.rows]


def test_causes_priors_and_levels(small: Library):
    net = network_of(small, "step-stays-in")
    assert net.causes == (
        "coupled-locks-step",
        "fuse-f2-open",
        "door-switch-out-of-place",
        "actuator-worn",
        "unlisted",
    )
    assert net.prior == pytest.approx(prior([None, 30, None, None], 5))
    assert [level.id for level in net.levels] == list(small.people)
    assert net.unsolved_minutes == small.manual.unsolved_minutes


def test_checks_with_their_rows(small: Library):
    net = network_of(small, "step-stays-in")
    assert [check.id for check in net.checks] == ["tractor-plugged-in", "step-click", "step-supply"]
    assert column(net, "tractor-plugged-in", "coupled-locks-step") == pytest.approx([0.02, 0.98], abs=1e-9)
    assert column(net, "tractor-plugged-in", "actuator-worn") == pytest.approx([0.97, 0.03])
    assert column(net, "step-click", "fuse-f2-open") == pytest.approx(named_row({1: 0.2}, 3, 0))
    assert column(net, "step-supply", "fuse-f2-open") == pytest.approx(named_row({0: 0.98, 1: 0.02}, 3, 2))
    assert column(net, "step-supply", "unlisted") == pytest.approx([1 / 3] * 3)
    assert [check.only_while_faulty for check in net.checks] == [False, True, False]
    assert [net.levels[check.level].id for check in net.checks] == ["owner", "owner", "technician"]


def test_what_a_check_cures_and_what_comes_first(small: Library):
    net = network_of(small, "step-stays-in")
    click = net.checks[1]
    assert click.fixes[2] == tuple(cause == "door-switch-out-of-place" for cause in net.causes)
    assert not any(map(any, click.fixes[:2]))
    assert net.checks[0].fixes == ()
    waiting = {remedy.id: remedy.only_after for remedy in net.remedies}
    assert waiting == {
        "coupled-locks-step": (),
        "fuse-f2-open": (2,),
        "door-switch-out-of-place": (),
        "actuator-worn": (2,),
    }


def test_places_are_those_of_the_actions(small: Library):
    net = network_of(small, "step-stays-in")
    used = [small.checks["tractor-plugged-in"].place, small.checks["step-supply"].place]
    assert list(net.reach_minutes) == [small.places[p].reach_minutes for p in small.places if p in used]


def test_a_shared_remedy_cures_all_its_causes_at_once(content: Content):
    content.edit(
        TOPIC,
        """    remedy:
      who: technician
      minutes: 10
      place: step-well
      tools: [hand-tools]
      steps: [Loosen the two screws of the switch., Move it until it clicks with the door., Tighten the screws.]
      prove_by: step-click
""",
        "    remedy: {same_as: actuator-worn}\n",
    )
    net = built(content)
    shared = next(remedy for remedy in net.remedies if remedy.id == "door-switch-out-of-place")
    assert shared.cures == (0, 0, 1, 1, 0)
    assert shared.minutes == 60
    assert len(net.remedies) == 3
    assert net.arrays.disjoint


def test_only_allowed_checks_are_asked(content: Content):
    content.edit(TOPIC, "    unlisted: 5\n", "    unlisted: 5\n    only_checks: [step-click]\n")
    net = built(content)
    assert [check.id for check in net.checks] == ["step-click"]
    assert all(remedy.only_after == () for remedy in net.remedies)


def test_a_check_that_must_come_first_is_there_even_if_it_names_no_cause(content: Content):
    content.edit(TOPIC, "  step-click:\n", "  step-click:\n    only_after: [step-supply]\n")
    content.edit(
        TOPIC,
        "        seen_with: {fuse-f2-open: always, door-switch-out-of-place: usually, coupled-locks-step: usually}\n",
        "",
    )
    content.edit(TOPIC, "seen_with: {fuse-f2-open: never}, ", "")
    content.edit(TOPIC, ", seen_with: {actuator-worn: always}", "")
    net = built(content, "step-stays-out")
    assert [check.id for check in net.checks] == ["step-click", "step-supply"]
    assert net.checks[0].only_after == (1,)


def test_drafts_can_be_left_out(small: Library):
    net = network_of(small, "step-stays-in", drafts=False)
    assert "door-switch-out-of-place" not in net.causes
    whole = network_of(small, "step-stays-in")
    kept = [p for p, cause in zip(whole.prior, whole.causes, strict=True) if cause in net.causes]
    assert net.prior == pytest.approx([p / sum(kept) for p in kept])


def test_a_unit_leaves_out_what_is_not_about_it(content: Content):
    content.edit(TOPIC, "    title: Actuator worn out\n", "    title: Actuator worn out\n    applies_to: [w6]\n")
    assert "actuator-worn" in built(content, unit=Unit("w6")).causes
    assert "actuator-worn" not in built(content, unit=Unit("w4")).causes
    assert [remedy.id for remedy in built(content, unit=Unit("w4")).remedies].count("actuator-worn") == 0


@pytest.mark.parametrize(
    "serial, expected", [(None, True), (20499, False), (20500, True), (20899, True), (20900, False)]
)
def test_serial_ranges_are_half_open(serial, expected):
    limits = [Applies.model_validate({"type": "w6", "from": 20500, "below": 20900})]
    assert applies(limits, Unit("w6", serial)) is expected
    assert applies(limits, None) is True
    assert applies([], Unit("w4")) is True


def test_every_chart_of_the_tiny_manual_ends_well(small: Library):
    for symptom in small.symptoms:
        net = network_of(small, symptom)
        for level in range(len(net.levels)):
            for node in boxes(compile_chart(net, State(level=level)).root):
                assert node.kind in ("check", "remedy", "hand-over", "done")
                if node.kind == "check":
                    assert net.checks[node.index].level <= level
                    assert node.branches
                if node.kind == "remedy":
                    assert net.remedies[node.index].level <= level
                    assert node.branches[0].node is not None


def test_an_unknown_symptom_is_a_key_error(small: Library):
    with pytest.raises(KeyError):
        network_of(small, "no-such-symptom")


def test_rows_never_hold_certainty(small: Library):
    for symptom in small.symptoms:
        rows = network_of(small, symptom).arrays.rows
        assert np.all((rows >= 0) & (rows < 1))
