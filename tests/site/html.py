"""Reads built pages: their links, anchors and whatever loads something."""

from __future__ import annotations

from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote, urlsplit


class Reading(HTMLParser):
    """What a page links to (`links`), loads (`loads`), can be linked at (`anchors`), and runs or styles inline (`inline`)."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.links: list[str] = []
        self.loads: list[str] = []
        self.anchors: list[str] = []
        self.inline: list[str] = []
        self.metas: dict[str, str] = {}
        self.tags: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = {name: value or "" for name, value in attrs}
        self.tags.append(tag)
        self.anchors += [found["id"]] if "id" in found else []
        if tag == "a" and "href" in found:
            self.links.append(found["href"])
        elif "href" in found or "src" in found:
            self.loads.append(found.get("href") or found["src"])
        if tag == "style" or (tag == "script" and "src" not in found):
            self.inline.append(tag)
        self.inline += [name for name in found if name == "style" or name.startswith("on")]
        if tag == "meta":
            self.metas[found.get("http-equiv") or found.get("name", "")] = found.get("content", "")


def pages_of(site: Path) -> dict[str, Reading]:
    """Every HTML page of a site: path → what it holds."""
    return {
        file.relative_to(site).as_posix(): Reading(file.read_text(encoding="utf-8"))
        for file in sorted(site.rglob("*.html"))
    }


def target(page: str, link: str) -> tuple[str, str] | None:
    """Path in the site and anchor to which a link on `page` leads; None for links out of the site."""
    parts = urlsplit(link)
    if parts.scheme or parts.netloc:
        return None
    if not parts.path:
        return page, unquote(parts.fragment)
    base = [] if parts.path.startswith("/") else page.split("/")[:-1]
    for step in unquote(parts.path).strip("/").split("/"):
        base = base[:-1] if step == ".." else [*base, step]
    return "/".join(base), unquote(parts.fragment)
