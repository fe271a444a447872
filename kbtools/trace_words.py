"""What a trace says in a terminal: safety first, then the action, its outcomes and why."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from kbtools import words
from kbtools.applies import unit_words
from kbtools.diagnosis.policy import why
from kbtools.diagnosis.posterior import outcome_odds, posterior
from kbtools.library import Library
from kbtools.model import Action, Check, Hazard, Step
from kbtools.trace import Trace, fits_nothing, left_behind, next_id

LIKELY = 4


def opening(trace: Trace) -> list[str]:
    """Title, stop signs and what comes before everything else."""
    library, symptom = trace.library, trace.symptom
    lines = [symptom.title, *([f"Unit: {unit_words(library, trace.unit)}"] if trace.unit else []), ""]
    lines += panels(library.hazards_of_symptom(symptom.id))
    if symptom.stop_if:
        lines.append("STOP at once and keep clear if:")
        for stop in symptom.stop_if:
            lines.append(f"  - {stop.sign}: {_precaution(library, stop.then)}")
    for ident in symptom.first:
        if ident in library.precautions:
            lines.append(f"First: {library.precautions[ident].title}")
            lines += _steps(library, library.precautions[ident].steps)
    return lines


def _precaution(library: Library, ident: str) -> str:
    return library.precautions[ident].title if ident in library.precautions else ident


def likely(trace: Trace) -> list[str]:
    """The likeliest causes with their probabilities, and a word when the answers fit none of them."""
    shown = [pair for pair in trace.causes() if pair[1] >= 0.005][:LIKELY]
    lines = ["Likely: " + ", ".join(f"{trace.cause_title(cause)} {words.percent_words(p)}" for cause, p in shown)]
    if fits_nothing(trace):
        lines.append("These answers fit none of the listed causes well. Check them again, or expect something else.")
    return lines


def at_once(trace: Trace) -> list[str]:
    """The precaution that the last answer calls for, before anything else."""
    if not trace.state.answers:
        return []
    index, outcome = trace.state.answers[-1]
    ident = list(trace.check(index).outcomes.values())[outcome].then
    if ident is None or ident not in trace.library.precautions:
        return []
    entry = trace.library.precautions[ident]
    panel = panels(trace.library.most_severe_first(entry.hazards))
    return [*panel, f"At once: {entry.title}", *_steps(trace.library, entry.steps)]


def next_step(trace: Trace) -> list[str]:
    """The next action with all that belongs to it."""
    kind, index = trace.action.kind, trace.action.index
    if kind == "check":
        assert index is not None
        return _check(trace, index)
    if kind == "remedy":
        assert index is not None
        return _remedy(trace, index)
    return _hand_over(trace) if kind == "hand-over" else _done(trace)


def _check(trace: Trace, index: int) -> list[str]:
    check = trace.check(index)
    lines = [f"Check: {check.title}  ({check.id}, {_minutes(trace)})", *_action(trace.library, check)]
    if check.reading is not None:
        lines.append(f"Read: {words.reading_words(trace.library, check.reading)} in {check.reading.unit}")
    if check.note:
        lines.append(f"Note: {check.note}")
    for number, prospect in enumerate(why(trace.network, trace.state, index), 1):
        outcome = list(check.outcomes)[prospect.outcome]
        after = max(range(len(prospect.posterior)), key=lambda c: prospect.posterior[c])
        points = f"{trace.cause_title(trace.network.causes[after])} {words.percent_words(prospect.posterior[after])}"
        normal = "  as it should be" if check.outcomes[outcome].normal else ""
        lines.append(
            f"  {number}  {words.outcome_words(check, outcome)}{normal}  [{'cured' if prospect.cures else points}]"
        )
    return [*lines, f"Answer 1 to {len(check.outcomes)}{_or_reading(check)}, ? not sure, x cannot do, u undo, q end."]


def _or_reading(check: Check) -> str:
    if check.reading is None:
        return ""
    two = ", or both readings with a blank between" if check.reading.of else ""
    return f", or the reading with its unit or decimals (2 {check.reading.unit}, 2.0){two}"


def _remedy(trace: Trace, index: int) -> list[str]:
    remedy, cause = trace.remedy(index), next_id(trace) or ""
    lines = [f"Remedy for: {trace.cause_title(cause)}  ({cause}, {_minutes(trace)})"]
    entry = trace.library.causes[cause]
    lines += [f"Before it is replaced: {entry.look_for}"] if entry.look_for else []
    lines += _action(trace.library, remedy)
    lines += _parts("Parts", trace.library, [entry.part, *remedy.parts])
    proof = remedy.prove_by
    if proof.check is not None and proof.check in trace.library.checks:
        lines.append(f"Prove it: {trace.library.checks[proof.check].title}")
    elif proof.do is not None:
        lines.append(f"Prove it: {proof.do} Expected: {proof.expect}")
    return [*lines, "  1  Gone, proven", "  2  Still there", "Answer 1 or 2, x cannot do, u undo, q end."]


def _hand_over(trace: Trace) -> list[str]:
    index = trace.action.index
    if index is None:
        lines = ["Nobody may do more with what is known: keep it as it is, safe, and call the support line."]
    else:
        person = trace.library.people[trace.network.levels[index].id]
        lines = [f"Hand over to: {person.title}  ({_minutes(trace)} until there)"]
    known = trace.library.causes
    likely_parts = [known[c].part for c, p in trace.causes()[:LIKELY] if c in known and p >= 0.05]
    lines += _parts("Bring", trace.library, likely_parts)
    return [*lines, *interim(trace), *put_back(trace), "u undo, q end."]


def _parts(word: str, library: Library, ids: Iterable[str | None]) -> list[str]:
    titles = [library.parts[p].title for p in dict.fromkeys(ids) if p is not None and p in library.parts]
    return [f"{word}: {', '.join(titles)}"] if titles else []


def _done(trace: Trace) -> list[str]:
    return [
        f"Cured by the check itself: {trace.cause_title(next_id(trace) or '')}",
        "  1  Gone for good",
        "  2  It came back",
        "Answer 1 or 2, u undo, q end.",
    ]


def interim(trace: Trace) -> list[str]:
    """Whether the likeliest cause lets the unit be used and towed meanwhile."""
    cause = trace.causes()[0][0]
    if cause not in trace.library.causes:
        return []
    entry = trace.library.causes[cause].interim
    text = f" {entry.text}" if entry.text else ""
    return [f"Until it is mended, if it is {trace.cause_title(cause)}: use {entry.use}, tow {entry.tow}.{text}"]


def put_back(trace: Trace) -> list[str]:
    """What was left changed by the checks and remedies, to be put back now."""
    lines = []
    for ident in left_behind(trace):
        state = trace.library.states.get(ident)
        lines.append(f"  - {state.title}: {state.put_back}" if state and state.put_back else f"  - {ident}")
    return ["Put back:", *lines] if lines else []


def explained(trace: Trace) -> list[str]:
    """Prior, what each answer said of each cause, and what is believed after it."""
    network, lines, weights = trace.network, [], list(trace.network.prior)
    lines.append("prior: " + _row(trace, weights))
    for index, outcome in trace.state.answers:
        row = network.checks[index].rows[outcome]
        weights = [w * p for w, p in zip(weights, row, strict=True)]
        weights = [w / sum(weights) for w in weights]
        name = f"{network.checks[index].id}={network.checks[index].outcomes[outcome]}"
        lines += [f"{name}: " + _row(trace, row), f"{' ' * len(name)}→ " + _row(trace, weights)]
    for index in sorted(trace.state.failed):
        weights = [w * (1 - c) for w, c in zip(weights, network.remedies[index].cures, strict=True)]
        name = f"remedy:{network.remedies[index].id}=failed"
        lines.append(f"{name} → " + _row(trace, [w / (sum(weights) or 1) for w in weights]))
    if trace.action.kind == "check" and trace.action.index is not None:
        odds = outcome_odds(network, posterior(network, trace.state), trace.action.index)
        names = network.checks[trace.action.index].outcomes
        lines.append("next: " + ", ".join(f"{o} {p:.3f}" for o, p in zip(names, odds, strict=True)))
    return lines


def _row(trace: Trace, values: Iterable[float]) -> str:
    return ", ".join(f"{cause} {p:.3f}" for cause, p in zip(trace.network.causes, values, strict=True))


def panels(hazards: Iterable[Hazard]) -> list[str]:
    """One line per hazard: signal word, what happens, how to avoid it."""
    return [f"{h.signal_word}: {h.title}. {h.consequence} {h.avoid or ''}".rstrip() for h in hazards]


def _action(library: Library, action: Action) -> Iterator[str]:
    yield from panels(library.hazards_of(action))
    place = library.places.get(action.place)
    if place is not None:
        yield f"Where: {place.title}. {place.where}"
    if action.tools:
        yield "Tools: " + ", ".join(library.tools[t].title if t in library.tools else t for t in action.tools)
    if action.helpers:
        yield f"Helpers: {action.helpers}"
    if action.needs:
        yield "Needed before: " + ", ".join(library.states[s].title if s in library.states else s for s in action.needs)
    if isinstance(action, Check) and action.ask:
        yield f"Ask: {action.ask}"
    yield from _steps(library, action.steps)


def _steps(library: Library, steps: Iterable[Step]) -> Iterator[str]:
    for number, step in enumerate(steps, 1):
        yield from (f"     {panel}" for panel in panels(library.hazards_of_step(step)))
        yield f"  {number}. {step.do}"


def _minutes(trace: Trace) -> str:
    return words.minutes_words(trace.action.minutes)
