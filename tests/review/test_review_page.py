"""The page: sound HTML, whole in one file, and readable in a real browser, wide and narrow, light and dark."""

from __future__ import annotations

import re
import shutil
import subprocess
from collections.abc import Callable
from dataclasses import replace
from html import escape
from pathlib import Path
from xml.etree import ElementTree as ET

import html5lib
import numpy as np
import pytest
from PIL import Image

from pedal.progress.intervals import Estimate
from pedal.review.curves import PitchCurve
from pedal.review.page import page_of
from pedal.review.page_style import STYLE
from pedal.review.review import Review, review_of
from pedal.review.selection import Selection
from pedal.review.svg import bias_picture, course_picture, prebend_picture
from pedal.review.words import cents_words, share_words
from pedal.verdicts.aim import Bands

PHONE, DESK = 390, 1200
FIRST_LOOK = 1000
"""Rows of a page that say whether it is light or dark."""
QUIET = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--hide-scrollbars",
]
XHTML = "{http://www.w3.org/1999/xhtml}"


@pytest.fixture(scope="module")
def month_review(month: Path) -> Review:
    return review_of(month, Selection(), with_pictures=True)


@pytest.fixture(scope="module")
def page(month_review: Review) -> str:
    return page_of(month_review)


@pytest.fixture(scope="module")
def tree(page: str) -> ET.Element:
    """The document as the HTML standard's parser builds it, which must find no error on the way."""
    return html5lib.HTMLParser(strict=True).parse(page)


def all_of(tree: ET.Element, tag: str) -> list[ET.Element]:
    return [element for element in tree.iter() if str(element.tag).rpartition("}")[2] == tag]


def words_of(element: ET.Element) -> str:
    return "".join(element.itertext())


def test_the_page_is_html_without_a_single_parse_error(tree: ET.Element) -> None:
    assert all_of(tree, "html")[0].get("lang") == "en"
    assert words_of(all_of(tree, "title")[0]) == "Practice review"


def test_nothing_is_fetched_and_nothing_runs(page: str, tree: ET.Element) -> None:
    assert not re.search(r"<script|<link|<iframe|<img|@import|url\(|https?://|\bon\w+=|javascript:", page)
    assert not [element for element in tree.iter() if "src" in element.attrib or "href" in element.attrib]


def test_the_advice_is_on_the_page(month_review: Review, page: str) -> None:
    assert len(month_review.advice) == 4
    for advice in month_review.advice:
        assert escape(advice.sentence) in page


def test_a_screen_reader_finds_its_way(tree: ET.Element) -> None:
    assert [len(all_of(tree, tag)) for tag in ("header", "main", "footer", "h1")] == [1, 1, 1, 1]
    ids = {element.get("id") for element in tree.iter() if element.get("id")}
    assert len(ids) == sum(element.get("id") is not None for element in tree.iter()), "an id twice"
    for element in tree.iter():
        for name in (element.get("aria-labelledby") or "").split():
            assert name in ids, f"{name} is named but not there"
    for section in all_of(tree, "section"):
        assert section.get("aria-labelledby")


def test_every_table_has_a_caption_and_headers_with_a_scope(tree: ET.Element) -> None:
    tables = all_of(tree, "table")
    assert len(tables) >= 4
    for table in tables:
        assert words_of(all_of(table, "caption")[0])
        assert all(head.get("scope") in ("col", "row") for head in all_of(table, "th"))
        rows = [list(row) for row in all_of(table, "tr")]
        assert {len(row) for row in rows} == {len(rows[0])}
        assert all(row[0].tag == f"{XHTML}th" for row in rows)


def test_what_scrolls_can_be_reached_by_keyboard(tree: ET.Element) -> None:
    wide = [element for element in all_of(tree, "div") if element.get("class") == "wide"]
    assert wide
    assert all((e.get("tabindex"), e.get("role")) == ("0", "region") and e.get("aria-label") for e in wide)


def test_every_picture_says_what_it_shows(tree: ET.Element) -> None:
    pictures = all_of(tree, "svg")
    assert len(pictures) >= 10
    for picture in pictures:
        title, told = words_of(all_of(picture, "title")[0]), words_of(all_of(picture, "desc")[0])
        assert picture.get("role") == "img"
        assert title and re.search(r"\d", told)


def test_nothing_is_drawn_outside_its_picture(tree: ET.Element) -> None:
    for picture in all_of(tree, "svg"):
        _, _, width, height = map(float, picture.get("viewBox").split())
        for element in picture.iter():
            for across in ("x", "x1", "x2", "cx"):
                assert 0 <= float(element.get(across, 0)) <= width
            for down in ("y", "y1", "y2", "cy"):
                assert 0 <= float(element.get(down, 0)) <= height
            points = np.array([tuple(map(float, p.split(","))) for p in element.get("points", "").split()])
            assert not points.size or (points.min() >= 0 and (points.max(axis=0) <= [width, height]).all())


@pytest.mark.parametrize("many", [7, 99, 1710, 24_300])
def test_no_label_is_cut_at_the_edge(month_review: Review, many: int) -> None:
    """A label that ends at its mark begins within the picture: twelve pixels of a digit are at most seven wide."""
    errors = np.repeat([3.0, -12.0, 14.0], [many, 2, 1])
    course = PitchCurve(month_review.tables["target"][0], ((1, 0.5 * many), (2, float(many))), percent=False)
    for picture in (prebend_picture(errors, Bands()), course_picture(course, 0)):
        for element in ET.fromstring(picture).iter("text"):
            if element.get("class") == "tick end":
                assert float(element.get("x")) - 7.0 * len(element.text or "") >= 0, element.text


def test_no_picture_draws_labels_without_end(month_review: Review) -> None:
    far = Estimate(11_000.0, 10_900.0, 11_900.0, 20)
    row = replace(month_review.tables["target"][0], bias_cents=far, spread_cents=900.0)
    assert bias_picture([row], Bands()).count("<text") < 20
    assert prebend_picture(np.array([-11_990.0, 11_990.0]), Bands()).count("<text") < 20


@pytest.mark.parametrize(
    ("estimate", "words"),
    [
        (Estimate(-22.0, -25.0, -20.0, 40), "−22 (−25…−20)"),
        (Estimate(0.3, -0.2, 0.4, 90_000), "+0.3 (−0.2…+0.4)"),
        (Estimate(0.31, 0.27, 0.36, 900_000), "+0.31 (+0.27…+0.36)"),
        (Estimate(-0.04, -0.2, 0.1, 90_000), "0.0 (−0.2…+0.1)"),
        (Estimate(2.0, 2.0, 2.0, 90_000), "+2.00 (+2.00…+2.00)"),
    ],
)
def test_an_interval_never_reads_as_nothing(estimate: Estimate, words: str) -> None:
    assert cents_words(estimate, signed=True) == words


def test_the_interval_of_a_share_never_reads_as_nothing() -> None:
    assert share_words(Estimate(0.3142, 0.3129, 0.3155, 500_000)) == "31.4 % (31.3…31.6)"
    assert share_words(Estimate(0.31, 0.24, 0.39, 150)) == "31 % (24…39)"


def test_a_players_name_is_text_not_markup(month_review: Review) -> None:
    players = ("<script>alert(1)</script>", *month_review.players[1:])
    page = page_of(replace(month_review, players=players))
    assert "<script" not in page and "&lt;script&gt;" in page


@pytest.mark.parametrize(
    "choice", [Selection(key="A blues"), Selection(session=1), Selection(player="Nobody"), Selection(target="b3 curl")]
)
def test_a_small_review_is_a_sound_page_too(month: Path, choice: Selection) -> None:
    parser = html5lib.HTMLParser(strict=True)  # raises at the first fault
    assert parser.parse(page_of(review_of(month, choice, with_pictures=True))) is not None


def luminance(colour: str) -> float:
    """Relative luminance by WCAG 2.2."""
    parts = np.array([int(colour[at : at + 2], 16) for at in (1, 3, 5)]) / 255
    linear = np.where(parts <= 0.04045, parts / 12.92, ((parts + 0.055) / 1.055) ** 2.4)
    return float(linear @ [0.2126, 0.7152, 0.0722])


def contrast(one: str, other: str) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize("theme", [0, 1], ids=["light", "dark"])
@pytest.mark.parametrize(("name", "least"), [("ink", 7.0), ("soft", 4.5), ("mark", 4.5)])
def test_letters_and_marks_stand_out(theme: int, name: str, least: float) -> None:
    """WCAG 2.2: 1.4.3 asks 4.5 to 1 of text, 1.4.6 seven to one, 1.4.11 three to one of what pictures are made of."""
    palette = dict(re.findall(r"--(\w+): (#\w{6});", re.findall(r":root \{(.*?)\}", STYLE, re.S)[theme]))
    assert contrast(palette[name], palette["paper"]) >= least
    assert contrast(palette["mark"], palette["band"]) >= 3.0


@pytest.fixture(scope="module")
def browse(tmp_path_factory: pytest.TempPathFactory, page: str) -> Callable[..., subprocess.CompletedProcess[str]]:
    """`browse(width, "--screenshot=FILE")`: the page in Chromium, in a frame as wide as asked."""
    folder = tmp_path_factory.mktemp("page")
    assert shutil.which("chromium"), "make test installs chromium"

    def run(width: int, *flags: str, probe: str = "", height: int = 3000) -> subprocess.CompletedProcess[str]:
        inside = page.replace("</body>", f"{probe}</body>")
        (folder / "frame.html").write_text(
            f'<body style="margin:0"><iframe srcdoc="{escape(inside)}" style="width:{width}px;height:3000px;border:0">'
            "</iframe></body>",
            encoding="utf-8",
        )
        profile = tmp_path_factory.mktemp("profile")
        size = f"--window-size={max(width, 500)},{height}"
        command = ["chromium", *QUIET, f"--user-data-dir={profile}", size, *flags, (folder / "frame.html").as_uri()]
        return subprocess.run(command, check=True, capture_output=True, text=True, timeout=60)

    return run


MEASURE = """<script>
const wide = [...document.querySelectorAll('body *')].filter(e => !e.closest('.wide') && e.getBoundingClientRect().right
  > document.documentElement.clientWidth + 1).map(e => e.tagName);
const least = Math.min(...[...document.querySelectorAll('svg text')].map(e => e.getBoundingClientRect().height));
parent.document.title = `over:${wide.join(',')} page:${document.documentElement.scrollWidth} least:${least.toFixed(1)}`;
</script>"""


@pytest.mark.parametrize("width", [PHONE, DESK])
def test_in_a_browser_the_page_never_scrolls_sideways_and_letters_stay_letters(
    browse: Callable[..., object], width: int
) -> None:
    found = re.search(
        r"<title>over:(\S*) page:(\d+) least:([\d.]+)</title>", browse(width, "--dump-dom", probe=MEASURE).stdout
    )
    assert found, "the probe did not run"
    assert found[1] == ""
    assert int(found[2]) == width
    assert float(found[3]) >= 11, "pixels of height that the smallest letters of a picture have"


@pytest.mark.parametrize(
    ("scheme", "paper"), [("1", (0xFC, 0xFC, 0xFA)), ("0", (0x16, 0x17, 0x1A))], ids=["light", "dark"]
)
def test_in_a_browser_the_reader_chooses_light_or_dark(
    browse: Callable[..., object], tmp_path: Path, scheme: str, paper: tuple[int, int, int]
) -> None:
    shot = f"--screenshot={tmp_path / 'page.png'}"
    browse(PHONE, f"--blink-settings=preferredColorScheme={scheme}", shot, height=FIRST_LOOK)
    picture = Image.open(tmp_path / "page.png").convert("RGB").crop((0, 0, PHONE, FIRST_LOOK))
    dots, counts = np.unique(np.asarray(picture).reshape(-1, 3), axis=0, return_counts=True)
    assert tuple(dots[counts.argmax()]) == paper
    assert len(dots) > 50, "nothing was drawn"
