"""How long a build takes, and its ratio to bare mkdocs-material with the same text on as many pages (its search off).

    python benchmarks/build.py [--content DIR | --pages 1000] [--repeats 3]

Both builds start from files on disk: ours reads, validates and renders YAML; the bare one gets the text of our pages as
Markdown, with only the home page in its navigation, which is its fastest way. CPU seconds, best of the repeats.
"""

from __future__ import annotations

import argparse
import logging
import os
import tempfile
import time
from collections.abc import Callable
from html.parser import HTMLParser
from pathlib import Path

import yaml

from kbtools import rules
from kbtools.problem import errors
from kbtools.site.build import build
from kbtools.site.edition import SERVICE

SMALL = Path(__file__).parents[1] / "tests" / "small"
HEADINGS = {"h1": "# ", "h2": "## ", "h3": "### ", "h4": "#### "}


class Markdown(HTMLParser):
    """The text of a page's main part as Markdown: headings, paragraphs, lists, tables and links."""

    def __init__(self) -> None:
        super().__init__()
        self.out: list[str] = []
        self.inside = False
        self.cells = 0
        self.href = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag == "main":
            self.inside = True
        elif tag in HEADINGS:
            self.out.append(f"\n\n{HEADINGS[tag]}")
        elif tag in ("p", "dl", "table", "ul", "ol"):
            self.out.append("\n\n")
        elif tag in ("li", "dt"):
            self.out.append("\n- ")
        elif tag == "dd":
            self.out.append(": ")
        elif tag == "tr":
            self.cells = 0
            self.out.append("\n|")
        elif tag == "a":
            self.href = dict(attrs).get("href") or ""
            self.out.append("[")

    def handle_endtag(self, tag: str) -> None:
        if tag == "main":
            self.inside = False
        elif tag in ("td", "th"):
            self.cells += 1
            self.out.append(" |")
        elif tag == "thead":
            self.out.append("\n|" + "---|" * self.cells)
        elif tag == "a":
            self.out.append(f"]({self.href.replace('.html', '.md')})")

    def handle_data(self, data: str) -> None:
        if self.inside:
            self.out.append(
                " ".join(data.split()).join(" " if edge[:1].isspace() else "" for edge in (data, data[::-1]))
            )


def as_markdown(html: str) -> str:
    reader = Markdown()
    reader.feed(html)
    return "".join(reader.out)


def synthetic(folder: Path, pages: int) -> None:
    """Content like the tiny manual's topic, copied under new ids until there are about so many pages."""
    topic = yaml.safe_load((SMALL / "topics/step/step.yml").read_text(encoding="utf-8"))
    for name in ("manual.yml", "equipment/equipment.yml"):
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text((SMALL / name).read_text(encoding="utf-8"), encoding="utf-8")
    (folder / "topics/step").mkdir(parents=True)
    ids = [ident for section in topic.values() for ident in section]
    each = len(ids) + len(topic["symptoms"])
    for copy in range(max(1, pages // each)):
        text = yaml.safe_dump(topic, allow_unicode=True, sort_keys=False, width=4000)
        for ident in ids:
            text = text.replace(ident, f"{ident}-{copy}")
        (folder / f"topics/step/t{copy}.yml").write_text(text, encoding="utf-8")


def best(repeats: int, run: Callable[[Path], None], folder: Path) -> float:
    """CPU seconds of the fastest of several runs, each into a folder of its own."""
    taken = []
    for number in range(repeats):
        start = time.process_time()
        run(folder / str(number))
        taken.append(time.process_time() - start)
    return min(taken)


def ours(content: Path) -> Callable[[Path], None]:
    def run(out: Path) -> None:
        library, problems = rules.validate(content)
        if errors(problems):
            raise SystemExit(f"{content} has errors; see kbtools validate")
        build(library, SERVICE, out)

    return run


def bare(docs: Path) -> Callable[[Path], None]:
    from mkdocs.commands.build import build as mkdocs_build
    from mkdocs.config import load_config

    config = docs.parent / "mkdocs.yml"
    config.write_text(
        "site_name: Bare\nuse_directory_urls: false\ntheme: {name: material, font: false}\nplugins: []\n"
        "nav: [index.md]\nnot_in_nav: '*'\nextra: {generator: false}\n"
        "validation: {links: {not_found: ignore, anchors: ignore, absolute_links: ignore, unrecognized_links: ignore}}\n"
    )

    def run(out: Path) -> None:
        mkdocs_build(load_config(str(config), docs_dir=str(docs), site_dir=str(out)))

    return run


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--content", type=Path)
    parser.add_argument("--pages", type=int, default=1000)
    parser.add_argument("--repeats", type=int, default=3)
    options = parser.parse_args()
    os.environ.setdefault("NO_MKDOCS_2_WARNING", "1")
    logging.getLogger("mkdocs").setLevel(logging.ERROR)
    with tempfile.TemporaryDirectory() as scratch:
        work = Path(scratch)
        content = options.content or work / "content"
        if not options.content:
            synthetic(content, options.pages)
        seconds = best(options.repeats, ours(content), work / "ours")
        site = work / "ours/0/service"
        docs = work / "docs"
        pages = sorted(site.rglob("*.html"))
        for page in pages:
            target = docs / page.relative_to(site).with_suffix(".md")
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_text(as_markdown(page.read_text(encoding="utf-8")), encoding="utf-8")
        other = best(options.repeats, bare(docs), work / "bare")
        size = sum(page.stat().st_size for page in pages) / 1e6
        print(f"pages {len(pages)}, {size:.1f} MB of HTML")
        print(f"kbtools         {seconds:6.2f} s   {1000 * seconds / len(pages):5.2f} ms a page")
        print(f"bare material   {other:6.2f} s   {1000 * other / len(pages):5.2f} ms a page")
        print(f"ratio           {seconds / other:6.2f}")


if __name__ == "__main__":
    main()
