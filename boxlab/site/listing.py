"""The front page with its questions, and the page of pictures to paste."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path, PurePosixPath

from boxlab import pictures, posting, share
from boxlab.scene import Explainer
from boxlab.site.frame import START, template
from boxlab.site.links import PICTURES, between, place
from boxlab.site.marks import fragment, linked, page_id
from boxlab.site.pages import Page

LESSONS = PurePosixPath("lessons")


@dataclass(frozen=True)
class Question:
    """Something that people ask, and where it is answered."""

    text: str
    link: str
    where: str
    answer: str = ""


@dataclass(frozen=True)
class Site:
    """All pages, by their path in the repository, and all explainers."""

    pages: Mapping[PurePosixPath, Page]
    items: Sequence[Explainer]

    @cached_property
    def lessons(self) -> list[PurePosixPath]:
        """The lessons in their order."""
        return sorted(n for n in self.pages if n.parent == LESSONS and n.suffix == ".ipynb")

    @cached_property
    def shelves(self) -> dict[str, list[PurePosixPath]]:
        """What else lies in folders under lessons/: folder name -> pages."""
        shelves: dict[str, list[PurePosixPath]] = {}
        for name in sorted(self.pages):
            if LESSONS in name.parents and name not in self.lessons:
                shelf = name.parent.name if name.parent != LESSONS else "more"
                shelves.setdefault(shelf.replace("-", " ").capitalize(), []).append(name)
        return shelves

    @property
    def shown(self) -> list[PurePosixPath]:
        """The lessons, then what lies on the shelves."""
        return [*self.lessons, *(name for shelf in self.shelves.values() for name in shelf)]

    def answered(self, item: Explainer) -> tuple[PurePosixPath, str] | None:
        """The page and anchor where an explainer stands, if its lesson is there."""
        name = LESSONS / item.lesson
        if not item.lesson or name not in self.pages:
            return None
        return name, item.anchor if item.anchor in self.pages[name].anchors else ""

    def link(self, here: PurePosixPath, name: PurePosixPath, anchor: str = "") -> str:
        """A link from the site's file `here` to a page of the repository."""
        return between(here, place(name)) + (f"#{fragment(anchor)}" if anchor else "")

    def questions(self, here: PurePosixPath) -> list[Question]:
        """What the explainers answer, then the headings that ask something else."""
        asked = []
        for item in self.items:
            name, anchor = self.answered(item) or (PICTURES, page_id(item.question))
            where = self.pages[name].title if name in self.pages else "Pictures"
            asked.append(Question(item.question, self.link(here, name, anchor), where, item.answer))
        known = {each.text for each in asked}
        for name in self.lessons:
            page = self.pages[name]
            for each in page.headings:
                if each.text.endswith("?") and each.text not in known:
                    known.add(each.text)
                    asked.append(Question(each.text, self.link(here, name, each.id), page.title))
        return asked


def front(site: Site) -> str:
    """The front page's HTML."""
    here = PurePosixPath("index.html")
    return template("front.html.j2").render(
        site=site,
        here=here,
        questions=site.questions(here),
        start=site.link(here, START) if START in site.pages else "",
        pictures=site.link(here, PICTURES),
    )


def gallery(site: Site, root: Path, folder: Path, say) -> tuple[str, set[str]]:
    """The page of pictures, and its anchors; the picture files go to `folder`.

    A picture that is not kept in the repository is drawn, which takes a second or two.
    """
    here = place(PICTURES)
    folder.mkdir(parents=True, exist_ok=True)
    shown, anchors = [], set()
    for item in site.items:
        scene = item()
        for kind in ("svg", "png"):
            kept = root / PICTURES.parent / f"{item.name}.{kind}"
            data = kept.read_bytes() if kept.is_file() else pictures.render(scene, kind)
            (folder / kept.name).write_bytes(data)
            if not kept.is_file():
                say(f"drew {kept.name}")
        answered = site.answered(item)
        anchor = page_id(item.question)
        anchors |= {anchor, item.name}
        shown.append(
            {
                "item": item,
                "scene": scene,
                "heading": linked(share.safe(item.question), item.question, 2, anchor),
                "lesson": site.link(here, *answered) if answered else "",
                "title": site.pages[answered[0]].title if answered else "",
                "paste": f"![{scene.alt}]({item.name}.png)\n\n*{scene.caption}*",
                "markdown": posting.paragraph(item, item.start, scene, markdown=True),
                "plain": posting.paragraph(item, item.start, scene),
            }
        )
    return template("gallery.html.j2").render(shown=shown), anchors
