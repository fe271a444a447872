"""The manual as a whole."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from kbtools.model.base import Date, Ids, Minutes, Model, Ref, Text


class Manual(Model):
    """The manual as a whole (manual.yml)."""

    title: Text
    """Title of the manual."""
    owner_title: Text | None = None
    """Title of the owner edition; left out: the manual's title."""
    organisation: Text
    """Who answers for it."""
    telephone: Text
    """Whom to call: the support line's number."""
    hours: Text | None = None
    """When the support line answers."""
    serial_where: Text | None = None
    """A sentence that says where a reader finds the serial number of the unit."""
    revised: Date
    """Date of the content, YYYY-MM-DD."""
    stale_days: Annotated[int, Field(gt=0, le=10_000)] = 365
    """Days after `revised` from which the contents page tells its reader to ask for a newer manual."""
    unsolved_minutes: Minutes = 240
    """What a case costs that the highest person cannot settle, in minutes."""
    site_url: Text | None = None
    """Address where the manual is published; without it, cards print a path instead of a QR code."""
    edit_base: Text | None = None
    """Address under which the content's files can be edited; without it, pages print file and line."""
    emergency: Annotated[tuple[Annotated[str, Ref("precaution")], ...], Ids] = ()
    """Precautions on the emergency page, in order."""
    emergency_call: Text = "Call the local emergency number first, then the support line."
    """The line at the top of the emergency page."""
    defer: Text = "Local codes and the rules of licensed practice come before this manual."
    """The line on every page that defers to local codes and licensed practice."""
    hand_over: Text = "Mains voltage, structure and pressure settings are work for licensed trades only."
    """The line that says which work is handed over in any case."""
