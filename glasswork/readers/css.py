"""The cascade: presentation attributes, style sheets and style attributes of an SVG element."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import lru_cache
from typing import Any
from xml.etree.ElementTree import Element

from glasswork.errors import ReadError

_STROKE = ("width", "opacity", "linecap", "linejoin", "miterlimit", "dasharray", "dashoffset")
INHERITED = frozenset(
    {"color", "visibility", "fill", "fill-opacity", "fill-rule", "clip-rule", "stroke"}
).union(f"stroke-{part}" for part in _STROKE)
OWN = frozenset(
    {"display", "opacity", "clip-path", "mask", "stop-color", "stop-opacity", "transform"}
).union(("vector-effect", "overflow"))
KNOWN = INHERITED | OWN

Rules = dict[Element, list[tuple[tuple[Any, ...], str, str]]]


@lru_cache(maxsize=4096)
def parse_style(text: str) -> tuple[tuple[str, str], ...]:
    """The declarations of a style attribute that matter here, later ones last."""
    found = []
    for declaration in text.split(";"):
        name, colon, value = declaration.partition(":")
        name = name.strip().lower()
        if colon and name in KNOWN:
            found.append((name, value.replace("!important", "").strip()))
    return tuple(found)


class Sheets:
    """The style elements of one drawing, matched against its elements.

    where : the file, for faults
    Raises: ReadError, if a sheet imports another file
    """

    def __init__(self, root: Element, texts: Iterable[str], *, where: str) -> None:
        self._matched: Rules = {}
        texts = [text for text in texts if text.strip()]
        if texts:
            self._match(root, texts, where)

    def _match(self, root: Element, texts: list[str], where: str) -> None:
        import cssselect2
        import tinycss2

        matcher = cssselect2.Matcher()
        order = 0
        for text in texts:
            for rule in tinycss2.parse_stylesheet(text, skip_comments=True, skip_whitespace=True):
                if rule.type == "at-rule" and rule.lower_at_keyword == "import":
                    raise ReadError(
                        where, "its style sheet imports another file", "paste the styles into it"
                    )
                if rule.type != "qualified-rule":
                    continue
                order += 1
                declared = _declared(rule.content)
                if not declared:
                    continue
                try:
                    selectors = cssselect2.compile_selector_list(rule.prelude)
                except cssselect2.SelectorError:
                    continue
                for selector in selectors:
                    if selector.pseudo_element is None:
                        matcher.add_selector(selector, (order, declared))
        for node in cssselect2.ElementWrapper.from_xml_root(root).iter_subtree():
            matches = matcher.match(node)
            if not matches:
                continue
            weighed = [
                ((important, specificity, order), name, value)
                for specificity, _, _, (order, declared) in matches
                for name, value, important in declared
            ]
            weighed.sort(key=lambda item: item[0])
            self._matched[node.etree_element] = weighed

    def style_of(self, element: Element) -> dict[str, str]:
        """What the element itself declares, the weightiest declaration of each property."""
        attributes: Mapping[str, str] = element.attrib
        found = {name: attributes[name] for name in attributes if name in KNOWN}
        matched = self._matched.get(element, ())
        for weight, name, value in matched:
            if not weight[0]:
                found[name] = value
        inline = attributes.get("style")
        if inline:
            found.update(parse_style(inline))
        for weight, name, value in matched:
            if weight[0]:
                found[name] = value
        return found


def _declared(content: Any) -> list[tuple[str, str, bool]]:
    import tinycss2

    found = []
    for item in tinycss2.parse_blocks_contents(content, skip_comments=True, skip_whitespace=True):
        if item.type == "declaration" and item.lower_name in KNOWN:
            value = tinycss2.serialize(item.value).strip()
            found.append((item.lower_name, value, bool(item.important)))
    return found
