"""The owner edition: complete, and silent about everything above the owner."""

from __future__ import annotations

import shutil
from itertools import pairwise
from pathlib import Path

import pytest

from kbtools.library import Library, open_content
from kbtools.owner import KEEP_AWAY
from kbtools.site.build import build
from kbtools.site.edition import OWNER
from kbtools.site.owners import sentences
from tests.content_case import TOPIC, Content
from tests.owner_case import forbidden, found_in
from tests.site.html import pages_of, target

CONTENT = Path(__file__).parents[2] / "content"


@pytest.fixture(scope="module")
def demo() -> Library:
    return open_content(CONTENT)[0]


@pytest.fixture(scope="module")
def demo_site(demo: Library, tmp_path_factory: pytest.TempPathFactory) -> Path:
    return build(demo, OWNER, tmp_path_factory.mktemp("demo")).folder


def test_no_byte_of_the_tiny_manual_is_above_the_owner(small: Library, small_owner_site: Path) -> None:
    phrases, ids = forbidden(small)
    assert len(phrases) > 40
    assert {"fuse-f2", "actuator-worn", "step-supply", "multimeter", "door-switch", "m41-plug"} <= ids
    assert found_in(small_owner_site, phrases, ids) == []


def test_no_byte_of_the_demo_is_above_the_owner(demo: Library, demo_site: Path) -> None:
    phrases, ids = forbidden(demo)
    assert len(phrases) > 2000
    assert len(ids) > 250
    assert found_in(demo_site, phrases, ids) == []


def test_the_search_for_leaks_finds_them_however_they_are_written(
    small: Library, small_site: Path, tmp_path: Path
) -> None:
    phrases, ids = forbidden(small)
    assert len(found_in(small_site, phrases, ids)) > 100
    for number, text in enumerate(
        ["<b>Actuator</b> worn&#32;out", r'"Actuator\u0020worn out"', "x=actuator-worn;", "the actuator worn\nout"]
    ):
        (tmp_path / f"{number}.html").write_text(text)
    (tmp_path / "actuator-worn.svg").write_text("")
    assert {one.split(":")[0] for one in found_in(tmp_path, phrases, ids)} == {
        "0.html", "1.html", "2.html", "3.html", "actuator-worn.svg"
    }  # fmt: skip


def test_links_lead_somewhere_and_nothing_is_inline(small_owner_site: Path, demo_site: Path) -> None:
    for site in (small_owner_site, demo_site):
        pages = pages_of(site)
        for path, page in pages.items():
            assert page.inline == []
            for link in page.links:
                found = target(path, link)
                if found is not None and path != "404.html":
                    assert found[0] in pages, f"{path} links to {link}"
                    assert not found[1] or found[1] in pages[found[0]].anchors, f"{path} links to {link}"


def test_every_symptom_has_a_page_with_the_number_to_call(demo: Library, demo_site: Path) -> None:
    assert {p.stem for p in (demo_site / "symptoms").iterdir()} == set(demo.symptoms)
    for ident, entry in demo.symptoms.items():
        text = (demo_site / f"symptoms/{ident}.html").read_text()
        assert entry.owner is not None
        assert f"<h1>{entry.owner.title}</h1>" in text.replace("&#39;", "'")
        assert demo.manual.telephone in text.partition('id="call"')[2]
        assert text.index('id="means"') < text.index('id="call"')
        assert not entry.first or text.index('id="safe"') < text.index('id="means"')


def test_a_symptom_that_is_not_for_owners_to_mend_says_so(demo_site: Path, small_owner_site: Path) -> None:
    text = (demo_site / "symptoms/fuse-f1-blows.html").read_text()
    assert text.index('id="call"') < text.index("nothing here for you to mend")
    assert "data-remedy" not in text
    mends = (small_owner_site / "symptoms/step-stays-in.html").read_text()
    assert "nothing here for you to mend" not in mends
    assert "Turn the tractor&#39;s ignition off." in mends
    assert 'data-remedy="coupled-locks-step"' in mends


def test_every_symptom_has_a_card_that_its_page_names(demo: Library, demo_site: Path) -> None:
    assert {p.stem for p in (demo_site / "cards").iterdir()} == set(demo.symptoms)
    for ident in demo.symptoms:
        assert f'href="../cards/{ident}.html"' in (demo_site / f"symptoms/{ident}.html").read_text()


def test_counts_of_one_lamp_stand_in_order(demo_site: Path) -> None:
    home = (demo_site / "index.html").read_text()
    counts = [home.index(f"symptoms/fault-{count}.html") for count in range(1, 8)]
    assert counts == sorted(counts)
    assert "symptoms/" not in "".join(home[a:b] for a, b in pairwise(counts)).replace("symptoms/fault-", "")


def test_hazards_that_only_others_meet_keep_their_warning(small_owner_site: Path) -> None:
    text = (small_owner_site / "emergency.html").read_text()
    assert "crushes a hand or foot" in text
    assert KEEP_AWAY in text
    assert "before a hand goes near the linkage" not in text


def test_drafts_and_pages_of_the_service_edition_are_left_out(content: Content, tmp_path: Path) -> None:
    content.edit(TOPIC, "    title: The step will not fold\n", "    title: The step will not fold\n    status: draft\n")
    content.write("pages/meters.md", "# Meters\n\nFor technicians.\n")
    content.write(
        "pages/own.md",
        "---\neditions: owner\n---\n# Own\n\n[a](causes/actuator-worn.html) [b](symptoms/step-stays-in.html)\n\n![pic](kept.png)\n",
    )
    for name in ("kept.png", "left.png"):
        (content.folder / "pages" / name).write_bytes(b"\x89PNG")
    site = build(open_content(content.folder)[0], OWNER, tmp_path / "o").folder
    written = {p.relative_to(site).as_posix() for p in site.rglob("*")}
    assert "own.html" in written and "kept.png" in written
    assert not written & {
        "meters.html",
        "left.png",
        "symptoms/step-stays-out.html",
        "causes",
        "checks",
        "records",
        "systems",
        "reference",
    }
    text = (site / "own.html").read_text()
    assert "<p>a <a href" in text
    assert "source" not in text.partition('class="imprint"')[2]


def test_hazardous_words_in_the_content_stay_text(content: Content, tmp_path: Path) -> None:
    content.edit(TOPIC, "title: The step does not come out", 'title: "<script>alert(1)</script>"')
    site = build(open_content(content.folder)[0], OWNER, tmp_path / "o").folder
    for file in site.rglob("*.html"):
        assert "<script>alert" not in file.read_text()
    assert "<script>" not in (site / "assets/search-data.js").read_text()


def test_same_content_same_bytes(small: Library, small_owner_site: Path, tmp_path: Path) -> None:
    shutil.copytree(small.folder, tmp_path / "elsewhere")
    again = build(open_content(tmp_path / "elsewhere")[0], OWNER, tmp_path / "b").folder
    for file in small_owner_site.rglob("*"):
        if file.is_file():
            assert (again / file.relative_to(small_owner_site)).read_bytes() == file.read_bytes()


@pytest.mark.parametrize(
    ("text", "count"),
    [
        ("Press STOP. Is it dark? Call us.", 3),
        ("Wait 2.5 minutes. Then go", 2),
        ('Say "oil". "Why?" Because.', 3),
        ("", 0),
    ],
)
def test_sentences_stand_on_lines_of_their_own(text: str, count: int) -> None:
    assert len(sentences(text)) == count
    assert " ".join(sentences(text)) == text
