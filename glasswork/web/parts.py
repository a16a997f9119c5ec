"""The page's own small parts: plain HTML elements, so that keys and screen readers know them."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any, Final

from nicegui import ui
from nicegui.elements.mixins.text_element import TextElement

from glasswork.model.finding import Finding
from glasswork.web.sketch import grouped

_WORDS: Final = {"decision": "Decide: ", "warning": "Look: ", "note": ""}


def tag(name: str, text: str = "", /, **attributes: Any) -> TextElement:
    """An HTML element. `cls` gives its classes; an underscore in a name stands for a hyphen."""
    element = TextElement(tag=name, text=text)
    classes = attributes.pop("cls", "")
    if classes:
        element.classes(classes)
    for key, value in attributes.items():
        if value is not None and value is not False:
            element.props[key.strip("_").replace("_", "-")] = "" if value is True else value
    return element


def button(text: str, action: Callable[[], Any], /, **attributes: Any) -> TextElement:
    """A native button."""
    cls = f"btn {attributes.pop('cls', '')}".strip()
    element = tag("button", text, type="button", cls=cls, **attributes)
    element.on("click", action, args=[])
    return element


def link(text: str, href: str, /, **attributes: Any) -> TextElement:
    """A native link."""
    return tag("a", text, href=href, **attributes)


def choice(
    label: str,
    options: Mapping[str, str],
    value: str,
    action: Callable[[str], Any],
    /,
    **attributes: Any,
) -> TextElement:
    """A labelled native list. options : value → words"""
    with tag("label", cls="field"):
        tag("span", label)
        select = tag("select", **attributes)
        with select:
            for key, words in options.items():
                tag("option", words, value=key, selected=key == value)
    select.on(
        "change", lambda event: action(str(event.args)), js_handler="(e) => emit(e.target.value)"
    )
    return select


def entry(
    label: str, value: str, action: Callable[[str], Any], /, *, hint: str = "", **attributes: Any
) -> TextElement:
    """A labelled native text field; `action` gets what was entered.

    Its first content is a default: what is typed is never set back when the page is drawn again.
    """
    with tag("label", cls="field"):
        tag("span", label)
        field = tag("input", defaultValue=value, autocomplete="off", **attributes)
        if hint:
            tag("small", hint)
    field.on(
        "change", lambda event: action(str(event.args)), js_handler="(e) => emit(e.target.value)"
    )
    return field


def upload(label: str, name: str, to: str, /, *, accept: str, with_: str | None = None) -> None:
    """A labelled choice of a file that is sent at once, and a line for what is said of it.

    name : of its elements: up-NAME and said-NAME; to : the address that takes it
    with_ : id of a list whose value goes with the file, as the list's name
    """
    tag("label", label, for_=f"up-{name}")
    tag(
        "input",
        type="file",
        id=f"up-{name}",
        accept=accept,
        data_to=to,
        data_says=f"said-{name}",
        data_with=with_,
    )
    tag("p", "", id=f"said-{name}", role="status", cls="soft")


def picture(svg: str, /, **attributes: Any) -> ui.html:
    """Our own SVG, as it is."""
    element = ui.html(svg, sanitize=False)
    element.classes(attributes.pop("cls", "picture"))
    return element


def findings_list(findings: Sequence[Finding], *, empty: str) -> None:
    """Findings with their numbers, those of a kind together, worst first."""
    groups = grouped(findings)
    if not groups:
        tag("p", empty, cls="calm")
        return
    with tag("ol", cls="findings", tabindex="0", aria_label="Findings"):
        for group in groups:
            with tag("li", cls=group.severity):
                tag("strong", _WORDS[group.severity])
                if place := _place(group.where):
                    tag("span", f"{place}: ", cls="places")
                tag("span", group.what)
                if group.count > 1:
                    tag("span", f" ({group.count} times)", cls="places")
                if group.hint:
                    tag("small", group.hint)


def _place(where: str) -> str:
    """Where a finding is, without the name of the drawing."""
    file, _, inside = where.partition(", ")
    return inside if "." in file else where


def fault(text: str) -> None:
    """What went wrong, said where it happened."""
    with tag("div", cls="fault", role="alert"):
        for line in text.splitlines():
            tag("p", line)


def say(text: str) -> None:
    """Tell it in the page's status line, which screen readers read aloud."""
    import json

    ui.run_javascript(f"bench.say({json.dumps(text)})")
