"""HTML built from elements, where every plain text is escaped because nothing else can be.

A template library does the same with templates; this one costs no import and its use is checked by
the type checker. Only :class:`Markup` goes into a page as it is, and only this module makes it.
"""

from __future__ import annotations

import html
from typing import TypeAlias

from camgen.signs import shown

__all__ = ["Child", "Markup", "element", "html_page", "join"]

# Elements that have no end tag (HTML Living Standard, void elements).
_VOID = frozenset({"br", "hr", "img", "input", "meta", "link"})


class Markup(str):
    """A piece of HTML that is already right."""

    __slots__ = ()


Child: TypeAlias = "str | Markup | None"


def _escaped(child: Child) -> str:
    if child is None:
        return ""
    return str(child) if isinstance(child, Markup) else html.escape(shown(child), quote=True)


def join(*children: Child) -> Markup:
    """Children one after the other; plain texts are escaped.

    >>> join("a < b", element("br"))
    'a &lt; b<br>'
    """
    return Markup("".join(_escaped(child) for child in children))


def element(tag: str, *children: Child, **attributes: str | None) -> Markup:
    """One element. ``class_`` stands for the attribute ``class``; None leaves an attribute out.

    >>> element("p", "5 > 4 & true", class_="note")
    '<p class="note">5 &gt; 4 &amp; true</p>'
    """
    words = "".join(f' {name.rstrip("_").replace("_", "-")}="{_escaped(value)}"'
                    for name, value in attributes.items() if value is not None)
    if tag in _VOID:
        return Markup(f"<{tag}{words}>")
    return Markup(f"<{tag}{words}>{join(*children)}</{tag}>")


def html_page(language: str, title: str, style: str, body: Markup) -> str:
    """A whole document with its style inside and nothing fetched from anywhere.

    ``style`` must be the program's own text: it is not escaped.
    """
    policy = "default-src 'none'; style-src 'unsafe-inline'; img-src data:"
    head = join(
        element("meta", charset="utf-8"),
        Markup(f'<meta http-equiv="Content-Security-Policy" content="{policy}">'),
        element("meta", name="viewport", content="width=device-width, initial-scale=1"),
        element("title", title),
        Markup(f"<style>{style}</style>"),
    )
    return f"<!DOCTYPE html>\n<html lang=\"{html.escape(language)}\"><head>{head}</head>\n" \
           f"<body>{body}</body></html>\n"
