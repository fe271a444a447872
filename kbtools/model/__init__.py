"""The content model: what an author may write, typed, frozen and described field by field.

Nothing here reads files or knows about other entries. A field that names another entry is marked with `Ref`, so that one
walk over the model finds every reference.
"""

from __future__ import annotations

from kbtools.model.actions import Action, AnyRemedy, Proof, Remedy, SameRemedy, Step, Steps
from kbtools.model.base import (
    LIKELIHOODS,
    Applies,
    AppliesTo,
    Date,
    Entry,
    Ids,
    Likelihood,
    Minutes,
    Model,
    Number,
    Path,
    Percent,
    Ref,
    Reviewed,
    ShortForm,
    Text,
    Waiting,
    YesNo,
)
from kbtools.model.equipment import (
    SERIOUS,
    SIGNAL_WORDS,
    Hazard,
    Part,
    Person,
    Place,
    Point,
    Precaution,
    State,
    System,
    Tool,
    Type,
)
from kbtools.model.manual import Manual
from kbtools.model.references import references, references_in
from kbtools.model.topics import (
    Cause,
    Check,
    Direction,
    Interim,
    Normal,
    Outcome,
    OwnerText,
    RankedCause,
    Reading,
    StopIf,
    Symptom,
    Unlike,
)

__all__ = [
    "EQUIPMENT_KINDS",
    "KINDS",
    "LIKELIHOODS",
    "SERIOUS",
    "SIGNAL_WORDS",
    "TOPIC_KINDS",
    "Action",
    "AnyRemedy",
    "Applies",
    "AppliesTo",
    "Cause",
    "Check",
    "Date",
    "Direction",
    "Entry",
    "Hazard",
    "Ids",
    "Interim",
    "Likelihood",
    "Manual",
    "Minutes",
    "Model",
    "Normal",
    "Number",
    "Outcome",
    "OwnerText",
    "Part",
    "Path",
    "Percent",
    "Person",
    "Place",
    "Point",
    "Precaution",
    "Proof",
    "RankedCause",
    "Reading",
    "Ref",
    "Remedy",
    "Reviewed",
    "SameRemedy",
    "ShortForm",
    "State",
    "Step",
    "Steps",
    "StopIf",
    "Symptom",
    "System",
    "Text",
    "Tool",
    "Type",
    "Unlike",
    "Waiting",
    "YesNo",
    "references",
    "references_in",
]

KINDS: dict[str, tuple[str, type[Entry]]] = {
    "symptom": ("symptoms", Symptom),
    "cause": ("causes", Cause),
    "check": ("checks", Check),
    "system": ("systems", System),
    "type": ("types", Type),
    "person": ("people", Person),
    "place": ("places", Place),
    "tool": ("tools", Tool),
    "hazard": ("hazards", Hazard),
    "precaution": ("precautions", Precaution),
    "part": ("parts", Part),
    "point": ("points", Point),
    "state": ("states", State),
}
"""Kind → the key under which its entries stand, and their model."""

TOPIC_KINDS = ("symptom", "cause", "check")
EQUIPMENT_KINDS = tuple(kind for kind in KINDS if kind not in TOPIC_KINDS)
