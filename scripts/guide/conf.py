"""How Sphinx builds the guide: chapters in Markdown, what the code states put in where a chapter asks for it.

    sphinx-build -c scripts/guide addon/dryfit/guide/chapters OUT

``scripts/build_guide.py`` does that, with the tools it takes, and puts the pages where ``dryfit guide`` looks.
"""

import re
import sys
from pathlib import Path
from typing import Any

HERE = Path(__file__).resolve().parent
sys.path[:0] = [str(HERE), str(HERE.parent), str(HERE.parents[1] / "addon")]
import jinja2
import written
from docutils import nodes
from sphinx import addnodes

from dryfit.model.version import VERSION
from dryfit.report import palette

project = "Dryfit"
author = "The Dryfit developers"
project_copyright = "The Dryfit developers"
version = release = VERSION
extensions = ["myst_parser", "sphinx.ext.autodoc", "sphinx.ext.napoleon"]
myst_enable_extensions = ["deflist", "colon_fence"]
myst_heading_anchors = 3
nitpicky = False
templates_path = [str(HERE / "templates")]
PALETTE = HERE.parents[1] / "addon/dryfit/batch/templates/palette.css"
html_context = {"palette": jinja2.Template(PALETTE.read_text(encoding="utf-8")).render(palette=palette)}
html_theme = "basic"
html_title = "Dryfit: the guide"
html_static_path = [str(HERE / "guide.css")]
html_css_files = ["guide.css"]
html_sidebars = {"**": ["globaltoc.html", "searchbox.html"]}
html_copy_source = False
html_show_search_summary = False  # it would ask for pages by name, which a browser refuses for files
html_domain_indices = False
html_use_index = False
html_show_copyright = False
html_permalinks_icon = "#"
pygments_style = "friendly"
smartquotes_action = "D"
language = "en"
add_module_names = False
autodoc_member_order = "bysource"
autodoc_typehints_format = "short"
autodoc_class_signature = "separated"
autodoc_default_options = {"exclude-members": "__init__, __new__"}
python_maximum_signature_line_length = 76
napoleon_google_docstring = False
napoleon_use_rtype = False
napoleon_use_ivar = True


def setup(app: Any) -> None:
    """Put what the code states into the chapters as they are read."""
    app.connect("source-read", _fill)
    app.connect("autodoc-process-signature", _shorten_signature)
    app.connect("autodoc-process-docstring", _shorten_types, 900)  # after numpydoc's sections were read
    app.connect("doctree-read", _shorten_annotations)


def _fill(_app: Any, _chapter: str, source: list[str]) -> None:
    source[0] = written.filled(source[0])


ALIASES = (
    (r"~?numpy\._typing\S*?ArrayLike|_Buffer \| .*?_NestedSequence\[[^,=]*?\](?=[,)]| =)", "ArrayLike"),
    (r"~?(?:numpy\.)?ndarray\[.*?dtype\[~?(?:numpy\.)?(\w+)(?:\[Any\])?\]\]", r"array of \1"),
    (r"\b(?:[a-z_]+\.)+(?=[A-Z])", ""),
)
"""How types are spelt out where the code, and a reader, have a short name for them."""


def _shorten_signature(*said: Any) -> tuple[str | None, str | None]:
    signature, answer = said[-2:]
    return _short(signature), _short(answer)


def _shorten_types(*said: Any) -> None:
    lines = said[-1]
    lines[:] = [_short(line) if line.startswith(":vartype ") else line for line in lines]


def _shorten_annotations(_app: Any, doctree: nodes.document) -> None:
    for node in doctree.findall(addnodes.desc_annotation):
        if "ndarray[" in node.astext():
            node.children = [nodes.Text(_short(node.astext()) or "")]


def _short(words: str | None) -> str | None:
    for spelt, name in ALIASES if words else ():
        words = re.sub(spelt, name, words or "")
    return words
