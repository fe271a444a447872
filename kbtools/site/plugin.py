"""The MkDocs plugin: adapts a Site to MkDocs' events and does nothing else."""

from __future__ import annotations

import logging
import os
import posixpath
import re
from collections.abc import Callable
from dataclasses import replace
from html import unescape
from pathlib import Path as FilePath
from typing import Any

from markupsafe import Markup
from mkdocs.config import config_options as options
from mkdocs.config.base import Config
from mkdocs.config.defaults import MkDocsConfig
from mkdocs.exceptions import PluginError
from mkdocs.plugins import BasePlugin, event_priority
from mkdocs.structure.files import File, Files, InclusionLevel
from mkdocs.structure.nav import Navigation
from mkdocs.structure.pages import Page as MkDocsPage
from mkdocs.utils.meta import get_data

from kbtools import rules
from kbtools.library import ContentMissing, Library
from kbtools.problem import Position, Problem, errors
from kbtools.site.codes import code_tables
from kbtools.site.edition import EDITIONS, empty
from kbtools.site.entries import HOME
from kbtools.site.render import overrides
from kbtools.site.site import Page, Site, bare_pages, pages
from kbtools.site.worker import write_worker

log = logging.getLogger("mkdocs.plugins.kbtools")

INTRO = "<!-- intro -->"
SCROLL = '<div class="scroll" tabindex="0" role="region" aria-label="Table">'
_GENERATED = re.compile(
    r"(\]\((?:\.\./)*(?:(?:symptoms|causes|checks|systems|reference)/[a-z0-9-]+|index|emergency))\.html"
)

_TO_PAGE = re.compile(r"\[([^\]]*)\]\(([^)\s:#]+\.md)(?:#[^)]*)?\)")
"""A link of Markdown to another page, in brackets its words and its target."""

_HREF = re.compile(r"""\s+href\s*=\s*("[^"]*"|'[^']*'|[^\s>"']+)""", re.IGNORECASE)


class PluginConfig(Config):  # type: ignore[no-untyped-call]
    """What mkdocs.yml may say under `plugins: - kbtools:`."""

    content = options.Type(str, default="content")
    """Folder of the content, relative to mkdocs.yml."""
    edition = options.Choice(tuple(EDITIONS), default="service")
    """Edition to build."""


class KbtoolsPlugin(BasePlugin[PluginConfig]):  # type: ignore[no-untyped-call]
    """Adds the manual's pages to the site.

    While serving, content with errors leaves the last good pages in place, under a banner that lists the problems.
    """

    def __init__(self) -> None:
        self.live = False
        self.site: Site | None = None
        self.pages: dict[str, Page] = {}
        self.bare: dict[str, str] = {}
        self.prepared: Library | None = None
        self.written: Callable[[int], None] = lambda total: None
        self._nav: Navigation | None = None

    def on_startup(self, *, command: str, dirty: bool) -> None:
        """Keeps this instance, and with it the last good pages, through live reloads."""
        self.live = command == "serve"

    @event_priority(-100)
    def on_config(self, config: MkDocsConfig) -> MkDocsConfig:
        """Validates before anything is written, renders every body, and forces the settings that keep pages closed."""
        folder = self._folder(config)
        if self.live:
            self._load_or_keep(folder)
        else:
            self._load(folder)
        assert self.site is not None
        _force(config, self.site)
        config.watch += [str(folder), str(overrides())]
        return config

    def _folder(self, config: MkDocsConfig) -> FilePath:
        beside = FilePath(config.config_file_path).parent if config.config_file_path else FilePath.cwd()
        return beside / str(self.config.content)

    def _load(self, folder: FilePath) -> None:
        try:
            library, problems = (self.prepared, []) if self.prepared else rules.validate(folder)
        except ContentMissing as missing:
            raise PluginError(str(missing)) from None
        if wrong := errors(problems):
            for found in wrong:
                log.error("%s: %s [%s]", found.position, found.message, found.rule)
            raise PluginError(f"the content has {len(wrong)} errors")
        self._use(library)

    def _use(self, library: Library) -> None:
        edition = EDITIONS[str(self.config.edition)]
        shown = edition.library_for(library)
        site = Site(
            shown,
            edition,
            live=self.live,
            networks=edition.networks_for(library),
            unit_networks=edition.unit_networks_for(library),
            codes=code_tables(library, edition.owner),
        )
        found = {_source(page.path): page for page in pages(site)}
        self.site, self.pages, self.bare = site, found, dict(bare_pages(site))

    def _load_or_keep(self, folder: FilePath) -> None:
        """Never raises: an exception during a live rebuild would leave every request waiting."""
        try:
            library, problems = rules.validate(folder)
            wrong = errors(problems)
            if not wrong:
                self._use(library)
        except Exception as error:
            wrong = [Problem(folder.name, None, None, "error", "preview", f"{type(error).__name__}: {error}")]
        for found in wrong:
            log.error("%s: %s", found.position, found.message)
        if self.site is None:
            self._use(empty(folder))
        assert self.site is not None
        self.site = replace(self.site, problems=tuple(wrong), _environments={})

    def on_files(self, files: Files, *, config: MkDocsConfig) -> Files:
        """Adds the generated pages; leaves out the theme's own files and pages of other editions."""
        assert self.site is not None
        docs, own = str(config.docs_dir), str(overrides())
        for file in list(files):
            foreign = file.src_dir not in (docs, own, config.theme.custom_dir) and file.generated_by is None
            if foreign or not self._in_edition(file):
                files.remove(file)
        if self.site.edition.owner:
            _leave_out_unnamed(files)
        for uri, page in self.pages.items():
            intro = files.get_file_from_path(uri)
            if intro is not None:
                files.remove(intro)
            text = intro.content_string if intro is not None and page.path == HOME[1] else ""
            files.append(File.generated(config, uri, content=text, inclusion=InclusionLevel.NOT_IN_NAV))
        for path, html in self.bare.items():
            files.append(File.generated(config, path, content=html, inclusion=InclusionLevel.NOT_IN_NAV))
        return files

    def _in_edition(self, file: File) -> bool:
        if not file.is_documentation_page():
            return True
        assert self.site is not None
        try:
            wanted = get_data(file.content_string)[1].get("editions", ["service"])
        except (OSError, ValueError):
            return self._refused(file, "it cannot be read as text. Save it in UTF-8.")
        wanted = [wanted] if isinstance(wanted, str) else wanted
        if not isinstance(wanted, list) or not wanted or set(map(str, wanted)) - set(EDITIONS):
            return self._refused(file, f"its editions are {', '.join(EDITIONS)}, not {str(wanted)[:60]!r}.")
        return self.site.edition.id in wanted

    def _refused(self, file: File, why: str) -> bool:
        """A page that no edition can have ends a build; the preview goes on without it."""
        message = f"pages/{file.src_uri}: {why}"
        if not self.live:
            raise PluginError(message)
        log.error(message)
        return False

    def on_nav(self, nav: Navigation, *, config: MkDocsConfig, files: Files) -> Navigation:
        self._nav = nav
        return nav

    def on_page_markdown(self, markdown: str, *, page: MkDocsPage, config: MkDocsConfig, files: Files) -> str:
        """Gives generated pages their title; lets hand-written ones name a generated page by its address."""
        found = self.pages.get(page.file.src_uri)
        if found is None:
            return self._linked(markdown, page, files)
        page.meta = {"kbtools": found.path}
        page.title = found.title
        page.edit_url = None
        return markdown

    def _linked(self, markdown: str, page: MkDocsPage, files: Files) -> str:
        """Addresses of generated pages as MkDocs knows them; in the owner edition, links to other editions' pages as plain words."""
        assert self.site is not None
        linked = _GENERATED.sub(r"\1.md", markdown)
        if not self.site.edition.owner:
            return linked

        def kept(match: re.Match[str]) -> str:
            target = posixpath.normpath(posixpath.join(posixpath.dirname(page.file.src_uri), match.group(2)))
            return match.group() if files.get_file_from_path(target) else match.group(1)

        return _TO_PAGE.sub(kept, linked)

    def on_page_content(self, html: str, *, page: MkDocsPage, config: MkDocsConfig, files: Files) -> str:
        found = self.pages.get(page.file.src_uri)
        return made_safe(html) if found is None else str(found.body).replace(INTRO, made_safe(html))

    def on_env(self, env: Any, *, config: MkDocsConfig, files: Files) -> None:
        """Every page has its title by now: the author's own ones go into the foot of all."""
        assert self.site is not None
        listed = [page for page in self._nav.pages if page.file.src_uri not in self.pages] if self._nav else []
        self.site = replace(self.site, hand_written=tuple((str(page.title), str(page.url)) for page in listed))

    def on_page_context(self, context: Any, *, page: MkDocsPage, config: MkDocsConfig, nav: Navigation) -> Any:
        """Puts the whole page where the template main.html picks it up."""
        assert self.site is not None
        content = Markup(page.content or "")
        found = self.pages.get(page.file.src_uri)
        if found is None:
            source = os.path.relpath(page.file.abs_src_path or page.file.src_uri, self._folder(config)).replace(
                os.sep, "/"
            )
            found = Page(str(page.url), str(page.title), content, (HOME,), Position(source))
        context["kb_html"] = self.site.shell(replace(found, body=content))
        return context

    def on_template_context(self, context: Any, *, template_name: str, config: MkDocsConfig) -> Any:
        """The page for an address that does not exist."""
        assert self.site is not None
        root = context["base_url"].rstrip("/") + "/"
        page = Page(template_name, "No such page", self.site.render("kb/missing.html", root))
        context["kb_html"] = self.site.shell(page, root)
        return context

    def on_post_page(self, output: str, *, page: MkDocsPage, config: MkDocsConfig) -> str:
        self.written(len(self.pages))
        return output

    def on_post_build(self, *, config: MkDocsConfig) -> None:
        """Every file is there by now: the worker that keeps them on the reader's device gets its list."""
        if not self.live and self.site is not None:
            write_worker(FilePath(config.site_dir), self.site)

    def on_serve(self, server: Any, *, config: MkDocsConfig | None, builder: Any) -> Any:
        """The server's reload script is inline, which the pages forbid; assets/live.js does the same."""
        server._inject_js_into_html = lambda content, epoch: content
        return server


def made_safe(html: str) -> str:
    """Hand-written HTML without links that run a script, and with tables that scroll by themselves.

    >>> made_safe('<a href="JavaScript:x()">a</a> <a href="b.html">b</a>')
    '<a>a</a> <a href="b.html">b</a>'
    """

    def kept(match: re.Match[str]) -> str:
        target = "".join(unescape(match.group(1)).split()).strip("\"'").lower()
        return "" if target.startswith(("javascript:", "vbscript:", "data:")) else match.group()

    boxed = html.replace("<table>", f"{SCROLL}<table>").replace("</table>", "</table></div>")
    return _HREF.sub(kept, boxed)


def _leave_out_unnamed(files: Files) -> None:
    """Leaves out pictures and other files of the author's that no page of this edition names."""
    pages = [file.content_string for file in files if file.is_documentation_page() and file.generated_by is None]
    for file in list(files):
        own = file.src_dir == str(overrides()) or file.generated_by is not None or file.is_documentation_page()
        if not own and not any(file.name in text for text in pages):
            files.remove(file)


def _source(path: str) -> str:
    return path.removesuffix(".html") + ".md"


def _force(config: MkDocsConfig, site: Site) -> None:
    """Settings that an author need not know: flat addresses, our templates first, nothing from elsewhere, no search of the theme's."""
    config.use_directory_urls = False
    config.site_name = site.library.manual.title
    config.theme["font"] = False
    own = str(overrides())
    if own not in config.theme.dirs:
        config.theme.dirs.insert(1 if config.theme.custom_dir else 0, own)
    config.theme.static_templates = {"404.html"}
    config.extra_javascript = [s for s in config.extra_javascript if not str(s).startswith("search/")]
    config.mdx_configs.setdefault("tables", {})["use_align_attribute"] = True
    for name in ("search", "material/search"):
        plugin = config.plugins.pop(name, None)
        for event, methods in config.plugins.events.items():
            config.plugins.events[event] = [m for m in methods if getattr(m, "__self__", None) is not plugin]
