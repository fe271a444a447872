"""The list of files in front of the worker that keeps a manual on its reader's device."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path
from urllib.parse import quote

from kbtools.site.render import overrides
from kbtools.site.site import Site

WORKER = "worker.js"


def write_worker(folder: Path, site: Site) -> None:
    """Writes the worker of a finished site into its folder: what to keep, under which revision.

    `build` is a digest of all files: it changes when any of them does, also under the same revision.
    """
    digest, files = hashlib.sha256(), []
    for file in sorted(folder.rglob("*")):
        name = file.relative_to(folder).as_posix()
        if file.is_file() and name != WORKER:
            digest.update(name.encode() + b"\0" + hashlib.sha256(file.read_bytes()).digest())
            files.append(quote(name))
    manual = {"build": digest.hexdigest()[:16], "revision": site.library.revision, "date": site.date, "files": files}
    text = (overrides() / WORKER).read_text(encoding="utf-8")
    listed = json.dumps(manual, indent=0, ensure_ascii=False)
    (folder / WORKER).write_text(f"self.kbManual = {listed};\n{text}", encoding="utf-8", newline="\n")
