"""The documents as a site: `sphinx-build -W docs build/site`, with the extra `docs`.

The pages stay plain Markdown that reads well without a site. What only a site has is added while it is built: the
contents beside each page, the pictures of the tutorial, the table of `flipcheck validate`, the table of keys, and what
is said of each example of an error.
"""

from __future__ import annotations

import posixpath
import re
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import flipcheck

if TYPE_CHECKING:
    from sphinx.application import Sphinx

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE / "site"))

project = "flipcheck"
release = version = flipcheck.__version__
html_title = f"flipcheck {release}"

extensions = ["myst_parser"]
root_doc = "docs/index"
include_patterns = ["README.md", "DEVELOPERS.md", "docs/**.md", "studies/*/README.md"]
exclude_patterns = [".*", "build", "dist", "flipcheck", "tests", "docs/tutorial/made"]
myst_heading_anchors = 3
# The page of errors shows files that are wrong on purpose.
suppress_warnings = ["misc.highlighting_failure"]
highlight_language = "none"
smartquotes = False

html_theme = "alabaster"
html_theme_options = {
    "description": "Will the two faces line up? Ask before you cut.",
    "page_width": "1120px",
    "sidebar_width": "250px",
    "show_powered_by": False,
}
html_sidebars = {"**": ["about.html", "searchfield.html", "navigation.html", "localtoc.html"]}
html_static_path = ["site/look.css"]
html_css_files = ["look.css"]
html_additional_pages = {"index": "to-the-map.html"}
templates_path = ["site"]
html_show_copyright = False
html_show_sourcelink = False
html_copy_source = False

#: A link of the map: its text, and the page without its ending.
LINK = re.compile(r"\[([^\]]+)\]\(([^)#]+)\.md\)")

#: Where a page has what `flipcheck validate` says.
VALIDATED = "<!-- what `flipcheck validate` says -->"
#: Where a page has the table of keys.
KEYS = "<!-- every key of the records -->"


def setup(app: Sphinx) -> None:
    """Build from the whole project, so that links of a page lead to the README and to the studies as they stand."""
    app.srcdir = HERE.parent
    app.connect("builder-inited", make_pictures)
    app.connect("source-read", complete)


def make_pictures(app: Sphinx) -> None:
    """Do what the tutorial says, and keep what comes of it beside the page."""
    import pictures

    pictures.make(app.srcdir / "docs" / "tutorial" / "first-part.md")


def complete(_: Sphinx, name: str, source: list[str]) -> None:
    """Add to a page what only the site has."""
    if name == root_doc:
        source[0] += contents(source[0])
    elif name == "docs/reference/errors":
        import messages

        source[0] = one_title(messages.with_messages(source[0]))
    elif KEYS in source[0]:
        import keys

        source[0] = source[0].replace(KEYS, keys.table())
    elif VALIDATED in source[0]:
        from flipcheck.decide.validation.validation import run_checks
        from flipcheck.show.validation_text import validation_to_text

        source[0] = source[0].replace(VALIDATED, f"```text\n{validation_to_text(run_checks())}```")


def contents(text: str) -> str:
    """The map as the contents beside each page: its headings, and its names of the pages in its order."""
    made = ""
    for part in text.split("\n## "):
        caption = "Begin" if part.startswith("#") else part.split("\n", 1)[0]
        pages = "\n".join(f"{name} <{posixpath.normpath(f'/docs/{page}')}>" for name, page in LINK.findall(part))
        made += f"\n```{{toctree}}\n:hidden:\n:titlesonly:\n:caption: {caption}\n\n{pages}\n```\n"
    return made


def one_title(text: str) -> str:
    """The page with every heading but its title one level lower: the contents name a page once."""
    title, *parts = re.split(r"(?ms)(^```.*?^```$)", text)
    head, rest = title.split("\n", 1)
    parts = [part if part.startswith("```") else re.sub(r"(?m)^#", "##", part) for part in (rest, *parts)]
    return "".join([head, "\n", *parts])
