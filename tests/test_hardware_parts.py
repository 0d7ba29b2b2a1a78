"""The hardware page against arithmetic: corners, currents, drops, levels; and drawings and template at their size.

Formulas are the textbook's; limits come from the standards that `docs/hardware_parts.py` names.
"""

from __future__ import annotations

import importlib.util
import re
import sys
import xml.etree.ElementTree as ET
from itertools import combinations
from math import hypot, log10, pi
from pathlib import Path

import pytest

DOCS = Path(__file__).resolve().parent.parent / "docs"
PAGE = (DOCS / "hardware.md").read_text()


def load(name: str):
    sys.path.insert(0, str(DOCS))
    try:
        spec = importlib.util.spec_from_file_location(name, DOCS / f"{name}.py")
        module = importlib.util.module_from_spec(spec)
        sys.modules[name] = module
        spec.loader.exec_module(module)
        return module
    finally:
        sys.path.remove(str(DOCS))


kit, parts = load("drawing_kit"), load("hardware_parts")
maker = load("make_hardware")
BUFFER = parts.Buffer()


def db(ratio: float) -> float:
    return 20 * log10(ratio)


def said(pattern: str) -> float:
    """The figure that the page gives where the pattern's group stands."""
    found = re.search(pattern, PAGE, re.DOTALL)
    assert found, pattern
    return float(found[1])


# ---- circuits


@pytest.mark.parametrize(
    ("figure", "worked_out", "within"),
    [
        (r"with 1 MΩ: ([\d.]+) Hz", 1 / (2 * pi * 1e6 * 22e-9), 0.05),
        (r"\(E2, 82.4 Hz\) ([\d.]+) dB", 10 * log10(1 + (7.234 / 82.41) ** 2), 0.005),
        (r"at B1 ([\d.]+)", 10 * log10(1 + (7.234 / 61.74) ** 2), 0.005),
        (r"10 kΩ of pickup lose ([\d.]+) dB", -db(1e6 / 1.01e6), 0.005),
        (r"47 pF .*?\| ([\d.]+) MHz", 1e-6 / (2 * pi * 1e3 * 47e-12), 0.05),
        (r"pickup's 10 kΩ \(([\d.]+) µV", 1e6 * (4 * 1.380649e-23 * 300 * 10e3 * 20e3) ** 0.5, 0.05),
        (r"the middle of the swing \| ([\d.]+) Hz", 1 / (2 * pi * 50e3 * 10e-6), 0.05),
        (r"supply's 100 Hz is (\d+) dB", -db(0.5 / (1 + (100 / 0.3183) ** 2) ** 0.5), 0.5),
        (r"out of the amplifier \| (\d+) Hz", 1 / (2 * pi * 100 * 100e-6), 0.5),
        (r"16 Hz, (\d+) dB at 1 kHz", db((1 + (1000 / 15.9) ** 2) ** 0.5), 0.5),
        (r"drops ([\d.]+) V at 2 mA", 100 * 2e-3, 0.05),
        (r"and clicks away \| ([\d.]+) Hz into 10 kΩ", 1 / (2 * pi * (1e9 / 110e3 + 100) * 10e-6), 0.05),
        (r"It passes peaks of ([\d.]+) V", (5 - 0.2) / 2 - 0.1, 0.05),
        (r"some ([\d.]+) V peak \(1 V\s+RMS", 2**0.5, 0.05),
        (r"passive pickup of 10 kΩ loses (\d) to", -db(10 / 20), 0.5),
        (r"loses 6 to ([\d.]+) dB", -db(50 / 60), 0.05),
        (r"4.7 kΩ more: ([\d.]+) kΩ together", 1 / (1 / 1.8 + 1 / 4.7), 0.05),
        (r"together, ([\d.]+) mA in a line", 3.3 / (1 / (1 / 1.8 + 1 / 4.7)), 0.05),
        (r"parts may have (\d+) pF", 300e-9 / (0.8473 * 1301.5) * 1e12, 5),
        (r"Two modules on one bus: ([\d.]+) kΩ", 1 / (1 / 1.8 + 2 / 4.7), 0.05),
        (r"1.0 kΩ and ([\d.]+) mA", 3.3 / (1 / (1 / 1.8 + 2 / 4.7)), 0.1),
        (r"contact then settles in (\d+) ms", 1e3 * 10e3 * 100e-9, 0.1),
        (r"AWG 28 drops ([\d.]+) V", 2 * 0.2129, 0.005),
        (r"AWG 24 ([\d.]+) V", 2 * 0.0842, 0.005),
        (r"AWG 20 ([\d.]+) V", 2 * 0.0333, 0.005),
    ],
)
def test_figures_of_the_page(figure, worked_out, within):
    assert said(figure) == pytest.approx(worked_out, abs=within)


def test_the_buffer_of_the_description_is_that_of_the_page():
    assert (BUFFER.low_hz, BUFFER.radio_hz) == pytest.approx((7.234, 3.386e6), rel=1e-3)
    assert (BUFFER.half_hz, BUFFER.supply_hz) == pytest.approx((0.318, 15.92), rel=2e-3)
    assert BUFFER.out_hz(10e3) == pytest.approx(1.73, abs=0.01)
    assert parts.loss_db(BUFFER.low_hz, 30.87) < 0.3  # the low B of a bass
    assert BUFFER.bias_ohm >= 1e6
    assert BUFFER.swing_peak_v() > 2.0  # a strong pickup


@pytest.mark.parametrize(("gauge", "ohm_km"), [(20, 33.3), (24, 84.2), (28, 212.9)])
def test_wires_have_the_resistance_of_the_tables(gauge, ohm_km):
    """Ohms a kilometre of solid annealed copper, as wire tables print them (from memory)."""
    assert parts.wire_ohm_m(gauge) * 1e3 == pytest.approx(ohm_km, rel=0.01)


def test_bus_leads_and_contacts_of_the_description_are_those_of_the_page():
    pull = parts.parallel(parts.BUS_PULL_OHM, parts.MODULE_PULL_OHM)
    assert said(r"parts may have (\d+) pF") == pytest.approx(1e12 * parts.most_bus_f(pull), abs=5)
    assert said(r"too slow for (\d+) kHz") == parts.BUS_HZ / 1e3
    assert said(r"pickup's 10 kΩ \(([\d.]+) µV") == pytest.approx(1e6 * parts.hiss_v(10e3), abs=0.05)
    assert said(r"contact then settles in (\d+) ms") == pytest.approx(1e3 * parts.SWITCH_PULL_OHM * parts.SWITCH_C_F)
    assert said(r"complains below ([\d.]+) V") == parts.LEAD_LEAST_V
    for gauge in (28, 24, 20):
        drop_v = parts.lead_drop_v(gauge, metres=1.0, amperes=1.0)
        assert said(rf"AWG {gauge} (?:drops )?([\d.]+) V") == pytest.approx(drop_v, abs=0.005)


def test_currents_stay_within_what_their_sources_may_give():
    lamp = (parts.PIN_V - parts.LAMP_V) / parts.LAMP_OHM
    assert lamp == pytest.approx(3e-3, abs=0.1e-3)
    assert lamp < parts.PIN_MOST_A
    pull = parts.parallel(parts.BUS_PULL_OHM, parts.MODULE_PULL_OHM)
    assert parts.PIN_V / pull < parts.BUS_SINK_A
    assert parts.PIN_V / parts.SWITCH_SERIES_OHM < parts.PIN_MOST_A  # the capacitor into a closing contact
    large = sum(draw.most_a for draw in parts.CURRENTS if not draw.part.startswith("small"))
    small = sum(draw.usual_a for draw in parts.CURRENTS if not draw.part.startswith("large"))
    assert large < 3.0
    assert small < 2.0
    assert next(draw for draw in parts.CURRENTS if "USB" in draw.part).most_a <= parts.USB_MOST_A


@pytest.mark.parametrize("draw", parts.CURRENTS, ids=lambda draw: draw.part)
def test_the_table_of_currents_is_that_of_the_description(draw):
    def words(amperes: float) -> str:
        return f"{amperes * 1e3:g} mA" if amperes < 0.01 else f"{amperes:g} A"

    assert f"| {draw.part} | {words(draw.usual_a)} | {words(draw.most_a)}" in PAGE


# ---- wiring


def test_the_leads_are_those_of_the_table_and_of_the_settings():
    table = PAGE.split("## Wiring")[1].split("\n## ")[0]
    for lead in (*parts.PANEL_I2C, *parts.PANEL_SPI, *parts.SWITCHES_AND_LAMP):
        rows = [line for line in table.splitlines() if line.startswith("|") and f"| {lead.pin} |" in line]
        assert rows, lead
        gpio = parts.HEADER[lead.pin].split()[0]
        assert any(gpio in row or gpio in {"ground", "3.3"} for row in rows), lead


@pytest.mark.parametrize("leads", [parts.PANEL_I2C, parts.PANEL_SPI, parts.SWITCHES_AND_LAMP])
def test_no_lead_goes_where_it_must_not(leads):
    """Ground to ground, power to 3.3 V, never 5 V to anything."""
    wanted = {"ground": "ground", "power": "3.3 V"}
    for lead in leads:
        assert parts.HEADER[lead.pin] != "5 V"
        if lead.kind in wanted:
            assert parts.HEADER[lead.pin] == wanted[lead.kind]
        else:
            assert parts.HEADER[lead.pin].startswith("GPIO")
    pins = [lead.pin for lead in leads]
    assert len(set(pins)) == len(pins)


def test_all_together_no_pin_is_used_twice_but_by_the_panel_s_two_ways():
    for panel in (parts.PANEL_I2C, parts.PANEL_SPI):
        pins = [lead.pin for lead in (*panel, *parts.SWITCHES_AND_LAMP)]
        assert len(set(pins)) == len(pins)
        assert not {12, 35, 38, 40} & set(pins)  # a codec's


# ---- the template


@pytest.mark.parametrize("face", parts.FACES, ids=lambda face: face.name)
def test_holes_lie_in_the_face_and_apart(face):
    edge, between = parts.NEAREST_EDGE_MM, parts.LEAST_BETWEEN_MM
    for hole in face.holes:
        r = hole.diameter / 2
        assert edge <= hole.x - r <= hole.x + r <= face.columns - edge, hole
        assert edge <= hole.y - r <= hole.y + r <= face.rows - edge, hole
        for window in face.windows:
            dx = max(window.x - hole.x, 0, hole.x - window.x - window.columns)
            dy = max(window.y - hole.y, 0, hole.y - window.y - window.rows)
            assert hypot(dx, dy) - r >= between, (hole, window)
    for one, other in combinations(face.holes, 2):
        apart = hypot(one.x - other.x, one.y - other.y) - (one.diameter + other.diameter) / 2
        assert apart >= between, (one, other)


def test_the_case_holds_what_goes_in():
    columns, rows, height = parts.CASE_MM
    assert parts.TOP.columns == parts.BACK.columns == columns
    assert (parts.TOP.rows, parts.BACK.rows) == (rows, height)
    assert all(case - 2 * parts.SHEET_MM > board for case, board in zip((columns, rows), parts.BOARD_MM, strict=True))
    feet = [hole for hole in parts.TOP.holes if hole.name.startswith("switch")]
    assert abs(feet[0].x - feet[1].x) >= parts.FEET_APART_MM
    (window,), (lit,) = parts.TOP.windows, parts.TOP.behind
    assert window.x < lit.x
    assert window.y < lit.y
    assert (lit.columns, lit.rows) == parts.ACTIVE_MM
    assert f"{columns:g} × {rows:g} × {height:g} mm" in PAGE
    board, holes = parts.BOARD_MM, parts.BOARD_HOLES_MM
    assert f"{board[0]:g} × {board[1]:g} mm, holes {holes[0]:g} × {holes[1]:g} mm apart" in PAGE


def test_the_svg_is_at_its_size():
    root = ET.fromstring(maker.template().svg())
    assert (root.get("width"), root.get("height"), root.get("viewBox")) == ("297mm", "210mm", "0 0 297 210")
    circles = [
        (float(c.get("cx")), float(c.get("cy")), 2 * float(c.get("r"))) for c in root if c.tag.endswith("circle")
    ]
    wanted, y = [], 6.0
    for face in parts.FACES:
        wanted += [(10 + hole.x, y + 4 + hole.y, hole.diameter) for hole in face.holes]
        y += face.rows + 9
    assert len(circles) == len(wanted)
    for seen, hole in zip(circles, wanted, strict=True):
        assert seen == pytest.approx(hole)
    assert 'd="M222 96 L222 196"' in maker.template().svg()  # the bar: 100 mm


def test_everything_lies_on_the_sheet():
    for drawing in (maker.template(), maker.tap(), maker.buffer(BUFFER), maker.wiring("panel", parts.PANEL_SPI)):
        for item in drawing.items:
            points = item.points if isinstance(item, kit.Path) else ((item.x, item.y),)
            for x, y in points:
                assert 4 <= x <= drawing.width - 4, item
                assert 4 <= y <= drawing.height - 3, item


def test_the_pdf_is_at_its_size_and_whole():
    raw = maker.template().pdf()
    text = raw.decode("cp1252")
    box = [float(word) for word in re.search(r"/MediaBox \[([^\]]+)\]", text)[1].split()]
    assert box == pytest.approx([0, 0, 297 / 25.4 * 72, 210 / 25.4 * 72], abs=0.01)  # A4 lying, in points
    assert "/PrintScaling /None" in text
    scale = float(re.search(r"stream\n([\d.]+) 0 0 -", text)[1])
    bar = re.search(r"(222\.0+) (96\.0+) m 222\.0+ (196\.0+) l", text)
    assert (float(bar[3]) - float(bar[2])) * scale == pytest.approx(100 / 25.4 * 72, abs=0.001)
    places = [int(line[:10]) for line in re.findall(r"^\d{10} 00000 n", text, re.MULTILINE)]
    assert [raw[place : place + 7] for place in places] == [f"{n} 0 obj".encode() for n in range(1, 5)]
    length = int(re.search(r"/Length (\d+)", text)[1])
    start = raw.index(b"stream\n") + 7
    assert raw[start + length : start + length + 10] == b"\nendstream"
    assert raw[int(re.search(r"startxref\n(\d+)", text)[1]) :].startswith(b"xref")


@pytest.mark.parametrize("name", sorted(maker.drawn()))
def test_what_is_kept_is_what_is_drawn(name):
    assert (DOCS / name).read_bytes() == maker.drawn()[name], "python docs/make_hardware.py draws it anew"


def test_no_drawing_is_left_that_nobody_draws():
    kept = {path.name for path in DOCS.glob("hardware-*") if path.suffix in {".svg", ".pdf"}}
    assert kept == {*maker.drawn(), "hardware-blocks.svg"}
