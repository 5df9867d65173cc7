"""How is a handover read where there is no desk, no program and no signal?

As one plain page of HTML without a script, that any browser opens from a stick or a telephone, and the same as JSON.
What to do in an emergency stands first; files of the archive are linked by their names in it.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from html import escape

from loomwright.handover.handed_over import HandedOver
from loomwright.handover.lists import PackList
from loomwright.writers.kept_units import kept_together

__all__ = ["COPY_CSS", "copy_html", "copy_json"]

COPY_CSS = """:root { color-scheme: light dark; }
body { font: 1rem/1.45 "Source Sans 3", system-ui, sans-serif; margin: 1rem auto; max-width: 60rem; padding: 0 1rem; }
h1, h2 { line-height: 1.2; }
h2 { border-bottom: 2px solid; margin-top: 2rem; padding-bottom: .2rem; }
nav a { display: inline-block; min-height: 1.6rem; margin-right: 1rem; }
div { overflow-x: auto; }
table { border-collapse: collapse; width: 100%; }
th, td { border-bottom: 1px solid #8886; padding: .25rem .5rem .25rem 0; }
.long { overflow-wrap: anywhere; }
th, td { text-align: left; vertical-align: top; }
td:last-child, th:last-child { padding-right: 0; }
#emergency + div td { font-weight: 600; }
@media print { nav { display: none; } }
"""
"""The style sheet beside the page."""

_LONG_LETTERS = 24
"""A word longer than this is none [-]."""

_NONE: Mapping[str, str] = {
    "decided with the owner": "Nothing is written down as decided.",
    "baseline": "No test of this car has passed yet: there is nothing to hold a later reading against.",
    "engine numbers": "Too little is known of the engine for any.",
    "known limits": "None are known.",
    "changes": "The job brought no revisions along.",
    "controller files": "None were handed over: ask for the controller's own file before it is changed.",
}


def copy_html(handed: HandedOver, files: Mapping[str, str]) -> str:
    """The page.

    Args:
        handed: what it says.
        files: file of the archive, by its name there -> what it is.
    """
    title = escape(handed.title.title)
    words = [f"revision {handed.title.revision}" if handed.title.revision else "", handed.title.date]
    about = ", ".join(escape(word) for word in words if word)
    leads = "".join(f'<a href="#{_anchor(one.name)}">{escape(one.name)}</a> ' for one in handed.lists)
    links = "".join(
        f'<li><a href="{escape(name)}">{escape(name)}</a> {escape(is_)}</li>' for name, is_ in files.items()
    )
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8"><meta name="viewport" '
        f'content="width=device-width, initial-scale=1"><title>{title}: handover</title>'
        '<link rel="stylesheet" href="copy.css"></head>\n'
        f"<body><main><h1>{title}: handover</h1>\n<p>{about}</p>\n"
        f'<nav aria-label="Lists">{leads}<a href="#files">files</a></nav>\n'
        + "\n".join(_section(one) for one in handed.lists)
        + f'\n<h2 id="files">Files</h2>\n<ul>{links}</ul>\n</main></body></html>\n'
    )


def copy_json(handed: HandedOver) -> str:
    """The same as JSON: list -> rows, each heading -> cell."""
    told = {
        "title": handed.title.title,
        "revision": handed.title.revision,
        "date": handed.title.date,
        "code": handed.code,
        "lists": {one.name: [dict(zip(one.headings, row, strict=True)) for row in one.rows] for one in handed.lists},
    }
    return json.dumps(told, ensure_ascii=False, indent=1) + "\n"


def _section(one: PackList) -> str:
    heading = f'<h2 id="{_anchor(one.name)}">{escape(one.name.capitalize())}</h2>'
    if not one.rows:
        return f"{heading}\n<div><p>{escape(_NONE.get(one.name, 'None.'))}</p></div>"
    head = "".join(f'<th scope="col">{escape(word)}</th>' for word in one.headings)
    rows = "\n".join("<tr>" + "".join(f"<td>{_cell(cell)}</td>" for cell in row) + "</tr>" for row in one.rows)
    return f"{heading}\n<div><table><thead><tr>{head}</tr></thead><tbody>\n{rows}\n</tbody></table></div>"


def _cell(text: str) -> str:
    """The words of a cell: only what is longer than any word, such as a digest, may be broken within."""
    words = kept_together(text).split(" ")
    return " ".join(
        f'<span class="long">{escape(word)}</span>' if len(word) > _LONG_LETTERS else escape(word) for word in words
    )


def _anchor(name: str) -> str:
    return "".join(letter if letter.isalnum() else "-" for letter in name)
