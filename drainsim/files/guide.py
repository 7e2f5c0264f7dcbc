"""The manual that comes with drainsim: one Markdown page per job."""

import re
from importlib import resources

from drainsim.errors import DrainsimError
from drainsim.files.reading import nearest

_MARK = re.compile(r"^<!-- .*? -->\n", re.M)  # tells the tests what to run; not for readers


def guide_pages() -> dict[str, str]:
    """Return the title of every page by its name, in alphabetical order."""
    folder = resources.files("drainsim").joinpath("guide")
    names = sorted(entry.name for entry in folder.iterdir() if entry.name.endswith(".md"))
    return {
        name.removesuffix(".md"): folder.joinpath(name)
        .read_text("utf-8")
        .split("\n", 1)[0]
        .removeprefix("# ")
        for name in names
    }


def guide_text(name: str) -> str:
    """Return a page as Markdown.

    Raises
    ------
    DrainsimError
        If there is no such page; names the nearest.
    """
    pages = guide_pages()
    if name not in pages:
        raise DrainsimError(f"guide {name!r}: no such page; {nearest(name, pages)}")
    text = resources.files("drainsim").joinpath("guide", f"{name}.md").read_text("utf-8")
    return _MARK.sub("", text)
