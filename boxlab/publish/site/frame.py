"""What stands round every page: head, way back, contents, and the style and script inside it."""

from __future__ import annotations

from functools import cache
from pathlib import Path, PurePosixPath

from boxlab.publish.site.links import PICTURES, between, place
from boxlab.publish.site.marks import fragment
from boxlab.publish.site.pages import Page
from boxlab.publish.site.questions import files_of_the_stage

HERE = Path(__file__).parent
GENERATOR = '<meta name="generator" content="boxlab">'
FRONT = PurePosixPath("index.html")
START = PurePosixPath("README.md")
SHARED = ("site.css", "site.js", "stage.css", "stage.js")
HOW = "open-the-lessons"  # the heading there that says how to run them


@cache
def template(name: str):
    """A template of the site; what is put into it is escaped unless marked as HTML."""
    import jinja2

    environment = jinja2.Environment(
        loader=jinja2.FileSystemLoader(HERE),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    environment.filters["fragment"] = fragment
    return environment.get_template(name)


def shared_files() -> dict[PurePosixPath, str]:
    """Style and script that all pages load."""
    own = {
        PurePosixPath(name): (HERE / name).read_text(encoding="utf-8")
        for name in ("site.css", "site.js")
    }
    return own | files_of_the_stage()


class Frame:
    """Puts the pages of a `Site` into the site's frame."""

    def __init__(self, site):
        self.site = site

    def page(self, name: PurePosixPath, page: Page, body: str) -> str:
        """The page of the repository's file `name`, whose HTML is `body`."""
        here = place(name)
        row = self.site.lessons
        at = row.index(name) if name in row else None
        before = row[at - 1] if at else None
        after = row[at + 1] if at is not None and at + 1 < len(row) else None

        def neighbour(other):
            return other and (between(here, place(other)), self.site.pages[other].title)

        return self._filled(
            here,
            page.title,
            body,
            contents=[each for each in page.headings if each.level in (2, 3)],
            notebook=name.name if name.suffix == ".ipynb" else "",
            before=neighbour(before),
            after=neighbour(after),
        )

    def plain(self, here: PurePosixPath, title: str, body: str, **more) -> str:
        """A page of the site's own; `more` is what its head says of it, see the template."""
        return self._filled(here, title, body, **more)

    def _filled(
        self, here, title, body, contents=(), notebook="", before=None, after=None,
        description="", picture="",
    ):  # fmt: skip
        return template("frame.html.j2").render(
            title=title if here == FRONT else f"{title} · boxlab",
            generator=GENERATOR,
            body=body,
            contents=contents,
            notebook=notebook,
            start=self.site.start(here),
            before=before,
            after=after,
            front=between(here, FRONT),
            pictures=between(here, place(PICTURES)),
            description=description,
            picture=picture,
            stage="data-stage=" in body,
            files={name: between(here, PurePosixPath(name)) for name in SHARED},
        )
