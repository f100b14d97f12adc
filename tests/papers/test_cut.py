"""Pages cut out of the pack show what the pack shows, can be read aloud, and say what they are."""

from __future__ import annotations

import re
from ctypes import c_char
from functools import cache
from pathlib import Path

import pypdfium2
import pytest

from loomwright.drawing.pages import typeset
from loomwright.papers import cut, pack
from loomwright.papers.order import Order
from tests.drawing import demo

LONG = "\n".join(f"#pagebreak()\n#heading[Chapter {k}]#label(\"c{k}\")\n== Below\nWords of {k}.\n#table(columns: 2, "
                 f"table.header[a][b], [{k}], [(12 0 R) \\) {k}])" for k in range(4))  # fmt: skip


@cache
def long() -> bytes:
    return typeset({"main.typ": f"#set page(width: 90mm, height: 60mm)\nCover\n{LONG}".encode()}, "pdf")


def words(pdf: bytes) -> list[str]:
    document = pypdfium2.PdfDocument(pdf)
    try:
        return [page.get_textpage().get_text_bounded() for page in document]
    finally:
        document.close()


def spoken(pdf: bytes) -> list[str]:
    """Types of the tags on each page, as a screen reader meets them."""
    raw = pypdfium2.raw

    def below(element: object) -> list[str]:
        size = raw.FPDF_StructElement_GetType(element, None, 0)
        text = bytearray(size)
        raw.FPDF_StructElement_GetType(element, (c_char * size).from_buffer(text), size)
        kids = [raw.FPDF_StructElement_GetChildAtIndex(element, k)
                for k in range(raw.FPDF_StructElement_CountChildren(element))]  # fmt: skip
        return [text.decode("utf-16-le").rstrip("\0"), *(t for k in kids if k for t in below(k))]

    document = pypdfium2.PdfDocument(pdf)
    try:
        found = []
        for page in document:
            tree = raw.FPDF_StructTree_GetForPage(page)
            count = raw.FPDF_StructTree_CountChildren(tree)
            tops = [raw.FPDF_StructTree_GetChildAtIndex(tree, k) for k in range(count)]
            found.append(" ".join(t for top in tops if top for t in below(top)))
            raw.FPDF_StructTree_Close(tree)
        return found
    finally:
        document.close()


@pytest.mark.parametrize(("first", "count"), [(0, 1), (1, 1), (2, 2), (0, 5), (4, 1)])
def test_a_cut_shows_and_says_what_those_pages_show_and_say(first: int, count: int) -> None:
    made = cut.Printed(long()).cut(first, count, "x")
    assert words(made) == words(long())[first : first + count]
    assert spoken(made) == spoken(long())[first : first + count]
    assert all("Table" in page for page in spoken(long())[1:])


def test_headings_with_a_name_are_found_on_their_pages() -> None:
    assert dict(cut.Printed(long()).marks) == {f"c{k}": k + 1 for k in range(4)}


def test_only_bookmarks_into_a_cut_stay_with_it() -> None:
    document = pypdfium2.PdfDocument(cut.Printed(long()).cut(2, 2, "x"))
    try:
        found = [(b.level, b.get_title(), b.get_dest().get_index()) for b in document.get_toc()]
    finally:
        document.close()
    assert found == [(0, "Chapter 1", 0), (1, "Below", 0), (0, "Chapter 2", 1), (1, "Below", 1)]


@pytest.mark.parametrize("title", ["plain", "a (b) \\ c", "Żółty & <ring>", "עברית", "\U0001d11e"])
def test_a_cut_has_its_title_whatever_stands_in_it(title: str) -> None:
    document = pypdfium2.PdfDocument(cut.Printed(long()).cut(1, 1, title))
    try:
        assert document.get_metadata_dict()["Title"] == title
    finally:
        document.close()


def test_whatever_a_cut_names_is_in_it_and_lies_where_its_table_says() -> None:
    made = cut.Printed(long()).cut(2, 1, "x")
    table = made[made.rindex(b"xref\n0 1") : made.rindex(b"trailer")]
    there: dict[int, int] = {}
    for start, count, lines in re.findall(rb"(\d+) (\d+)\n((?:\d{10} \d{5} n\r\n)+)", table):
        at = [int(line[:10]) for line in lines.splitlines()]
        assert len(at) == int(count)
        there |= dict(enumerate(at, int(start)))
    assert all(made[at:].startswith(b"%d 0 obj\n" % n) for n, at in there.items())
    plain = re.sub(rb"\((?:[^()\\]|\\.)*\)|stream\n.*?\nendstream", b"", made, flags=re.S)
    assert {int(n) for n in re.findall(rb"(\d+) 0 R", plain)} <= set(there)


def test_what_is_put_together_otherwise_is_refused() -> None:
    for other in (b"%PDF-1.7\nstartxref\n0\n%%EOF", long().replace(b"xref\n0 ", b"xref\n1 "), b""):
        with pytest.raises(ValueError, match=r".+"):
            cut.Printed(other)
    linked = typeset({"main.typ": b"#link(\"https://example.org\")[out]\n= Head"}, "pdf")
    with pytest.raises(ValueError, match="link"):
        cut.Printed(linked).cut(0, 1, "x")


def built(folder: Path) -> dict[str, list[str]]:
    made = pack.build(Order(demo.study("tiny"), ()), folder)
    return {f.relative_to(folder).as_posix(): words(f.read_bytes()) for f in made if f.suffix == ".pdf"}


def test_parts_for_the_bench_are_pages_of_the_pack_and_count_their_own_sheets(tmp_path: Path) -> None:
    found = built(tmp_path)
    whole = found["pack.pdf"]
    for name in pack.BENCH:
        pages = found.get(f"parts/{name}.pdf", [])
        assert all(page in whole for page in pages)
        assert all(f"sheet {k} of {len(pages)}, page " in page for k, page in enumerate(pages, 1))
    drawn = [pages for name, pages in found.items() if name.startswith("parts/drawings/")]
    assert drawn
    assert all(len(pages) == 1 and pages[0] in whole for pages in drawn)


def test_a_pack_from_a_typesetter_that_writes_otherwise_has_the_same_parts(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    usual = built(tmp_path / "one")

    def refuse(pdf: bytes) -> None:
        raise ValueError("packed objects")

    monkeypatch.setattr("loomwright.papers.cut.Printed", refuse)
    assert {n: len(p) for n, p in built(tmp_path / "two").items()} == {n: len(p) for n, p in usual.items()}
