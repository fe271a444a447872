"""Starts manuals and entries: a small complete manual to change, and skeletons of symptoms, causes and checks."""

from kbtools.new.entry import Added, NotAdded, new_entry
from kbtools.new.manual import new_manual

__all__ = ["Added", "NotAdded", "new_entry", "new_manual"]
