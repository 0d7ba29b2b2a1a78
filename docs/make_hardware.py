"""Draw the hardware page's pictures and the drill template: `python docs/make_hardware.py [FOLDER]`."""

from __future__ import annotations

import sys
from pathlib import Path

from drawing_kit import BLUE, BROWN, GREEN, GREY, INK, RED, Drawing
from hardware_parts import (
    BAR_MM,
    CASE_MM,
    FACES,
    HEADER,
    PANEL_I2C,
    PANEL_SPI,
    SWITCHES_AND_LAMP,
    Buffer,
    Face,
    Lead,
)

COLOURS = {"power": RED, "bus": BLUE, "signal": GREEN, "lamp": BROWN, "ground": INK}
ROW, TOP_Y, ODD_X, EVEN_X = 7.0, 26.0, 40.0, 50.0


def wiring(name: str, leads: tuple[Lead, ...]) -> Drawing:
    """Header pins 1 to 26 on the left, terminals on the right, one lane for each lead."""
    leads = tuple(sorted(leads, key=lambda lead: (lead.pin + 1) // 2))
    said = "; ".join(f"pin {lead.pin} ({HEADER[lead.pin]}) to {lead.terminal}" for lead in leads)
    sheet = Drawing(190, 128, f"{name} wired to the 40-pin header", said)
    sheet.write(8, 10, f"{name}: 40-pin header, pins 1 to 26", size=4.2, bold=True)
    sheet.write(8, 15.5, "seen from above; pin 1 has the square pad; dotted: ground", colour=GREY)
    sheet.box(ODD_X - 6, TOP_Y - 6, 22, 13 * ROW + 5)
    used = {lead.pin for lead in leads}
    for pin in range(1, 27):
        x, y = (ODD_X if pin % 2 else EVEN_X), TOP_Y + ROW * ((pin - 1) // 2)
        fill, ink = (INK, "#fff") if pin in used else ("#fff", INK)
        if pin == 1:
            sheet.box(x - 2.4, y - 2.4, 4.8, 4.8, fill=fill)
        else:
            sheet.circle(x, y, 4.8, fill=fill)
        sheet.write(x, y + 1, str(pin), size=2.7, anchor="middle", colour=ink)
        if pin % 2:
            sheet.write(ODD_X - 8, y + 1.1, HEADER[pin], size=3, anchor="end")
    for place, lead in enumerate(leads):
        _lead(sheet, lead, place, len(leads))
    return sheet


def _lead(sheet: Drawing, lead: Lead, place: int, count: int) -> None:
    y = TOP_Y + ROW * ((lead.pin - 1) // 2)
    end_y = TOP_Y + 13 * ROW / max(count, 1) * place * 0.98
    lane = 72 + (3.4 * (place if end_y < y else count - place))
    start = [(ODD_X + 2.4, y), (ODD_X + 4, y - 3.5)] if lead.pin % 2 else [(EVEN_X + 2.4, y)]
    dash = 0.8 if lead.kind == "ground" else None
    turn_y = start[-1][1]
    sheet.line(*start, (lane, turn_y), (lane, end_y), (124, end_y), colour=COLOURS[lead.kind], width=0.5, dash=dash)
    sheet.circle(125.2, end_y, 2.4, fill="#fff")
    sheet.write(128.5, end_y + 1.2, lead.terminal)
    sheet.write(122, end_y - 1, str(lead.pin), size=2.7, anchor="end", colour=GREY)


def tap() -> Drawing:
    """Two sockets, the wire between them, and one ground."""
    words = "tip to tip, sleeve to sleeve; the branch to the interface by a screened lead; the case joined at one screw"
    sheet = Drawing(190, 92, "The tap: guitar and amplifier joined by a wire", words)
    sheet.write(8, 10, "The tap", size=4.2, bold=True)
    sheet.write(
        8, 15.5, "sockets that are insulated from the case; ground meets the case at one screw only", colour=GREY
    )
    for x, name in ((30, "guitar in"), (95, "to amplifier"), (160, "interface, 1 MΩ")):
        sheet.box(x - 16, 26, 32, 26)
        sheet.write(x, 32, name, anchor="middle", bold=True)
        sheet.circle(x - 8, 42, 3, fill=INK)
        sheet.write(x - 8, 38.5, "tip", anchor="middle", size=3)
        sheet.circle(x + 8, 42, 3, fill="#fff")
        sheet.write(x + 8, 38.5, "sleeve", anchor="middle", size=3)
    for left, right in ((22, 87), (87, 152)):
        sheet.line((left, 43.5), (left, 60), (right, 60), (right, 43.5), colour=GREEN, width=0.6)
    for left, right in ((38, 103), (103, 168)):
        sheet.line((left, 43.5), (left, 68), (right, 68), (right, 43.5), width=0.5, dash=0.8)
    sheet.line((103, 68), (103, 77), width=0.5)
    for step, half in enumerate((6, 4, 2)):
        sheet.line((103 - half, 77 + 1.6 * step), (103 + half, 77 + 1.6 * step), width=0.6)
    sheet.write(112, 79, "one screw to the case, on bare metal", size=3.2)
    sheet.write(42, 58.6, "a plain wire", size=3, colour=GREEN)
    sheet.write(112, 58.6, "screened, short", size=3, colour=GREEN)
    return sheet


def _resistor(sheet: Drawing, x: float, y: float, words: str, *, upright: bool = False) -> None:
    """Ten long, its middle at (x, y)."""
    if upright:
        sheet.box(x - 1.7, y - 4, 3.4, 8)
        sheet.line((x, y - 6), (x, y - 4))
        sheet.line((x, y + 4), (x, y + 6))
        sheet.write(x + 3, y + 1.2, words, size=3)
    else:
        sheet.box(x - 4, y - 1.7, 8, 3.4)
        sheet.line((x - 6, y), (x - 4, y))
        sheet.line((x + 4, y), (x + 6, y))
        sheet.write(x, y - 3, words, size=3, anchor="middle")


def _capacitor(sheet: Drawing, x: float, y: float, words: str, *, upright: bool = False) -> None:
    if upright:
        sheet.line((x, y - 6), (x, y - 0.8))
        sheet.line((x, y + 0.8), (x, y + 6))
        sheet.line((x - 3, y - 0.8), (x + 3, y - 0.8), width=0.6)
        sheet.line((x - 3, y + 0.8), (x + 3, y + 0.8), width=0.6)
        sheet.write(x + 4, y + 1.2, words, size=3)
    else:
        sheet.line((x - 6, y), (x - 0.8, y))
        sheet.line((x + 0.8, y), (x + 6, y))
        sheet.line((x - 0.8, y - 3), (x - 0.8, y + 3), width=0.6)
        sheet.line((x + 0.8, y - 3), (x + 0.8, y + 3), width=0.6)
        sheet.write(x, y - 4.4, words, size=3, anchor="middle")


def _ground(sheet: Drawing, x: float, y: float) -> None:
    for step, half in enumerate((3, 2, 1)):
        sheet.line((x - half, y + 1.1 * step), (x + half, y + 1.1 * step), width=0.45)


def value(number: float, unit: str) -> str:
    """An engineer's figure: 22e-9, "F" -> "22 nF"."""
    for power, letter in ((1e6, "M"), (1e3, "k"), (1.0, ""), (1e-3, "m"), (1e-6, "µ"), (1e-9, "n"), (1e-12, "p")):
        if number >= power * 0.9999:
            return f"{number / power:.3g} {letter}{unit}"
    return f"{number:g} {unit}"


def buffer(parts: Buffer) -> Drawing:
    """A follower with 1 MΩ at its input, on half of a filtered supply of 5 V."""
    ohm, farad = (lambda number: value(number, "Ω")), (lambda number: value(number, "F"))
    words = (
        f"tip through {farad(parts.couple_f)} and {ohm(parts.series_ohm)} to an amplifier as a follower; "
        f"{ohm(parts.bias_ohm)} to half the supply; out through {farad(parts.out_f)} and {ohm(parts.out_ohm)}"
    )
    sheet = Drawing(190, 112, "A buffer of 1 MΩ before a codec's line input", words)
    sheet.write(8, 10, "A buffer of 1 MΩ before a codec's line input", size=4.2, bold=True)
    y = 60.0
    sheet.circle(12, y, 2.4, fill="#fff")
    sheet.write(8, y - 4, "tip", size=3)
    sheet.line((13.2, y), (18, y))
    _capacitor(sheet, 24, y, farad(parts.couple_f))
    sheet.line((30, y), (44, y))
    _resistor(sheet, 50, y, ohm(parts.series_ohm))
    sheet.line((56, y), (84, y))
    sheet.line((37, y), (37, 52))
    _resistor(sheet, 37, 46, ohm(parts.bias_ohm), upright=True)
    sheet.line((37, 40), (37, 34), (118, 34))
    sheet.circle(37, y, 1.2, fill=INK)
    sheet.line((64, y), (64, 66))
    sheet.circle(64, y, 1.2, fill=INK)
    _capacitor(sheet, 64, 72, farad(parts.radio_f), upright=True)
    sheet.line((64, 78), (64, 84))
    _ground(sheet, 64, 84)
    # The amplifier: a triangle, its minus joined to its output.
    sheet.line((84, 50), (84, 74), (104, 62), closed=True)
    sheet.write(86, y + 1.2, "+", size=4)
    sheet.write(86, 69, "−", size=4)
    sheet.line((84, 68), (79, 68), (79, 80), (109, 80), (109, 62))
    sheet.line((104, 62), (116, 62))
    sheet.circle(109, 62, 1.2, fill=INK)
    _capacitor(sheet, 122, 62, farad(parts.out_f))
    sheet.line((128, 62), (136, 62))
    _resistor(sheet, 142, 62, ohm(parts.out_ohm))
    sheet.line((148, 62), (170, 62))
    sheet.circle(171.2, 62, 2.4, fill="#fff")
    sheet.write(160, 58, "codec, line in", size=3)
    sheet.circle(132, 62, 1.2, fill=INK)
    sheet.line((132, 62), (132, 68))
    _resistor(sheet, 132, 74, ohm(parts.drain_ohm), upright=True)
    sheet.line((132, 80), (132, 84))
    _ground(sheet, 132, 84)
    # Half the supply.
    sheet.write(60, 32.4, "half the supply", size=3, colour=GREY)
    sheet.circle(118, 34, 1.2, fill=INK)
    _resistor(sheet, 118, 28, ohm(parts.half_ohm), upright=True)
    sheet.line((118, 22), (118, 20), (150, 20))
    sheet.line((118, 34), (118, 36))
    _resistor(sheet, 118, 42, ohm(parts.half_ohm), upright=True)
    _ground(sheet, 118, 48)
    sheet.line((118, 34), (100, 34), (100, 36))
    _capacitor(sheet, 100, 42, farad(parts.half_f), upright=True)
    _ground(sheet, 100, 48)
    _resistor(sheet, 156, 20, ohm(parts.supply_ohm))
    sheet.line((162, 20), (172, 20))
    sheet.write(174, 21.2, "5 V", size=3.4, colour=RED)
    sheet.circle(146, 20, 1.2, fill=INK)
    sheet.line((146, 20), (146, 28))
    _capacitor(sheet, 146, 34, farad(parts.supply_f), upright=True)
    _ground(sheet, 146, 40)
    sheet.write(92, 26, "to the amplifier's", size=3, colour=GREY, anchor="middle")
    sheet.write(92, 30, "supply as well", size=3, colour=GREY, anchor="middle")
    sheet.line((118, 20), (94, 20), (94, 22))
    lines = (
        "Amplifier: rail to rail in and out at 5 V, stable at a gain of 1, FET input, 100 nF across its supply.",
        "Two diodes from its + input to the supply and to ground keep a charged lead from harming it.",
    )
    for number, line in enumerate(lines):
        sheet.write(8, 98 + 5 * number, line, size=3)
    return sheet


def template() -> Drawing:
    """All faces at their size on one sheet of A4, with a bar to measure the print by."""
    columns, rows, height = CASE_MM
    sheet = Drawing(
        297, 210, "Drill template, 1:1", f"Faces of a folded-steel case of {columns:g} by {rows:g} by {height:g} mm"
    )
    y = 6.0
    for face in FACES:
        _face(sheet, face, 10, y + 4)
        y += face.rows + 9
    x = 214.0
    sheet.write(x, 14, "Drill template, 1:1", size=5, bold=True)
    notes = (
        f"case {columns:g} x {rows:g} x {height:g} mm, folded steel",
        "Print at 100 %, not fitted to the page.",
        "Measure the bar below: 100 mm.",
        "Cut out, tape on, punch the middles,",
        "drill 3 mm first, then to size.",
        "Window: drill its corners, saw, file.",
        "Measure your panel and sockets first:",
        "their holes differ.",
        "Board out while drilling. Eyes protected.",
        "Clamp the sheet: steel climbs the drill.",
    )
    for number, line in enumerate(notes):
        sheet.write(x, 24 + 6 * number, line, size=3.4)
    bar_x, bar_y = 222.0, 96.0
    sheet.line((bar_x, bar_y), (bar_x, bar_y + BAR_MM), width=0.3)
    for tick in range(11):
        at = bar_y + BAR_MM * tick / 10
        sheet.line((bar_x, at), (bar_x + (4 if tick % 5 == 0 else 2), at), width=0.3)
    sheet.write(bar_x + 7, bar_y + BAR_MM / 2, f"{BAR_MM:g} mm from end to end")
    return sheet


def _face(sheet: Drawing, face: Face, x: float, y: float) -> None:
    sheet.write(x, y - 1.2, face.name, size=3.2, colour=GREY)
    sheet.box(x, y, face.columns, face.rows, width=0.3)
    for window in face.windows:
        sheet.box(x + window.x, y + window.y, window.columns, window.rows, width=0.3)
        words = f"{window.name}: {window.columns:g} x {window.rows:g}"
        sheet.write(x + window.x + window.columns / 2, y + window.y + window.rows + 4, words, size=3, anchor="middle")
    for behind in face.behind:
        sheet.box(x + behind.x, y + behind.y, behind.columns, behind.rows, width=0.2, dash=1, colour=GREY)
    for hole in face.holes:
        at_x, at_y, reach = x + hole.x, y + hole.y, hole.diameter / 2 + 2
        sheet.circle(at_x, at_y, hole.diameter, width=0.3)
        sheet.line((at_x - reach, at_y), (at_x + reach, at_y), width=0.15)
        sheet.line((at_x, at_y - reach), (at_x, at_y + reach), width=0.15)
        if not hole.name.startswith("panel"):
            words = f"{hole.name} {hole.diameter:g}"
            sheet.write(at_x, at_y + reach + 3.4, words, size=3, anchor="middle")


def drawn() -> dict[str, bytes]:
    """Every file by its name."""
    sheet = template()
    drawings = {
        "hardware-i2c": wiring("Panel on I2C", PANEL_I2C),
        "hardware-spi": wiring("Panel on SPI", PANEL_SPI),
        "hardware-switches": wiring("Switches and lamp", SWITCHES_AND_LAMP),
        "hardware-tap": tap(),
        "hardware-buffer": buffer(Buffer()),
        "hardware-drill": sheet,
    }
    files = {f"{name}.svg": drawing.svg().encode() for name, drawing in drawings.items()}
    return files | {"hardware-drill.pdf": sheet.pdf()}


if __name__ == "__main__":
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent
    for file_name, content in drawn().items():
        (folder / file_name).write_bytes(content)
