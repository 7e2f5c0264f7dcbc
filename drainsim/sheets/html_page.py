"""Printable HTML pages: no script, nothing fetched, every text escaped by the template."""

from functools import cache
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup as Markup


def page(template: str, *, title: str, language: str = "en", **values: Any) -> str:
    """Return a page of `sheets/templates` filled in.

    Parameters
    ----------
    template : str
        File name of the template.
    title : str
        Of the document.
    language : str
        Code of the page's language.
    **values
        What the template names; a missing one is an error.
    """
    found = _environment().get_template(template)
    return found.render(title=title, language=language, **values) + "\n"


@cache
def _environment() -> Environment:
    return Environment(
        loader=PackageLoader("drainsim.sheets"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
