"""The frame: what it is made of, what may be read on it, and what every page on it keeps to."""

from __future__ import annotations

import re
from importlib import resources
from pathlib import Path

import pytest

from loomwright.pages.addresses import job_path
from loomwright.pages.records.patterns_page import ICONS
from tests.pages.shelves import SMALL, Page, client_on, shelf_in

ROOM = Path(str(resources.files("loomwright.pages")))
TEMPLATES = sorted((ROOM / "templates").rglob("*.html"))
STYLES = sorted((ROOM / "static" / "css").glob("*.css"))
OURS = ("tokens", "type", "forms", "page", "parts", "print", "stages", "findings", "patterns")
GROUNDS = ("paper", "raised", "tint")
TEXTS = ("ink", "soft", "vermilion", "ochre")
UNKIND = re.compile(r"\b(error|errors|invalid|success|successfully|please|oops|sorry)\b", re.IGNORECASE)


@pytest.fixture(scope="module")
def client(tmp_path_factory):
    shelf = shelf_in(tmp_path_factory.mktemp("frame"), small=SMALL)
    browser = client_on(shelf)
    yield browser
    browser.app.state.desk.bench.close()
    shelf.close()


@pytest.fixture(scope="module")
def tokens() -> str:
    return (ROOM / "static" / "css" / "tokens.css").read_text(encoding="utf-8")


def roles(block: str) -> dict[str, str]:
    return dict(re.findall(r"--([a-z-]+):\s*(#[0-9a-f]{6})", block))


def light(tokens: str) -> dict[str, str]:
    return roles(tokens[tokens.index(":root {") : tokens.index("@media")])


def dark(tokens: str) -> dict[str, str]:
    return roles(tokens[tokens.index(':root[data-look="dark"]') :])


def contrast(one: str, other: str) -> float:
    """WCAG 2: (lighter + 0.05) / (darker + 0.05), of relative luminances."""

    def luminance(shade: str) -> float:
        parts = [int(shade[place : place + 2], 16) / 255 for place in (1, 3, 5)]
        red, green, blue = (p / 12.92 if p <= 0.03928 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
        return 0.2126 * red + 0.7152 * green + 0.0722 * blue

    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_contrast_is_worked_out_as_the_guideline_says():
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.005)


@pytest.mark.parametrize("look", [light, dark])
def test_words_stand_out_from_every_ground(tokens, look):
    shades = look(tokens)
    thin = {
        (text, ground): contrast(shades[text], shades[ground])
        for text in TEXTS
        for ground in GROUNDS
        if contrast(shades[text], shades[ground]) < 4.5
    }
    assert thin == {}
    assert contrast(shades["copper-ink"], shades["paper"]) >= 4.5
    assert contrast(shades["copper-ink"], shades["raised"]) >= 4.5


@pytest.mark.parametrize("look", [light, dark])
def test_edges_of_controls_and_energised_lines_stand_out(tokens, look):
    shades = look(tokens)
    for ground in GROUNDS:
        assert contrast(shades["edge"], shades[ground]) >= 3.0
        assert contrast(shades["copper"], shades[ground]) >= 3.0


def test_the_dark_roles_are_the_same_by_the_machine_and_by_choice(tokens):
    by_machine = roles(tokens[tokens.index("@media") : tokens.index(':root[data-look="dark"]')])
    assert by_machine == dark(tokens)
    assert set(by_machine) == set(light(tokens))


def test_colours_stand_in_the_tokens_alone():
    elsewhere = [path for path in STYLES if path.stem in OURS and path.stem not in ("tokens", "print")]
    assert len(elsewhere) == len(OURS) - 2
    assert {p.name: re.findall(r"#[0-9a-fA-F]{3,8}\b|\brgba?\(|\bhsla?\(", p.read_text()) for p in elsewhere} == {
        p.name: [] for p in elsewhere
    }


def test_corners_are_square_and_nothing_throws_a_shadow():
    for path in STYLES:
        text = path.read_text(encoding="utf-8")
        assert set(re.findall(r"border-radius:\s*([^;}]+)", text)) <= {"0"}, path.name
        thrown = re.findall(r"box-shadow:\s*([^;}]+)", text)
        assert [one for one in thrown if not one.startswith(("inset", "none"))] == [], path.name
        assert "text-shadow" not in text, path.name


def test_no_figure_is_set_below_13_px(tokens):
    least_rem = 13 / 16
    sizes = [
        float(size)
        for path in STYLES
        for size in re.findall(r"(?:font-size|--small):\s*([\d.]+)rem", path.read_text(encoding="utf-8"))
    ]
    assert len(sizes) > 5
    assert min(sizes) >= least_rem


def test_no_template_holds_a_style_or_a_script_of_its_own():
    assert len(TEMPLATES) > 10
    for path in TEMPLATES:
        text = path.read_text(encoding="utf-8")
        assert re.findall(r"\sstyle=|<style|\son[a-z]+=|javascript:", text) == [], path.name
        assert re.findall(r"<script(?![^>]*\ssrc=)", text) == [], path.name


def test_no_template_and_no_script_blames_or_scares():
    for path in TEMPLATES:
        # what stands between braces is for the machine
        text = re.sub(r"\{[{%#].*?[}%#]\}", " ", path.read_text(encoding="utf-8"), flags=re.DOTALL)
        assert UNKIND.findall(text.replace("aria-invalid", "")) == [], path.name
    for path in (ROOM / "static" / "js").glob("*.js"):
        shown = re.findall(r"\"[^\"\n]*\"|`[^`]*`", path.read_text(encoding="utf-8"))
        assert [text for text in shown if UNKIND.search(text)] == [], path.name


def test_every_drawing_that_is_used_is_there():
    sprite = (ROOM / "templates" / "parts" / "icon.html").read_text(encoding="utf-8")
    drawn = set(re.findall(r'<symbol id="i-([a-z]+)"', sprite))
    used = {name for path in TEMPLATES for name in re.findall(r'icon\("([a-z]+)"\)', path.read_text(encoding="utf-8"))}
    assert drawn == set(ICONS)
    assert used
    assert used <= drawn


ADDRESSES = ("/", "/j/small", "/j/small/findings", "/j/small/search?q=W", "/j/small/search", "/patterns")


@pytest.mark.parametrize("address", ADDRESSES)
def test_every_page_is_whole_and_can_be_found_ones_way_on(client, address):
    answer = client.get(address)
    page = Page(answer.text)
    assert answer.status_code == 200
    assert page.unclosed == []
    assert page.all("html")[0]["lang"] == "en"
    assert len(page.all("h1")) == 1
    assert len(page.all("main")) == 1
    assert len(page.all("header")) >= 1
    assert len(page.all("footer")) == 1
    assert page.all("a")[0] == {"class": "to-work", "href": "#work"}
    assert page.all("main")[0]["id"] == "work"
    assert len(page.ids()) == len(set(page.ids()))


@pytest.mark.parametrize("address", ADDRESSES)
def test_every_field_and_every_unnamed_link_has_words(client, address):
    page = Page(client.get(address).text)
    labelled = {label["for"] for label in page.all("label")}
    fields = [one for tag in ("input", "select", "textarea") for one in page.all(tag) if one.get("type") != "hidden"]
    assert [one for one in fields if one.get("id") not in labelled and "aria-label" not in one] == []
    described = {word for _, one in page.elements for word in one.get("aria-describedby", "").split()}
    labelling = {word for _, one in page.elements for word in one.get("aria-labelledby", "").split()}
    assert described | labelling <= set(page.ids())
    regions = [one for one in page.all("nav") if not one.get("aria-label")]
    assert regions == []


def test_every_link_of_the_first_pages_leads_somewhere(client):
    seen: set[str] = set()
    waiting = ["/"]
    while waiting:
        address = waiting.pop()
        if address.partition("?")[0] in seen:
            continue
        seen.add(address.partition("?")[0])
        answer = client.get(address, headers={"accept": "text/html"})
        assert answer.status_code == 200, address
        if "text/html" not in answer.headers["content-type"] or re.match(r"/j/[^/]+/(sheet|wire|part|car)", address):
            continue  # pages with tests of their own
        page = Page(answer.text)
        there = [one["href"] for tag in ("a", "link") for one in page.all(tag)]
        there += [one["src"] for one in page.all("script") if "src" in one]
        for href in there:
            path, _, at = href.partition("#")
            if at and (not path or path == address):
                assert at in page.ids(), f"{address} -> {href}"
            assert not path or path.startswith("/"), href
            if path:
                waiting.append(path)
    assert {"/", "/j/small", "/j/small/findings", "/patterns"} <= seen


def test_the_strip_says_what_is_left_in_each_of_the_nine_stages(client):
    page = Page(client.get("/j/small").text)
    stages = [one for one in page.elements if one[1].get("class") == "stage-word"]
    assert len(stages) == 9
    assert "Loom 5 wires to cut" in page.words
    assert "Prove 6 wires to prove" in page.words
    assert "Gearbox not begun" in page.words


@pytest.mark.parametrize(
    ("piece", "stage"),
    [
        ("start", "First start"),
        ("timing", "First start"),
        ("sensors", "Calibrate"),
        ("dyno", "Calibrate"),
        ("gears", "Gearbox"),
        ("gears/fewest", "Gearbox"),
        ("pack", "Loom"),
        ("revisions", ""),
    ],
)
def test_a_page_stands_under_its_stage(client, piece, stage):
    html = client.get(f"/j/small/{piece}").text
    strip = html[html.index('<ol class="stages"') :].partition("</ol>")[0]
    here = re.findall(r'aria-current="page"><span class="stage-word">([^<]+)<', strip)
    assert here == ([stage] if stage else [])


def test_a_page_runs_nothing_inline_and_loads_nothing_from_elsewhere(client):
    answer = client.get("/")
    assert "script-src 'self'" in answer.headers["content-security-policy"]
    assert re.findall(r"https?://(?!www\.w3\.org)", answer.text) == []


def test_what_a_person_named_is_shown_as_words_only(tmp_path):
    shelf = shelf_in(tmp_path, odd={**SMALL, "vehicle": [{"name": "title", "value": "<b onload=x>car</b> & co"}]})
    browser = client_on(shelf)
    html = browser.get("/j/odd").text
    browser.app.state.desk.bench.close()
    shelf.close()
    assert "<b onload" not in html
    assert "&lt;b onload=x&gt;car&lt;/b&gt; &amp; co" in html


def test_a_look_that_was_chosen_is_kept_and_can_be_given_back(client):
    assert 'data-look="dark"' not in client.get("/").text
    there = client.post("/look", data={"look": "dark", "back": "/patterns"})
    assert there.url.path == "/patterns"
    assert 'data-look="dark"' in client.get("/").text
    client.post("/look", data={"size": "large", "back": "/"})
    assert 'data-size="large"' in client.get("/j/small").text
    client.post("/look", data={"look": "machine", "back": "/"})
    client.post("/look", data={"size": "plain", "back": "/"})
    html = client.get("/").text
    assert "data-look" not in html
    assert "data-size" not in html


@pytest.mark.parametrize("back", ["//elsewhere.example/x", "https://elsewhere.example", "/\\elsewhere.example", "x"])
def test_choosing_a_look_never_leads_elsewhere(client, back):
    answer = client.post("/look", data={"look": "light", "back": back}, follow_redirects=False)
    client.cookies.clear()
    assert answer.headers["location"] == "/"


def test_the_papers_fonts_are_given_to_the_browser(client):
    for name in ("SourceSans3-Regular.ttf", "SourceCodePro-SemiBold.ttf"):
        answer = client.get(f"/fonts/{name}")
        assert answer.headers["content-type"] == "font/ttf"
        assert answer.content[:4] == b"\x00\x01\x00\x00"
    assert client.get("/fonts/..%2Fpaper.typ").status_code == 404
    assert client.get("/fonts/Other.ttf").status_code == 404


def test_a_page_that_is_not_there_says_what_there_is(client):
    answer = client.get("/j/nowhere", headers={"accept": "text/html"})
    assert answer.status_code == 404
    assert "There is no such job" in Page(answer.text).words
    assert "There is: small" in Page(answer.text).words
    plain = client.get("/api/j/nowhere/findings")
    assert plain.status_code == 404
    assert "nowhere" in plain.json()["refused"][0]["found"]


def test_a_job_of_any_name_has_an_address():
    assert job_path("old van_2-b", "wire", "W1") == "/j/old%20van_2-b/wire/W1"
    assert job_path("a/b") == "/j/a%2Fb"
