"""Our symptom → cause → remedy data, written as XML, satisfies the troubleshooting model of an open standard.

Source: DITA 1.3 (OASIS), language reference of troublebody, troubleSolution, remedy, hazardstatement and messagepanel:
troublebody = (condition?, troubleSolution+)?; troubleSolution = cause*, remedy*; remedy = title?, responsibleParty?,
(steps | steps-unordered | steps-informal); hazardstatement = messagepanel+, hazardsymbol*; messagepanel = typeofhazard,
consequence*, howtoavoid+; the DITA 2.0 draft allows @type caution, danger, notice, warning. The small DTD below restates
exactly these content models; the full DTDs exceed the parser's entity limit.
"""

from __future__ import annotations

from io import StringIO

import pytest
from lxml import etree

from kbtools.library import Library
from kbtools.model import Hazard

DTD = """
<!ELEMENT troubleshooting (title, troublebody)>
<!ELEMENT title (#PCDATA)>
<!ELEMENT troublebody (condition?, troubleSolution+)?>
<!ELEMENT condition (#PCDATA)>
<!ELEMENT troubleSolution (cause*, remedy*)>
<!ELEMENT cause (#PCDATA)>
<!ELEMENT remedy (title?, responsibleParty?, (steps | steps-unordered | steps-informal))>
<!ELEMENT responsibleParty (#PCDATA)>
<!ELEMENT steps (hazardstatement*, step+)>
<!ELEMENT steps-unordered (step+)>
<!ELEMENT steps-informal (#PCDATA)>
<!ELEMENT step (hazardstatement*, cmd)>
<!ELEMENT cmd (#PCDATA)>
<!ELEMENT hazardstatement (messagepanel+)>
<!ATTLIST hazardstatement type (caution | danger | notice | warning) #REQUIRED>
<!ELEMENT messagepanel (typeofhazard, consequence*, howtoavoid+)>
<!ELEMENT typeofhazard (#PCDATA)>
<!ELEMENT consequence (#PCDATA)>
<!ELEMENT howtoavoid (#PCDATA)>
"""


def _text(parent: etree._Element, tag: str, text: str) -> etree._Element:
    child = etree.SubElement(parent, tag)
    child.text = text
    return child


def _hazard(parent: etree._Element, hazard: Hazard) -> None:
    statement = etree.SubElement(parent, "hazardstatement", type=hazard.signal_word.lower())
    panel = etree.SubElement(statement, "messagepanel")
    _text(panel, "typeofhazard", hazard.title)
    _text(panel, "consequence", hazard.consequence)
    _text(panel, "howtoavoid", hazard.avoid or "")


def as_xml(library: Library, ident: str) -> etree._Element:
    symptom = library.symptoms[ident]
    root = etree.Element("troubleshooting")
    _text(root, "title", symptom.title)
    body = etree.SubElement(root, "troublebody")
    if symptom.notice:
        _text(body, "condition", symptom.notice)
    for cause in library.causes_of(ident):
        solution = etree.SubElement(body, "troubleSolution")
        _text(solution, "cause", f"{cause.title}. {cause.explains}")
        remedy = library.remedy_of(cause.id)
        assert remedy is not None
        node = etree.SubElement(solution, "remedy")
        _text(node, "responsibleParty", library.people[remedy.who].title)
        steps = etree.SubElement(node, "steps")
        for hazard in library.hazards_of(remedy):
            _hazard(steps, hazard)
        for step in remedy.steps:
            element = etree.SubElement(steps, "step")
            for hazard in library.hazards_of_step(step):
                _hazard(element, hazard)
            _text(element, "cmd", step.do)
    return root


@pytest.fixture(scope="module")
def dtd() -> etree.DTD:
    return etree.DTD(StringIO(DTD))


def test_every_symptom_satisfies_the_model(small: Library, dtd: etree.DTD) -> None:
    for ident in small.symptoms:
        assert dtd.validate(as_xml(small, ident)), dtd.error_log


def test_the_model_refuses_what_it_does_not_allow(small: Library, dtd: etree.DTD) -> None:
    root = as_xml(small, "step-stays-in")
    steps = root.find(".//steps")
    assert steps is not None
    steps.clear()
    assert not dtd.validate(root)
