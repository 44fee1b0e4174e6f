"""Draws docs/wiring.svg, the wires between the Pi, the converter and the sounder, and how the thermocouple is placed.

    python docs/wiring.py            draw it anew

``WIRES`` is the one list of them. tests/test_wiring.py holds the tables of docs/install.md, the drawing and the pins
that the program uses against it.
"""

from __future__ import annotations

from dataclasses import dataclass
from html import escape
from pathlib import Path

TARGET = Path(__file__).parent / "wiring.svg"


@dataclass(frozen=True)
class Wire:
    """One wire: from a board to a pin of the Pi's header.

    Attributes
    ----------
    pad
        What the board calls it.
    role
        What the Pi calls it, as docs/install.md has it.
    pin
        The pin's number on the header.
    """

    pad: str
    role: str
    pin: int

    @property
    def place(self) -> str:
        """Return the Pi's end in words."""
        return f"{self.role}, pin {self.pin}"


CONVERTER = (
    Wire("VIN", "3.3 V", 1), Wire("GND", "ground", 6), Wire("SDI", "GPIO 10 (MOSI)", 19),
    Wire("SDO", "GPIO 9 (MISO)", 21), Wire("SCK", "GPIO 11 (SCLK)", 23), Wire("CS", "GPIO 8 (CE0)", 24),
)
"""The converter hangs on SPI bus 0; its chip select 0 is what ``/dev/spidev0.0`` drives."""
SWITCH = (Wire("IN 1, sounder", "GPIO 17", 11), Wire("GND", "ground", 14), Wire("IN 2, lamp", "GPIO 27", 13))
"""The optional board, at the pins that docs/settings.md names."""
WIRES = CONVERTER + SWITCH

WIDTH, HEIGHT = 860, 1180
PAPER, INK, PALE = "#fbfaf5", "#1c1b19", "#e6e2d6"
ROWS, PITCH, TOP, LEFT = 13, 44, 140, 416
"""The header: rows drawn, distance of two rows, the first row's height, the left column's place."""
DISC = 14
"""Radius of a pin."""
CONVERTER_EDGE, SWITCH_EDGE = 174, 674
"""Where the wires leave the boards."""
BOARD_FOOT = TOP + 11.5 * PITCH + 40
"""The lower edge of the converter."""
PROBE = 930
"""The height of the thermocouple."""


def text(x: float, y: float, words: str, *, anchor: str = "start", size: int = 17, bold: bool = False) -> str:
    """Return a line of text."""
    weight = ' font-weight="bold"' if bold else ""
    return (f'<text x="{x:g}" y="{y:g}" text-anchor="{anchor}" font-size="{size}"{weight} fill="{INK}">'
            f"{escape(words)}</text>")


def line(points: str, *, width: float = 2, dashed: bool = False) -> str:
    """Return a line through points."""
    dash = ' stroke-dasharray="7 5"' if dashed else ""
    return f'<polyline points="{points}" fill="none" stroke="{INK}" stroke-width="{width:g}"{dash}/>'


def box(x: float, y: float, width: float, height: float, *, fill: str = PAPER, dashed: bool = False) -> str:
    """Return a rectangle."""
    dash = ' stroke-dasharray="7 5"' if dashed else ""
    return (f'<rect x="{x:g}" y="{y:g}" width="{width:g}" height="{height:g}" fill="{fill}" stroke="{INK}" '
            f'stroke-width="1.5"{dash}/>')


def disc(x: float, y: float, radius: float, *, fill: str = PAPER) -> str:
    """Return a circle."""
    return f'<circle cx="{x:g}" cy="{y:g}" r="{radius:g}" fill="{fill}" stroke="{INK}" stroke-width="1.5"/>'


def centre(pin: int) -> tuple[float, float]:
    """Return where a pin is: odd ones left, even ones right."""
    return LEFT + (0 if pin % 2 else PITCH), TOP + (pin - 1) // 2 * PITCH


def wire(at: Wire, edge: float, *, dashed: bool = False) -> str:
    """Return a wire with its words; one to the far column runs below its row and turns up."""
    x, y = centre(at.pin)
    from_left = edge < x
    is_near = (at.pin % 2 == 1) == from_left
    level = y if is_near else y + PITCH / 2
    side = -1 if from_left else 1
    end = x + side * DISC if is_near else x
    turn = "" if is_near else line(f"{x:g},{level:g} {x:g},{y + DISC:g}")
    middle = (edge + LEFT + (-DISC if from_left else PITCH + DISC)) / 2
    return (line(f"{edge:g},{level:g} {end:g},{level:g}", dashed=dashed) + turn
            + text(middle, level - 5, at.place, anchor="middle", size=15) + disc(edge, level, 3, fill=INK)
            + text(edge + side * 10, level + 6, at.pad, anchor="end" if from_left else "start", bold=True))


def header() -> str:
    """Return the Pi's header, seen from above."""
    used = {at.pin for at in WIRES}
    bottom = TOP + (ROWS - 1) * PITCH
    middle = LEFT + PITCH / 2
    parts = [box(LEFT - 28, TOP - 72, PITCH + 56, bottom - TOP + 132),
             text(middle, TOP - 46, "Raspberry", anchor="middle", bold=True),
             text(middle, TOP - 26, "Pi", anchor="middle", bold=True)]
    for pin in range(1, 2 * ROWS + 1):
        x, y = centre(pin)
        parts += [disc(x, y, DISC, fill=PALE if pin in used else PAPER),
                  text(x, y + 5, str(pin), anchor="middle", size=14, bold=pin in used)]
    parts += [text(middle, bottom + 42, "to pin 40", anchor="middle", size=14)]
    return "".join(parts)


def boards() -> str:
    """Return the two boards and their wires."""
    sounder = TOP + 5.5 * PITCH
    middle = SWITCH_EDGE + 78
    return "".join([
        box(36, TOP - 40, CONVERTER_EDGE - 36, BOARD_FOOT - TOP + 40),
        text(24, TOP - 54, "Converter MAX31856", bold=True),
        *(wire(at, CONVERTER_EDGE) for at in CONVERTER),
        box(SWITCH_EDGE, sounder - 36, 156, 116, dashed=True),
        text(middle, sounder - 72, "Transistor or relay", anchor="middle", bold=True),
        text(middle, sounder - 50, "board, if you like", anchor="middle", bold=True),
        *(wire(at, SWITCH_EDGE, dashed=True) for at in SWITCH),
        text(middle, sounder + 106, "Inputs for 3.3 V.", anchor="middle", size=15),
        text(middle, sounder + 126, "Never 5 V on", anchor="middle", size=15),
        text(middle, sounder + 146, "a GPIO pin.", anchor="middle", size=15),
    ])


def thermocouple() -> str:
    """Return the thermocouple with its wire and plug."""
    return "".join([
        line(f"78,{BOARD_FOOT:g} 78,{PROBE + 8} 130,{PROBE + 8}"),
        line(f"112,{BOARD_FOOT:g} 112,{PROBE - 8} 130,{PROBE - 8}"),
        text(78, BOARD_FOOT - 10, "+", anchor="middle", size=20, bold=True),
        text(112, BOARD_FOOT - 10, "−", anchor="middle", size=20, bold=True),
        text(128, BOARD_FOOT + 34, "Extension wire of"), text(128, BOARD_FOOT + 56, "the same type, + to +,"),
        text(128, BOARD_FOOT + 78, "away from mains cables"),
        box(130, PROBE - 18, 56, 36, fill=PALE), text(158, PROBE - 28, "plug", anchor="middle"),
        box(186, PROBE - 8, 384, 16), disc(558, PROBE, 4, fill=INK),
        text(586, PROBE - 26, "junction, insulated from"), text(586, PROBE - 4, "its sheath, at the height"),
        text(586, PROBE + 18, "of the shelf"),
    ])


def kiln() -> str:
    """Return the wall, elements and shelf around the thermocouple, and the two distances."""
    high, low, inside = PROBE - 150, PROBE + 150, 360
    shelf = PROBE + 62
    return "".join([
        '<defs><pattern id="brick" width="9" height="9" patternUnits="userSpaceOnUse" '
        f'patternTransform="rotate(45)"><rect width="9" height="9" fill="{PAPER}"/>'
        f'<line x1="0" y1="0" x2="0" y2="9" stroke="{INK}" stroke-width="1.2"/></pattern></defs>',
        box(inside - 80, high, 80, low - high, fill="url(#brick)"),
        text(inside + 12, high + 14, "wall of the kiln"),
        *(disc(inside + 22, PROBE + up, 11, fill=PALE) for up in (-106, -62, 74, 118)),
        text(inside + 48, PROBE - 88, "elements and their leads:"),
        text(inside + 48, PROBE - 66, "nothing may touch them"),
        box(590, shelf, 240, 12, fill=PALE), box(620, shelf - 20, 180, 20),
        box(606, shelf + 12, 14, low - shelf - 12, fill=PALE), box(800, shelf + 12, 14, low - shelf - 12, fill=PALE),
        text(710, shelf - 4, "glass", anchor="middle", size=15), text(710, shelf + 32, "shelf", anchor="middle"),
        span(inside, 558, PROBE + 26), text(inside + 48, PROBE + 50, "10 × its thickness"),
        span(24, inside - 80, low + 24),
        text(24, low + 52, "Pi and its box: 300 mm or more"), text(24, low + 74, "from the hot outside"),
        text(WIDTH - 24, low + 74, "Not to scale", anchor="end", size=15),
    ])


def span(start: float, end: float, y: float) -> str:
    """Return a line that measures a distance."""
    ends = "".join(line(f"{x:g},{y - 7:g} {x:g},{y + 7:g}", width=1.2) for x in (start, end))
    return line(f"{start:g},{y:g} {end:g},{y:g}", width=1.2) + ends


def drawing() -> str:
    """Return the whole drawing as SVG."""
    told = "; ".join(f"{at.pad} to {at.place}" for at in CONVERTER)
    switched = "; ".join(f"{at.pad} to {at.place}" for at in SWITCH)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" width="{WIDTH}" height="{HEIGHT}" '
        'role="img" aria-labelledby="wiring-title wiring-desc" font-family="system-ui, sans-serif">'
        '<title id="wiring-title">How Lehrling is wired, and where its thermocouple goes</title>'
        f'<desc id="wiring-desc">Converter to Raspberry Pi: {escape(told)}. Transistor or relay board, if you have '
        f"one: {escape(switched)}. The thermocouple goes through the wall of the kiln at the height of the shelf, "
        "clear of the elements; the Pi is away from the heat.</desc>"
        f'<rect width="{WIDTH}" height="{HEIGHT}" fill="{PAPER}"/>'
        + text(24, 36, "Kiln cold, and unplugged or its isolator off. Pi without power.", size=19, bold=True)
        + header() + boards() + kiln() + thermocouple() + "</svg>\n")


if __name__ == "__main__":
    TARGET.write_text(drawing(), encoding="utf-8")
