"""One trace in words: answers as people type them, what is known, what to do next and why."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from kbtools import words
from kbtools.applies import Unit, applies, unit_words
from kbtools.diagnosis.build import network_of
from kbtools.diagnosis.network import UNLISTED, Network
from kbtools.diagnosis.policy import Action, next_action
from kbtools.diagnosis.posterior import State, answered, cured_by, failed, not_sure, posterior
from kbtools.library import Library
from kbtools.model import Check, Remedy, Reviewed, Symptom
from kbtools.problem import did_you_mean

NOT_SURE, CANNOT = "?", "x"
_READING = re.compile(r"^([+\-−]?\s*[0-9]+(?:[.,][0-9]+)?|[+\-−]?[.,][0-9]+)\s*([^0-9]*)$")


class TraceError(ValueError):
    """What was typed cannot be used; the message says why and what could be."""


@dataclass(frozen=True)
class Trace:
    """A trace for one symptom: the content's words beside the numbers of the network, and what is known so
    far.
    """

    library: Library
    symptom: Symptom
    network: Network
    state: State
    unit: Unit | None = None

    @cached_property
    def belief(self) -> list[float]:
        """P(cause | what is known) in the order of the network's causes."""
        return [float(p) for p in posterior(self.network, self.state)]

    @cached_property
    def action(self) -> Action:
        """What to do next."""
        return next_action(self.network, self.state)

    def check(self, index: int) -> Check:
        return self.library.checks[self.network.checks[index].id]

    def remedy(self, index: int) -> Remedy:
        found = self.library.remedy_of(self.network.remedies[index].id)
        assert found is not None
        return found

    def cause_title(self, cause: str) -> str:
        return "Something else" if cause == UNLISTED else self.library.causes[cause].title

    def causes(self) -> list[tuple[str, float]]:
        """Causes and probabilities, best first, what nobody has listed last."""
        listed = sorted(zip(self.network.causes[:-1], self.belief[:-1], strict=True), key=lambda pair: -pair[1])
        return [*listed, (UNLISTED, self.belief[-1])]

    def likeliest(self, causes: Iterable[bool]) -> str:
        """The likeliest of the marked causes."""
        marked = [i for i, is_marked in enumerate(causes) if is_marked]
        return self.network.causes[max(marked, key=lambda i: self.belief[i])]


def start(library: Library, symptom: str, who: str, unit: Unit | None = None) -> Trace:
    """A trace of which nothing is known yet; with a unit, only what applies to it.

    Raises TraceError for an unknown symptom or person, or a symptom that this unit cannot have.
    """
    if symptom not in library.symptoms:
        raise TraceError(
            f"there is no symptom {symptom!r}. {_near(symptom, library.symptoms, 'kbtools search finds one.')}"
        )
    if who not in library.people:
        raise TraceError(f"there is nobody called {who!r}. {_near(who, library.people)}")
    entry = library.symptoms[symptom]
    if unit is not None and not applies(entry.applies_to, unit):
        about = words.applies_words(library, entry.applies_to)
        raise TraceError(f"{symptom} does not apply to {unit_words(library, unit)}; it applies to: {about}.")
    return Trace(library, entry, network_of(library, symptom, unit), State(level=library.rank(who)), unit)


def given(trace: Trace, texts: Sequence[str]) -> Trace:
    """The trace after answers such as rod-mark=creeps, rod-mark=2,5, rod-mark=?, rod-mark=x,
    remedy:CAUSE=failed.

    Raises TraceError for what cannot be read, is unknown here, or answers the same check twice in different
    ways.
    """
    said: dict[str, str] = {}
    for text in texts:
        name, sign, answer = (part.strip() for part in text.partition("="))
        if not sign or not name or not answer:
            raise TraceError(f"{text!r} is not an answer; write CHECK=OUTCOME, CHECK=READING or remedy:CAUSE=failed.")
        before = trace
        trace = (
            _remedy_given(trace, name[7:], answer) if name.startswith("remedy:") else with_answer(trace, name, answer)
        )
        if name in said and trace.state != before.state:
            raise TraceError(f"{name} is answered twice, with {said[name]!r} and with {answer!r}; give one answer.")
        said[name] = answer
    return trace


def with_answer(trace: Trace, check: str, answer: str) -> Trace:
    """The trace after one answer to one check, by ids and words. Raises TraceError."""
    index = _position(trace, check)
    if answer == NOT_SURE:
        return replace(trace, state=not_sure(trace.state, index))
    if answer == CANNOT:
        return replace(trace, state=replace(trace.state, no_checks=trace.state.no_checks | {index}))
    outcome = outcome_of(trace.check(index), answer)
    return replace(trace, state=answered(trace.state, index, list(trace.check(index).outcomes).index(outcome)))


def _position(trace: Trace, check: str) -> int:
    ids = [one.id for one in trace.network.checks]
    if check in ids:
        return ids.index(check)
    if check in trace.library.checks:
        _refuse_other_unit(trace, trace.library.checks[check])
        raise TraceError(
            f"the check {check} tells nothing about {trace.symptom.id}; its checks are {', '.join(ids) or 'none'}."
        )
    raise TraceError(
        f"there is no check {check!r}. {_near(check, ids, f'The checks of {trace.symptom.id}: ' + ', '.join(ids))}"
    )


def _refuse_other_unit(trace: Trace, entry: Reviewed) -> None:
    if trace.unit is not None and not applies(entry.applies_to, trace.unit):
        about = words.applies_words(trace.library, entry.applies_to)
        unit = unit_words(trace.library, trace.unit)
        raise TraceError(f"{entry.id} does not apply to {unit}; it applies to: {about}.")


def _remedy_given(trace: Trace, cause: str, answer: str) -> Trace:
    causes = list(trace.network.causes[:-1])
    if cause not in causes:
        if cause in trace.library.causes:
            _refuse_other_unit(trace, trace.library.causes[cause])
        raise TraceError(
            f"{trace.symptom.id} has no cause {cause!r}. {_near(cause, causes, 'Its causes: ' + ', '.join(causes))}"
        )
    if answer not in ("failed", CANNOT):
        raise TraceError(f"remedy:{cause} is followed by =failed or =x, not by ={answer}.")
    at = causes.index(cause)
    index = next(i for i, remedy in enumerate(trace.network.remedies) if remedy.cures[at] > 0)
    if answer == CANNOT:
        return replace(trace, state=replace(trace.state, no_remedies=trace.state.no_remedies | {index}))
    return after_failure(trace, index)


def after_failure(trace: Trace, remedy: int) -> Trace:
    """The trace re-opened without what a remedy mends."""
    cure = cured_by(trace.network, trace.state)
    state = failed(trace.state, remedy)
    return replace(trace, state=state if cure is None else replace(state, came_back=state.came_back | {cure}))


def came_back(trace: Trace) -> Trace:
    """The trace re-opened after a check had seemed to cure the fault."""
    cure = cured_by(trace.network, trace.state)
    assert cure is not None
    return replace(trace, state=replace(trace.state, came_back=trace.state.came_back | {cure}))


def outcome_of(check: Check, answer: str) -> str:
    """The outcome that an answer means: its id, or a reading within its range. Raises TraceError."""
    if answer in check.outcomes:
        return answer
    unit = check.reading.unit if check.reading else ""
    if check.reading is None or not re.match(r"[+\-−.,]?\s*[0-9]", answer):
        listed = "; ".join(f"{o} ({words.outcome_label(check, o)})" for o in check.outcomes)
        raise TraceError(f"{check.id} has no outcome {answer!r}. {_near(answer, check.outcomes, f'It has: {listed}.')}")
    value = reading_of(answer, unit)
    for ident, outcome in check.outcomes.items():
        low = -math.inf if outcome.from_ is None else outcome.from_
        high = math.inf if outcome.below is None else outcome.below
        if (outcome.from_ is not None or outcome.below is not None) and low <= value < high:
            return ident
    raise TraceError(
        f"{answer} fits none of the ranges of {check.id}: {'; '.join(words.outcome_range(check, o) for o in check.outcomes)}."
    )


def reading_of(text: str, unit: str) -> float:
    """The number of a reading; a comma may stand for the point, the unit may follow. Raises TraceError.

    >>> reading_of("24,6 V", "V"), reading_of("-.5", "°")
    (24.6, -0.5)
    """
    found = _READING.match(text.strip())
    if found is None:
        raise TraceError(
            f"{text!r} is no reading; write a number such as 24.6 or 24,6, with or without {unit or 'a unit'}."
        )
    typed = found.group(2).strip()
    if typed and typed.casefold() != unit.casefold():
        raise TraceError(f"{text!r} is in {typed!r}; this is read in {unit or 'no unit'}.")
    value = float(found.group(1).replace(",", ".").replace("−", "-").replace(" ", ""))
    if abs(value) > 1e6:
        raise TraceError(f"{text!r} is out of all reason; read it again.")
    return value


def as_data(trace: Trace) -> dict[str, object]:
    """{"causes": [{id, title, probability}], "next": {kind, id, minutes}, "expected_minutes"}, for programs."""
    return {
        "causes": [{"id": cause, "title": trace.cause_title(cause), "probability": p} for cause, p in trace.causes()],
        "next": {"kind": trace.action.kind, "id": next_id(trace), "minutes": trace.action.minutes},
        "expected_minutes": trace.action.expected_minutes,
    }


def next_id(trace: Trace) -> str | None:
    """The id of what comes next: a check; the likeliest cause that a remedy or check mends; a person; or
    None.
    """
    kind, index = trace.action.kind, trace.action.index
    if index is None:
        return None
    if kind == "check":
        return trace.network.checks[index].id
    if kind == "remedy":
        return trace.likeliest(share > 0 for share in trace.network.remedies[index].cures)
    if kind == "hand-over":
        return trace.network.levels[index].id
    outcome = dict(trace.state.answers)[index]
    return trace.likeliest(trace.network.checks[index].fixes[outcome])


def fits_nothing(trace: Trace) -> bool:
    """True when the answers speak against every listed cause: what nobody has listed has become likelier than
    all.
    """
    return bool(trace.state.answers) and trace.belief[-1] > max(trace.belief[:-1], default=0.0)


def left_behind(trace: Trace) -> list[str]:
    """Ids of the states to put back, of every check that was done and every remedy that was tried."""
    done = {check for check, _ in trace.state.answers} | trace.state.unsure
    actions = [trace.check(k) for k in sorted(done)] + [trace.remedy(r) for r in sorted(trace.state.failed)]
    return list(dict.fromkeys(state for action in actions for state in action.leaves))


def _near(word: str, known: Iterable[str], otherwise: str = "") -> str:
    listed = list(known)
    return did_you_mean(word, listed) or otherwise or f"There is: {', '.join(listed)}."
