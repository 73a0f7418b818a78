"""Every lesson, the pictures and a front page with the questions, written to one folder."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path, PurePosixPath

from boxlab.base.made_files import RECORD, check_free, write_set
from boxlab.draw.scene import Explainer
from boxlab.publish.notebooks import ROOT
from boxlab.publish.site.frame import START, Frame, shared_files
from boxlab.publish.site.links import PICTURES, Links, between, place
from boxlab.publish.site.listing import Site, front, gallery, small_pictures
from boxlab.publish.site.pages import Page, markdown_page, notebook_page
from boxlab.publish.site.questions import page_of, question_page, tables


def build(
    folder,
    root: Path = ROOT,
    items: Sequence[Explainer] | None = None,
    say: Callable[[str], None] = lambda words: None,
    published: str = "",
    finest: float = 1.0,
) -> list[str]:
    """Write the site of the repository under `root` into `folder`.

    A site that is there already gives way to the new one, file by file; whatever else lies in the
    folder stays.

    Parameters
    ----------
    items : explainers, optional
        For the questions and pictures; all of the library if left out.
    say : callable
        Told of each page as it is written.
    published : str
        Where the pages will stand, for the pictures that previews of links show.
    finest : float, 1 or less
        Share of the states of each question that are worked out; few are soon there.

    Returns
    -------
    list of str
        What is wrong with the pages, in plain words: links that lead nowhere, formulas that
        cannot be drawn, pictures without alt text. Empty if all is well.

    Raises
    ------
    ValueError
        If there are no lessons, or `folder` holds something that is not such a site.
    """
    folder, root = Path(folder).resolve(), Path(root).resolve()
    check_free(folder, "site")
    if items is None:
        from boxlab.explainers import all_explainers

        items = all_explainers()
    pages, faults = _read(root, say)
    site = Site(pages, tuple(items))
    files, more = _made(site, root, say, published, finest)
    return faults + more + write_set(folder, "site", files)


def _read(root: Path, say) -> tuple[dict[PurePosixPath, Page], list[str]]:
    """All pages, by their path in the repository: the lessons, and what they lead to."""
    lessons = sorted(
        path
        for pattern in ("*.ipynb", "*.md")
        for path in (root / "lessons").rglob(pattern)
        if not any(part.startswith(".") for part in path.relative_to(root).parts)
        # pages that this made are no lessons
        and not any((above / RECORD).is_file() for above in path.parents)
    )
    if not any(path.suffix == ".ipynb" for path in lessons):
        raise ValueError(f"there are no lessons in {root / 'lessons'}; run this from a clone")
    waiting = [*lessons, *(path for path in [root / START] if path.is_file())]
    pages: dict[PurePosixPath, Page] = {}
    faults: list[str] = []
    while waiting:
        source = waiting.pop(0)
        name = PurePosixPath(source.relative_to(root).as_posix())
        if name in pages or name == PICTURES:
            continue
        page = notebook_page(source) if source.suffix == ".ipynb" else markdown_page(source)
        pages[name] = page
        faults += [f"{name}: {fault}" for fault in page.faults]
        say(f"read {name}")
        links = Links(root, source, page.files)
        links.mended(page.body)
        waiting += [root / aim for aim, _ in links.aims if aim.suffix in (".ipynb", ".md")]
    return pages, faults


def _made(
    site: Site, root: Path, say, published: str, finest: float
) -> tuple[dict[str, str | bytes], list[str]]:
    """Every file of the site, by its name, and what is wrong with the links."""
    frame, faults, copies = Frame(site), [], set()
    pictures, anchors, drawn = gallery(site, root, say)
    files: dict[PurePosixPath, str | bytes] = dict(drawn)
    known = {name: page.anchors for name, page in site.pages.items()} | {PICTURES: anchors}
    for name, page in site.pages.items():
        links = Links(root, page.source, page.files)
        files[place(name)] = frame.page(name, page, links.mended(page.body))
        files |= {name.parent / file: data for file, data in page.files.items()}
        for aim, anchor in links.aims:
            if aim not in known:
                copies.add((aim, place(aim)))
            elif anchor and anchor not in known[aim]:
                links.faults.append(f"a link to {aim}#{anchor}: there is no such heading")
        faults += [f"{name}: {fault}" for fault in links.faults]
        if name.suffix == ".ipynb":
            copies.add((name, name))  # to download and run
        say(f"made {place(name)}")
    index = PurePosixPath("index.html")
    files[place(PICTURES)] = frame.plain(place(PICTURES), "Pictures", pictures)
    files[index] = frame.plain(index, "boxlab", front(site))
    files |= {target: (root / source).read_bytes() for source, target in sorted(copies)}
    files |= small_pictures(site) | shared_files()
    files |= _questions(site, frame, published)
    files |= dict(tables(site.items, say, finest))
    # A hoster must not leave out folders that it does not know.
    files[PurePosixPath(".nojekyll")] = b""
    say(f"made {place(PICTURES)} and index.html")
    return {name.as_posix(): content for name, content in files.items()}, faults


def _questions(site: Site, frame: Frame, published: str) -> dict[PurePosixPath, str]:
    """The page of each question, with what previews of a link to it show."""
    made = {}
    for item in site.items:
        here, scene, answered = page_of(item), site.scenes[item.name], site.answered(item)
        body = question_page(
            item, scene,
            site.link(here, *answered) if answered else "",
            site.pages[answered[0]].title if answered else "",
        )  # fmt: skip
        picture = between(here, PICTURES.parent / f"{item.name}.png")
        if published:
            picture = f"{published.rstrip('/')}/{PICTURES.parent}/{item.name}.png"
        words = f"{scene.message} {item.answer}".strip()
        made[here] = frame.plain(here, item.question, body, description=words, picture=picture)
    return made
