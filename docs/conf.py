"""Builds the pages of this folder as a site: ``sphinx-build -W docs build/docs``."""

from importlib import metadata

project = "routecut"
version = release = metadata.version("routecut")
copyright = ""  # noqa: A001 - Sphinx names it so
html_show_copyright = False

extensions = ["myst_parser", "sphinx.ext.autodoc", "sphinx.ext.napoleon"]
# The pages read as plain Markdown too, in the tree: no directives in them but in index.md and library.md.
source_suffix = {".md": "markdown"}
exclude_patterns = ["images"]
myst_heading_anchors = 3  # links to headings work as they do where Markdown is shown

autodoc_member_order = "bysource"
autodoc_typehints = "none"  # the docstrings say them, with shapes and units
napoleon_google_docstring = False

html_theme = "furo"
html_title = f"routecut {release}"
html_copy_source = False
html_show_sphinx = False
