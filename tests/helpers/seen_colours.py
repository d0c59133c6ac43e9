"""Colours as people see them who lack one kind of cone, or who have a grey print; and how far two are apart.

References
----------
.. [1] Machado, Oliveira, Fernandes, *A physiologically-based model for simulation of color vision deficiency*,
   IEEE Transactions on Visualization and Computer Graphics 15 (2009) 1291-1298: the matrices of severity 1.0.
.. [2] IEC 61966-2-1:1999, sRGB: its curve, and its matrix to CIE XYZ.
.. [3] ISO/CIE 11664-4:2019, CIE 1976 L*a*b*; the distance is its plain Euclidean one.
"""

from __future__ import annotations

import io
import re
from typing import TYPE_CHECKING, Final

import numpy as np
from numpy.typing import NDArray
from PIL import Image

if TYPE_CHECKING:
    from playwright.sync_api import Page

Colour = tuple[int, int, int]
Floats = NDArray[np.float64]

_TO_XYZ: Final = np.array(
    [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]]
)  # [2]
_WHITE: Final = _TO_XYZ.sum(axis=1)

KINDS: Final[dict[str, Floats]] = {
    "none": np.eye(3),
    "protanopia": np.array(
        [
            [0.152286, 1.052583, -0.204868],
            [0.114503, 0.786281, 0.099216],
            [-0.003882, -0.048116, 1.051998],
        ]
    ),
    "deuteranopia": np.array(
        [
            [0.367322, 0.860646, -0.227968],
            [0.280085, 0.672501, 0.047413],
            [-0.011820, 0.042940, 0.968881],
        ]
    ),
    "tritanopia": np.array(
        [
            [1.255528, -0.076749, -0.178779],
            [-0.078411, 0.930809, 0.147602],
            [0.004733, 0.691367, 0.303900],
        ]
    ),
    "achromatopsia": np.tile(_TO_XYZ[1], (3, 1)),
}
"""On linear red, green, blue [1]; without any colour what is left is the luminance [2]. Named as browsers name them."""


def simulated(colour: Colour, kind: str) -> Colour:
    """How a colour looks to somebody."""
    found = np.clip(KINDS[kind] @ _linear(colour), 0, 1)
    curved = np.where(found <= 0.0031308, 12.92 * found, 1.055 * found ** (1 / 2.4) - 0.055)
    red, green, blue = np.rint(255 * curved).astype(int)
    return int(red), int(green), int(blue)


def apart(one: Colour, other: Colour) -> float:
    """How far two colours are apart; a difference of about 2.3 is just noticed."""
    return float(np.linalg.norm(_lab(one) - _lab(other)))


def _linear(colour: Colour) -> Floats:
    share = np.array(colour) / 255
    return np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4)


def _lab(colour: Colour) -> Floats:
    share = _TO_XYZ @ _linear(colour) / _WHITE
    root = np.where(share > (6 / 29) ** 3, np.cbrt(share), share * (29 / 6) ** 2 / 3 + 4 / 29)
    return np.array([116 * root[1] - 16, 500 * (root[0] - root[1]), 200 * (root[1] - root[2])])


def drawn_in(page: Page, css: str, what: str) -> Colour:
    """The colour in which the page's style sheet draws a rectangle of these classes in a drawing of curves."""
    script = """([css, what]) => {
      const one = document.createElementNS('http://www.w3.org/2000/svg', 'rect');
      one.setAttribute('class', css); document.querySelector('svg.force').append(one);
      const found = getComputedStyle(one)[what]; one.remove(); return found; }"""
    red, green, blue = (int(part) for part in re.findall(r"\d+", page.evaluate(script, [css, what]))[:3])
    return red, green, blue


def seen_at(page: Page, selector: str) -> Colour:
    """The colour on the screen in the middle of the first thing of a kind."""
    place = page.locator(selector).first
    picture = np.asarray(Image.open(io.BytesIO(place.screenshot())).convert("RGB"))
    red, green, blue = picture[picture.shape[0] // 2, picture.shape[1] // 2].tolist()
    return red, green, blue
