"""The site as a reader has it: from a folder in Chromium, on a phone, on paper, by keyboard."""

from __future__ import annotations

import re
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from threading import Thread
from urllib.parse import unquote

import pytest
from made_up import MADE_UP
from test_site import write_repository

from boxlab.draw.stage import table
from boxlab.explainers import all_explainers, explainer
from boxlab.publish import pictures
from boxlab.publish.site import build

LOADED = re.compile(r'(?:src|href|data-table)="([^"#:]+\.(?:js|css|png|svg))"')
PHONE, DESK = {"width": 390, "height": 844}, {"width": 1200, "height": 800}


@pytest.fixture(scope="module")
def site(tmp_path_factory):
    """All lessons, with those pictures that need no drawing, and each question where it starts."""
    folder = tmp_path_factory.mktemp("site") / "pages"
    drawn = [i for i in all_explainers() if (pictures.FOLDER / f"{i.name}.svg").is_file()]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(table, "settings", lambda item, finer=1.0: iter([tuple(item.start.values())]))
        assert build(folder, items=drawn) == []
    return folder


@pytest.fixture
def open_page(visit, site):
    """`open_page("index.html")` gives a page of the site; see `visit`."""

    def opened(name, viewport=DESK, **options):
        path, _, anchor = name.partition("#")
        address = (site / path).as_uri() + (f"#{anchor}" if anchor else "")
        return visit(address, viewport=viewport, **options)

    return opened


def names(site):
    return sorted(path.relative_to(site).as_posix() for path in site.rglob("*.html"))


def test_every_page_is_quiet_and_fits(site, open_page):
    """Laid out for a phone, then on a desk, where the page has to follow the window."""
    pages = names(site)
    assert "index.html" in pages
    page = open_page("index.html", PHONE)
    for name in pages:
        page.set_viewport_size(PHONE)
        page.goto((site / name).as_uri())
        page.wait_for_load_state()
        for viewport in (PHONE, DESK):
            page.set_viewport_size(viewport)
            page.evaluate("document.querySelectorAll('details').forEach(part => part.open = true)")
            # all images, those that wait to be looked at, too; a stage may take one's place
            broken = page.evaluate(
                """() => Promise.all([...document.images].map((image) => {
                  image.loading = "eager";
                  return image.decode().then(() => "", () => image.isConnected ? image.src : "");
                }))"""
            )
            assert not any(broken), name
            wide = page.evaluate("document.documentElement.scrollWidth - innerWidth")
            assert wide <= 0, f"{name} is {wide} px too wide"
        assert page.noise == [], name


def test_a_question_with_all_it_loads_is_under_500_kb(site):
    for page in sorted((site / "q").glob("*.html")):
        loads = re.findall(
            r'(?:src|href|data-table)="([^"#:]+\.(?:js|css|png|svg))"', page.read_text()
        )
        parts = {(page.parent / each).resolve() for each in loads}
        assert page.with_suffix(".js") in parts and any(each.suffix == ".png" for each in parts)
        size = sum(
            each.stat().st_size for each in (page, *parts) if each != page.with_suffix(".js")
        )
        size += max(table.LARGEST, page.with_suffix(".js").stat().st_size)  # when it is as fine
        assert size < 500_000, f"{page.stem}: {size // 1000} KB"


def test_a_request_outside_would_be_noticed_and_stopped(open_page):
    page = open_page("index.html")
    page.evaluate("document.body.append(Object.assign(new Image(), {src: 'http://127.0.0.1:9/'}))")
    page.wait_for_timeout(300)
    assert any("Content Security Policy" in words for words in page.noise)


def test_every_question_leads_to_its_place(site, open_page):
    page = open_page("index.html")
    links = page.locator("li.entry a").evaluate_all("links => links.map(link => link.href)")
    assert len(links) > 10
    ids = {}
    for link in links:
        address, _, anchor = link.partition("#")
        if address not in ids:
            page.goto(address)
            ids[address] = page.evaluate("[...document.querySelectorAll('[id]')].map(e => e.id)")
        assert not anchor or unquote(anchor) in ids[address], link


def test_a_link_to_a_heading_shows_it(open_page):
    page = open_page("index.html", PHONE)
    link = page.locator("#asked a[href*='#']").first
    anchor = unquote(link.get_attribute("href").partition("#")[2])
    link.click()
    page.wait_for_load_state()
    top = page.evaluate("name => document.getElementById(name).getBoundingClientRect().top", anchor)
    assert 0 <= top < PHONE["height"] / 2


def visible(page):
    return page.locator("li.entry:not([hidden])").count()


def test_search_keeps_what_has_all_the_words(open_page):
    page = open_page("index.html")
    every = visible(page)
    page.get_by_label("Find a question").fill("RADIATOR port")
    left = page.locator("li.entry:not([hidden])").all_text_contents()
    assert 0 < len(left) < every
    assert all("radiator" in text.lower() and "port" in text.lower() for text in left)
    assert page.locator("#count").inner_text() == f"{len(left)} found"
    page.reload()  # the address keeps it, so that it can be sent
    assert visible(page) == len(left)
    page.get_by_label("Find a question").fill("")
    assert visible(page) == every
    page.get_by_label("Find a question").fill("zzz")
    assert page.locator("#count").inner_text() == "0 found"


def test_search_knows_the_words_that_people_ask_in(visit, tmp_path):
    """On a small site, so that this takes seconds."""
    items = [explainer(name) for name in ("brace_and_fill", "coil_wiring", "recoil")]
    small = write_repository(tmp_path / "repository")
    assert build(tmp_path / "site", small, items, finest=0.01) == []
    page = visit((tmp_path / "site/index.html").as_uri(), viewport=PHONE)
    asked = {
        "polyfill makes it 30 % larger": "brace and a fill",
        "stuffing": "brace and a fill",
        "box rise": "wire these coils",
        "can i wire 2 dual 2 ohm subs to 1 ohm": "wire these coils",
    }
    for words, question in asked.items():
        page.get_by_label("Find a question").fill(words)
        left = page.locator("li.entry:not([hidden])").all_text_contents()
        assert question in left[0] and len(left) == 1, (words, left)


def test_search_forgives_how_it_is_asked(open_page):
    page = open_page("index.html")
    find, said = page.get_by_label("Find a question"), page.locator("#count")
    find.fill("where are radiators tuned")  # "tuned" is in few, "tuning" in many
    assert "How do weights tune a box" in " ".join(
        page.locator("li.entry:not([hidden])").all_text_contents()
    )
    found = visible(page)
    find.fill("radiator tun")  # what both forms begin with
    assert visible(page) == found
    find.fill("radiator zzz")
    assert re.fullmatch(r"none has all of these words; \d+ have 1 of the 2", said.inner_text())
    find.fill("the")
    assert re.fullmatch(r"\d+ found", said.inner_text())
    assert page.locator("section.shelf:not([hidden])").count() > 1
    find.fill("zzz")
    assert page.locator("section.shelf:not([hidden])").count() == 0


@pytest.fixture
def published(site):
    """The address of the site on a server of this machine."""
    handler = partial(QuietHandler, directory=site)
    with ThreadingHTTPServer(("127.0.0.1", 0), handler) as server:
        Thread(target=server.serve_forever, daemon=True).start()
        yield f"http://127.0.0.1:{server.server_port}"
        server.shutdown()


class QuietHandler(SimpleHTTPRequestHandler):
    """Serves files and says nothing."""

    def log_message(self, *words):
        """Nothing."""


def test_published_texts_have_whole_links_that_lead_to_the_place(published, chromium):
    page = chromium.new_context().new_page()
    page.goto(f"{published}/figures/index.html")
    part = page.locator("section#null_of_the_radiator")
    texts = [area.input_value() for area in part.locator("textarea[data-paste]").all()]
    assert len(texts) == 3
    assert f"]({published}/figures/null_of_the_radiator.png)" in texts[0]
    lesson = f"{published}/lessons/01-port-or-radiator.html#Where-does-a-radiator-box-go-silent"
    assert all(lesson in text and "ipynb" not in text for text in texts)
    page.context.grant_permissions(["clipboard-read", "clipboard-write"])
    part.get_by_text("Texts to copy").click()
    part.get_by_role("button", name="Copy: The same in plain text").click()
    page.get_by_text("Copied").wait_for()
    assert page.evaluate("navigator.clipboard.readText()") == texts[2]
    page.goto(lesson)
    # the anchor without the question mark stands empty, in the heading or before it
    there = page.evaluate("""() => {
        const aim = document.querySelector(":target"), head = aim.closest("h1, h2, h3, h4")
        return (head ?? (aim.closest("p") ?? aim).nextElementSibling).innerText
    }""")
    assert there.startswith("Where does a radiator box go silent?")
    page.context.close()


def test_all_is_there_without_script(open_page):
    page = open_page("index.html", java_script_enabled=False)
    assert not page.locator("#finder").is_visible()
    assert page.locator("#asked .entry a").first.is_visible()
    page.locator(".shelf summary").first.click()
    assert page.locator(".shelf .entry a").first.is_visible()


def colours(page):
    return page.evaluate(
        "[getComputedStyle(document.body).backgroundColor, getComputedStyle(document.body).color]"
    )


def test_the_theme_follows_the_reader(open_page):
    light = colours(open_page("index.html", color_scheme="light"))
    dark = colours(open_page("index.html", color_scheme="dark"))

    def brightness(text):
        return sum(map(int, re.findall(r"\d+", text)[:3]))

    assert brightness(light[0]) > 600 > 300 > brightness(light[1])
    assert brightness(dark[0]) < 300 < 600 < brightness(dark[1])


def a_lesson(site):
    return next(name for name in names(site) if re.match(r"lessons/01-", name))


def test_the_keyboard_reaches_everything_and_shows_where_it_is(site, open_page):
    page = open_page(a_lesson(site), PHONE)
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "Skip to the text"
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    seen = set()
    for _ in range(40):
        tag, outline = page.evaluate(
            "(e => [e.tagName, getComputedStyle(e).outline])(document.activeElement)"
        )
        seen.add(tag)
        assert "solid 3px" in outline, tag
        page.keyboard.press("Tab")
    assert {"A", "SUMMARY"} <= seen
    page.locator("details.code summary").first.focus()
    page.keyboard.press("Enter")
    assert page.locator("details.code pre").first.is_visible()


def test_the_mark_of_a_heading_copies_its_link(site, open_page):
    page = open_page(a_lesson(site), permissions=["clipboard-read", "clipboard-write"])
    page.locator("h2 a.here").first.click()
    page.get_by_text("Link copied").wait_for()
    copied = page.evaluate("navigator.clipboard.readText()")
    assert copied == page.locator("h2 a.here").first.evaluate("link => link.href")
    assert page.url == copied


def test_on_paper_there_is_no_furniture(site, open_page):
    page = open_page(a_lesson(site), color_scheme="dark")
    page.emulate_media(media="print", color_scheme="dark")
    for part in (".top", ".reading", ".tools", ".here", ".code", ".contents"):
        assert not any(each.is_visible() for each in page.locator(part).all()), part
    assert page.locator("figure img").first.is_visible()
    assert colours(page) == ["rgb(255, 255, 255)", "rgb(0, 0, 0)"]
    assert page.pdf().startswith(b"%PDF")


def test_the_formula_sheet_prints_on_two_sides_of_one_sheet(site, open_page):
    data = open_page("lessons/formulas.html").pdf(format="A4", prefer_css_page_size=True)
    assert len(re.findall(rb"/Type\s*/Page\b(?!s)", data)) == 2


def test_unfolding_opens_hints_and_solutions(site, open_page):
    page = open_page(a_lesson(site))
    assert page.locator("main details[open]").count() == 0
    page.get_by_role("button", name="Unfold everything").click()
    assert page.locator("main details:not([open])").count() == 0


def test_motion_can_be_stopped(chromium, tmp_path):
    from test_site import write_repository

    assert build(tmp_path / "site", write_repository(tmp_path / "repository"), (MADE_UP,)) == []
    address = (tmp_path / "site/lessons/01-one.html").as_uri()
    page = chromium.new_page()
    page.goto(address)
    image = page.get_by_alt_text("Two pistons, one late.")
    assert image.evaluate("image => image.currentSrc").endswith("02.gif")
    page.get_by_role("button", name="Stop the motion").click()
    assert image.evaluate("image => image.src").endswith("02-still.png")
    page.get_by_role("button", name="Play the motion").click()
    assert image.evaluate("image => image.src").endswith("02.gif")
    calm = chromium.new_page(reduced_motion="reduce", java_script_enabled=False)
    calm.goto(address)
    still = calm.get_by_alt_text("Two pistons, one late.")
    assert still.evaluate("image => image.currentSrc").endswith("02-still.png")
    page.close()
    calm.close()


@pytest.mark.parametrize("end", ["Will-the-port-fit", "Will-the-port-fit%3F", "Will-the-port-fit?"])
def test_an_address_with_or_without_its_question_mark_leads_to_the_heading(open_page, end):
    page = open_page(f"lessons/01-port-or-radiator.html#{end}")
    heading = page.get_by_role("heading", name="Will the port fit?")
    page.wait_for_function("() => scrollY > 500")
    assert 0 <= heading.bounding_box()["y"] < 120
    marked = heading.evaluate("each => getComputedStyle(each).boxShadow")
    assert marked != "none", "where a link led to is marked"
