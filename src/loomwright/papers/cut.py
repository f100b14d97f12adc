"""Pages cut out of a PDF that the typesetter made: what they show, their bookmarks, their tags for a screen reader.

The typesetter writes each object by itself, with a plain table of where they lie; only streams are packed. A cut
takes over objects as they are, under their own numbers, and writes anew what names pages that are gone: the list of
pages, the tree of tags, the bookmarks. The same PDF gives the same bytes.
"""

from __future__ import annotations

import hashlib
import re
from base64 import b64encode
from collections.abc import Collection, Iterable, Mapping, Sequence
from functools import cached_property
from itertools import pairwise

from loomwright.drawing.svg import escaped

_REF = re.compile(rb"(\d+) 0 R")
_PAGE_OF = re.compile(rb"/Pg (\d+) 0 R")
_ABOVE = re.compile(rb"/P (\d+) 0 R")
_STRING = re.compile(rb"\((?:[^()\\]|\\.)*\)", re.S)
_KID = re.compile(rb"<<.*?>>|\d+ 0 R|\d+")
_ELEM, _PAGE = b"<</Type/StructElem", b"<</Type/Page/"
_XMP = (
    '<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?><x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF '
    'xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#"><rdf:Description rdf:about="" '
    'xmlns:dc="http://purl.org/dc/elements/1.1/" xmlns:xmpTPg="http://ns.adobe.com/xap/1.0/t/pg/" '
    'xmlns:pdf="http://ns.adobe.com/pdf/1.3/"><dc:title><rdf:Alt>'
    '<rdf:li xml:lang="x-default">{title}</rdf:li></rdf:Alt>'
    "</dc:title><dc:language><rdf:Bag><rdf:li>en</rdf:li></rdf:Bag></dc:language><dc:format>application/pdf</dc:format>"
    "<xmpTPg:NPages>{count}</xmpTPg:NPages><pdf:PDFVersion>1.7</pdf:PDFVersion></rdf:Description></rdf:RDF>"
    '</x:xmpmeta><?xpacket end="r"?>'
)


class Printed:
    """A PDF as the typesetter wrote it. Raises ValueError or KeyError where it is put together otherwise."""

    def __init__(self, pdf: bytes) -> None:
        self.objects, tail = _objects(pdf)
        self.size, self.root, self.info = (_number(key, tail) for key in (b"/Size ", b"/Root ", b"/Info "))
        catalog = self.objects[self.root]
        self.list, self.metadata = _number(b"/Pages ", catalog), _number(b"/Metadata ", catalog)
        self.tree = _number(b"/StructTreeRoot ", catalog)
        self.outlines = _number(b"/Outlines ", catalog)
        self.pages = _numbers(_array(self.objects[self.list], b"/Kids["))

    @cached_property
    def marks(self) -> Mapping[str, int]:
        """The page, from 0, of each heading that has a name."""
        names = _array(self.objects[self.root], b"/Names<</Dests<</Names[")
        return {
            name.decode("latin-1"): self.pages.index(_number(b"[", self.objects[int(to)]))
            for name, to in re.findall(rb"\(([^()]*)\)(\d+) 0 R", names)
        }  # fmt: skip

    def cut(self, first: int, count: int, title: str) -> bytes:
        """So many pages from the one numbered ``first``, from 0, as a PDF of their own with a title."""
        pages = self.pages[first : first + count]
        out = {p: self.objects[p] for p in pages}
        if any(b"/Annots" in body for body in out.values()):
            raise ValueError("a link on a page to be cut out")
        self._add(out, list(out.values()))
        out[self.list] = b"<</Type/Pages/Count %d/Kids[%s]>>" % (len(pages), _refs(pages))
        out |= self._tags(pages)
        marks = self._bookmarks(pages)
        out |= marks
        data = _XMP.format(title=escaped(title), count=len(pages)).encode()
        out[self.metadata] = b"<</Length %d/Type/Metadata/Subtype/XML>>\nstream\n%s\nendstream" % (len(data), data)
        out[self.info] = b"<</Title<%s>>>" % ("\ufeff" + title).encode("utf-16-be").hex().encode()
        out[self.root] = b"<</Type/Catalog/Pages %d 0 R/Metadata %d 0 R/Lang(en)/StructTreeRoot %d 0 R%s%s>>" % (
            self.list, self.metadata, self.tree, b"/MarkInfo<</Marked true/Suspects false>>",
            b"/ViewerPreferences<</Direction/L2R/DisplayDocTitle true>>",
        )  # fmt: skip
        if marks:
            out[self.root] = out[self.root][:-2] + b"/Outlines %d 0 R>>" % self.outlines
        return self._written(out)

    def _add(self, out: dict[int, bytes], bodies: list[bytes]) -> None:
        """Whatever these objects name, and what that names, but for lists of pages and tags."""
        while bodies:
            for number in _numbers(bodies.pop().partition(b"\nstream\n")[0]):
                body = self.objects.get(number, b"")
                if number not in out and number != self.list and body and not body.startswith((_ELEM, _PAGE)):
                    out[number] = body
                    bodies.append(body)

    @cached_property
    def _elements(self) -> tuple[Mapping[int, set[int]], Mapping[int, set[int]]]:
        """By page the tags with something on it, and by tag the pages that it and all below it lie on.

        A tag that holds another with nothing on any page lies on page 0 as well, which there is not.
        """
        above: dict[int, int] = {}
        spread: dict[int, set[int]] = {}
        mine: list[tuple[int, int]] = []
        for number, body in self.objects.items():
            if body.startswith(_ELEM):
                plain = _unquoted(body) if b"(" in body else body
                found = _ABOVE.search(plain)
                if found is None:
                    raise ValueError("a tag in the PDF below no other")
                above[number] = int(found[1])
                spread[number] = set()
                mine += [(number, int(page)) for page in set(_PAGE_OF.findall(plain))]
        on: dict[int, set[int]] = {}
        for number, page in mine:
            while number != self.tree and page not in spread[number]:
                spread[number].add(page)
                on.setdefault(page, set()).add(number)
                number = above[number]
        for number in [n for n, pages in spread.items() if not pages]:
            while number != self.tree:
                spread[number].add(0)
                number = above[number]
        return on, spread

    def _tags(self, pages: Sequence[int]) -> dict[int, bytes]:
        """The tags on these pages and those above them, up to the root, with what finds them from a page."""
        on, spread = self._elements
        here = set(pages)
        keep = set[int]().union(*(on.get(p, ()) for p in pages))
        out = {
            n: self.objects[n] if spread[n] <= here else self._kids(self.objects[n], keep, here) for n in sorted(keep)
        }
        old = self.objects[self.tree]
        nums = dict(re.findall(rb"(\d+) (\d+) 0 R", _array(old, b"/Nums[")))
        at = {int(m[1]): nums[m[1]] for p in pages if (m := re.search(rb"/StructParents (\d+)", self.objects[p]))}
        for number in map(int, at.values()):
            body = self.objects[number]
            if not keep.issuperset(_numbers(body)):
                body = _REF.sub(lambda m: m[0] if int(m[1]) in keep else b"null", body)
            out[number] = body
        names = b""
        if b"/IDTree<</Names[" in old:
            found = re.findall(rb"(\([^()]*\)(\d+) 0 R)", _array(old, b"/IDTree<</Names["))
            names = b"/IDTree<</Names[%s]>>" % b"".join(entry for entry, to in found if int(to) in keep)
        roles = old[old.index(b"/RoleMap") : old.index(b"/K[")] if b"/RoleMap" in old else b""
        kids = _refs(n for n in _numbers(_array(old, b"/K[")) if n in keep)
        nums_new = b" ".join(b"%d %s 0 R" % one for one in sorted(at.items()))
        out[self.tree] = b"<</Type/StructTreeRoot%s/K[%s]/ParentTree<</Nums[%s]>>%s/ParentTreeNextKey %d>>" % (
            roles, kids, nums_new, names, _number(b"/ParentTreeNextKey ", old),
        )  # fmt: skip
        return out

    def _kids(self, body: bytes, keep: Collection[int], pages: Collection[int]) -> bytes:
        """A tag without what it holds on other pages."""
        plain = _unquoted(body)
        at = plain.find(b"/K[") + 3
        if at < 3:
            return body
        end = plain.index(b"]", at)
        own = _PAGE_OF.search(plain, end)
        here = own is not None and int(own[1]) in pages
        kept = []
        for kid in _KID.findall(plain[at:end]):
            if kid.startswith(b"<<"):
                stays = any(int(p) in pages for p in _PAGE_OF.findall(kid))
            else:
                stays = int(kid[:-4]) in keep if kid.endswith(b"R") else here
            if stays:
                kept.append(kid)
        return body[:at] + b" ".join(kept) + body[end:]

    def _bookmarks(self, pages: Collection[int]) -> dict[int, bytes]:
        """Bookmarks that lead to these pages, with all that is below them."""
        chain = self._below(self.outlines)
        mine = [n for n in chain if all(self._leads(m) in pages for m in self._all(n))]
        out: dict[int, bytes] = {}
        for before, number, after in zip([0, *mine], mine, [*mine[1:], 0], strict=False):
            body = re.sub(rb"/(?:Next|Prev) \d+ 0 R", b"", self.objects[number].partition(b"/Title")[0])
            ends = b"".join(b"/%s %d 0 R" % (k, n) for k, n in ((b"Next", after), (b"Prev", before)) if n)
            out[number] = body + ends + b"".join(self.objects[number].partition(b"/Title")[1:])
            out |= {n: self.objects[n] for n in self._all(number) if n != number}
        if mine:
            out |= {n: self.objects[n] for n in (_number(b"/Dest ", body) for body in list(out.values()))}
            out[self.outlines] = b"<</Type/Outlines/First %d 0 R/Last %d 0 R/Count %d>>" % (
                mine[0], mine[-1], len(mine),
            )  # fmt: skip
        return out

    def _below(self, number: int) -> list[int]:
        """The bookmarks right below one, in order."""
        head = self.objects[number].partition(b"/Title")[0]
        found = []
        following = _number(b"/First ", head) if b"/First " in head else 0
        while following:
            found.append(following)
            head = self.objects[following].partition(b"/Title")[0]
            following = _number(b"/Next ", head) if b"/Next " in head else 0
        return found

    def _all(self, number: int) -> list[int]:
        """A bookmark and all below it."""
        return [number, *(m for n in self._below(number) for m in self._all(n))]

    def _leads(self, number: int) -> int:
        """The page that a bookmark leads to."""
        body = self.objects[number]
        return _number(b"[", self.objects[_number(b"/Dest ", body[body.rindex(b"/Dest ") :])])

    def _written(self, out: Mapping[int, bytes]) -> bytes:
        """Objects as a file."""
        made = [b"%PDF-1.7\n%\x80\x80\x80\x80\n\n"]
        numbers = sorted(out)
        at = {}
        length = len(made[0])
        for number in numbers:
            at[number] = length
            made.append(b"%d 0 obj\n%s\nendobj\n\n" % (number, out[number]))
            length += len(made[-1])
        made.append(b"xref\n0 1\n0000000000 65535 f\r\n")
        starts = [n for before, n in pairwise([0, *numbers]) if n != before + 1 or before == 0]
        for start, end in pairwise([*starts, self.size + 1]):
            run = [n for n in range(start, end) if n in at]
            made.append(b"%d %d\n%s" % (start, len(run), b"".join(b"%010d 00000 n\r\n" % at[n] for n in run)))
        name = b64encode(hashlib.sha256(b"".join(made)).digest()[:16])
        made.append(b"trailer\n<</Size %d/Root %d 0 R/Info %d 0 R/ID[(%s)(%s)]>>\nstartxref\n%d\n%%%%EOF" % (
            self.size, self.root, self.info, name, name, length,
        ))  # fmt: skip
        return b"".join(made)


def _objects(pdf: bytes) -> tuple[dict[int, bytes], bytes]:
    """The objects of a PDF by number, and its trailer."""
    start = _number(b"startxref\n", pdf[pdf.rindex(b"startxref") :])
    lines = pdf[start : pdf.index(b"trailer", start)].split(b"\n", 2)
    if lines[0] != b"xref" or not lines[1].startswith(b"0 "):
        raise ValueError("no plain table of objects")
    at = [int(line[:10]) for line in lines[2].split(b"\n") if line.rstrip().endswith(b" n")]
    out = {}
    for begin, end in pairwise([*sorted(at), start]):
        number, _, body = pdf[begin:end].rstrip(b"\n").removesuffix(b"\nendobj").partition(b" 0 obj\n")
        out[int(number)] = body
    return out, pdf[pdf.index(b"trailer", start) :]


def _number(after: bytes, text: bytes) -> int:
    at = text.find(after)
    found = re.compile(rb"\d+").match(text, at + len(after)) if at >= 0 else None
    if found is None:
        raise ValueError(f"no {after.decode()} in the PDF")
    return int(found[0])


def _numbers(text: bytes) -> list[int]:
    return [int(n) for n in _REF.findall(text)]


def _array(text: bytes, opening: bytes) -> bytes:
    begin = text.index(opening) + len(opening)
    return text[begin : text.index(b"]", begin)]


def _refs(numbers: Iterable[int]) -> bytes:
    return b" ".join(b"%d 0 R" % n for n in numbers)


def _unquoted(body: bytes) -> bytes:
    """The same with its texts blanked, each as long as it was."""
    while b"(" in body:
        shorter = _STRING.sub(lambda m: b"." * len(m[0]), body)
        if shorter == body:
            break
        body = shorter
    return body
