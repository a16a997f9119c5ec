"""The XML of an SVG, parsed safely: no entity bombs, no outside references, no endless depth."""

from __future__ import annotations

import gzip
import io
import re
import zlib
from xml.etree import ElementTree
from xml.etree.ElementTree import Element

from glasswork.errors import ReadError

MOST_BYTES = 256 * 1024 * 1024
DEEPEST = 1000
_PLAIN = re.compile(
    rb"""\A\s*<\?xml[^>]*?encoding\s*=\s*["'](utf-8|us-ascii|iso-8859-1)["']""", re.IGNORECASE
)
_ENTITY = re.compile(r"""<!ENTITY\s+([\w.-]+)\s+(?:"([^"<&%]{0,300})"|'([^'<&%]{0,300})')\s*>""")
_ANY_ENTITY = re.compile(r"<!ENTITY")
_DOCTYPE = re.compile(r"<!DOCTYPE[^\[>]*(\[.*?\])?\s*>", re.DOTALL)
_LABEL = "{http://www.inkscape.org/namespaces/inkscape}label"
_NAMING = frozenset(("id", "class", _LABEL))
_HREF = "{http://www.w3.org/1999/xlink}href"


def local(element: Element) -> str:
    """The element's name without its namespace; "" for comments and foreign elements."""
    tag = element.tag
    if not isinstance(tag, str):
        return ""
    if tag.startswith("{http://www.w3.org/2000/svg}"):
        return tag[28:]
    return "" if tag.startswith("{") else tag


def href(element: Element) -> str:
    """What a use, image or gradient refers to."""
    return (element.get("href") or element.get(_HREF) or "").strip()


def label_of(element: Element) -> tuple[str, ...]:
    """Names by which a roles map may speak of the element: id, classes, layer label."""
    given = element.attrib
    if not given.keys() & _NAMING:
        return ()
    get = given.get
    names = (get("id", ""), *get("class", "").split(), get(_LABEL, ""))
    return tuple(name for name in names if name)


def parse_tree(data: bytes, *, name: str) -> tuple[Element, list[str], dict[str, Element]]:
    """The root, the texts of its style elements, and its elements by id.

    Raises: ReadError, if the bytes are no SVG or would do harm
    """
    data = _unpacked(data, name)
    if not data.strip():
        raise ReadError(name, "the file is empty", "save the drawing again")
    root = _parsed(data, name)
    if local(root) != "svg":
        raise ReadError(name, f"its root is <{root.tag}>, not <svg>", "give an SVG drawing")
    styles: list[str] = []
    by_id: dict[str, Element] = {}
    for element in root.iter():
        if (found := element.get("id")) is not None:
            by_id.setdefault(found, element)
        if local(element) == "style":
            styles.append("".join(element.itertext()))
    return root, styles, by_id


def _unpacked(data: bytes, name: str) -> bytes:
    """The bytes of a gzipped drawing (svgz) unpacked, with a limit."""
    if data[:2] == b"\x1f\x8b":
        try:
            with gzip.GzipFile(fileobj=io.BytesIO(data)) as packed:
                data = packed.read(MOST_BYTES + 1)
        except (OSError, EOFError, zlib.error) as exc:
            raise ReadError(name, f"it cannot be unpacked: {exc}", "save it again") from exc
    if len(data) > MOST_BYTES:
        limit = MOST_BYTES // 2**20
        raise ReadError(name, f"it holds more than {limit} MB", "leave only the line art")
    return data


class _Shallow(ElementTree.TreeBuilder):
    """Builds the tree, but no deeper than the limit."""

    depth = 0

    def start(self, tag: str, attrs: dict[str, str], /) -> Element:
        self.depth += 1
        if self.depth > DEEPEST:
            raise RecursionError
        return super().start(tag, attrs)

    def end(self, tag: str, /) -> Element:
        self.depth -= 1
        return super().end(tag)


def _parsed(data: bytes, name: str) -> Element:
    from defusedxml import DefusedXmlException
    from defusedxml.ElementTree import DefusedXMLParser

    try:
        if _is_plain(data):
            return ElementTree.fromstring(data, ElementTree.XMLParser(target=_Shallow()))
        data = _entities_in_place(data)
        parser = DefusedXMLParser(target=_Shallow())
        parser.feed(data)
        root = parser.close()
        assert isinstance(root, Element)
        return root
    except DefusedXmlException as exc:
        raise ReadError(
            name,
            "it declares entities that could swell or reach outside",
            "save it as plain SVG",
        ) from exc
    except RecursionError as exc:
        raise ReadError(
            name, f"elements lie deeper than {DEEPEST} levels", "ungroup the drawing"
        ) from exc
    except (ElementTree.ParseError, ValueError, LookupError) as exc:
        raise ReadError(name, f"it is not well-formed XML: {exc}", "save it again") from exc


def _is_plain(data: bytes) -> bool:
    """No document type can hide in it, so the fast parser is safe."""
    if b"\0" in data[:64] or b"<!DOCTYPE" in data or b"<!ENTITY" in data:
        return False
    head = data[:200].removeprefix(b"\xef\xbb\xbf")
    return b"encoding" not in head.split(b"?>")[0] or bool(_PLAIN.match(head))


def _entities_in_place(data: bytes) -> bytes:
    """Short plain entities (drawing programs declare namespaces so) replaced by their text.

    Anything else is left for the parser to refuse.
    """
    head = data[:65536]
    if b"<!ENTITY" not in head or b"\0" in head[:64]:
        return data
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError:
        text = data.decode("iso-8859-1")
    doctype = _DOCTYPE.search(text)
    if doctype is None:
        return data
    found = _ENTITY.findall(doctype.group(0))
    if len(found) > 100 or len(found) != len(_ANY_ENTITY.findall(doctype.group(0))):
        return data
    text = text[: doctype.start()] + text[doctype.end() :]
    for entity, double, single in found:
        text = text.replace(f"&{entity};", double or single)
    return re.sub(r"\A\s*<\?xml[^>]*\?>", "", text).encode("utf-8")
