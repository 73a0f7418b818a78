"""The front page with its questions, and the page of pictures to paste."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from io import BytesIO
from pathlib import Path, PurePosixPath

from boxlab.draw.scene import Explainer, Scene
from boxlab.panel import settings_text, share_text
from boxlab.publish import pictures, question_index
from boxlab.publish.site.frame import HOW, START, template
from boxlab.publish.site.links import PICTURES, between, place
from boxlab.publish.site.marks import fragment, linked, page_id
from boxlab.publish.site.pages import Page
from boxlab.publish.site.questions import page_of

LESSONS = PurePosixPath("lessons")
UP = ".."  # from the page of pictures to the rest of the site
SMALL = PurePosixPath("index.files")  # pictures of the front page
SMALL_WIDTH = 560  # pixels, for a card half as wide on a fine screen


@dataclass(frozen=True)
class Question:
    """Something that people ask, and where it is answered."""

    text: str
    link: str
    answer: str = ""
    example: str = ""
    also: str = ""  # in what other words people ask it


@dataclass(frozen=True)
class Group:
    """The questions that one page answers."""

    title: str
    link: str
    questions: Sequence[Question]


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

    @cached_property
    def scenes(self) -> dict[str, Scene]:
        """What each explainer shows at its start, by its name."""
        return {item.name: item() for item in self.items}

    def start(self, here: PurePosixPath) -> str:
        """A link to how the lessons are run; "" where no page says it."""
        if START not in self.pages:
            return ""
        known = HOW in self.pages[START].anchors
        return self.link(here, START, HOW if known else "")

    def groups(self, here: PurePosixPath) -> list[Group]:
        """For each lesson what its explainers answer, then its headings that ask something else."""
        asked: dict[PurePosixPath, list[Question]] = {name: [] for name in self.lessons}
        known = set()
        for item in self.items:
            name, anchor = self.answered(item) or (PICTURES, page_id(item.question))
            extra = question_index.example(item, self.scenes[item.name])
            link = between(here, page_of(item))
            question = Question(item.question, link, item.answer, extra, question_index.also(item))
            asked.setdefault(name, []).append(question)
            known.add((name, anchor))
        for name in self.lessons:
            for each in self.pages[name].headings:
                if each.text.endswith("?") and each.level > 1 and (name, each.id) not in known:
                    asked[name].append(Question(each.text, self.link(here, name, each.id)))
        titles = {name: self.pages[name].title for name in self.lessons} | {PICTURES: "Pictures"}
        return [
            Group(titles[name], self.link(here, name), questions)
            for name, questions in asked.items()
            if questions
        ]

    @cached_property
    def faces(self) -> dict[PurePosixPath, Explainer]:
        """For each lesson the explainer whose picture stands for it."""
        own: dict[PurePosixPath, list[Explainer]] = {}
        for item in self.items:
            own.setdefault(LESSONS / item.lesson, []).append(item)
        return {
            name: next((item for item in own[name] if item.anchor == "See"), own[name][0])
            for name in self.lessons
            if name in own
        }


def front(site: Site) -> str:
    """The front page's HTML."""
    here = PurePosixPath("index.html")
    return template("front.html.j2").render(
        site=site,
        here=here,
        small=SMALL,
        groups=site.groups(here),
        start=site.start(here),
        pictures=site.link(here, PICTURES),
    )


def small_pictures(site: Site) -> dict[PurePosixPath, bytes]:
    """The pictures of the front page: the file of each, and the first plot in it, small."""
    from PIL import Image

    from boxlab.draw import figures

    made = {}
    for item in site.faces.values():
        scene = site.scenes[item.name]
        drawn = figures.draw(replace(scene, plots=scene.plots[:1], columns=1))
        with Image.open(BytesIO(figures.png(drawn))) as image:
            size = SMALL_WIDTH, round(image.height * SMALL_WIDTH / image.width)
            shrunk = image.convert("RGB").resize(size, Image.Resampling.LANCZOS).quantize(64)
        data = BytesIO()
        shrunk.save(data, "PNG", optimize=True)
        made[SMALL / f"{item.name}.png"] = data.getvalue()
    return made


def gallery(site: Site, root: Path, say) -> tuple[str, set[str], dict[PurePosixPath, bytes]]:
    """The page of pictures, its anchors, and the picture files.

    A picture that is not kept in the repository is drawn, which takes a second or two.
    """
    here = place(PICTURES)
    shown, anchors, files = [], set(), {}
    for item in site.items:
        scene = site.scenes[item.name]
        for kind in ("svg", "png"):
            kept = root / PICTURES.parent / f"{item.name}.{kind}"
            data = kept.read_bytes() if kept.is_file() else pictures.render(scene, kind)
            files[here.parent / kept.name] = data
            if not kept.is_file():
                say(f"drew {kept.name}")
        answered = site.answered(item)
        anchor = page_id(item.question)
        anchors |= {anchor, item.name}
        shown.append(
            {
                "item": item,
                "scene": scene,
                "heading": linked(settings_text.safe(item.question), item.question, 2, anchor),
                "page": between(here, page_of(item)),
                "lesson": site.link(here, *answered) if answered else "",
                "title": site.pages[answered[0]].title if answered else "",
                # As seen from this page; the script makes whole addresses of them.
                "paste": share_text.picture_markdown(item, scene, UP, f"{item.name}.png"),
                "markdown": share_text.paragraph(item, item.start, scene, "markdown", UP),
                "plain": share_text.paragraph(item, item.start, scene, pages=UP),
            }
        )
    shelves: dict[str, list[dict]] = {}
    for each in shown:
        shelves.setdefault(each["title"] or "In no lesson", []).append(each)
    return template("gallery.html.j2").render(shown=shown, shelves=shelves), anchors, files
