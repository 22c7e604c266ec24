"""What the checks of papers share: poppler's drawings and words with their places, zbar's reading of codes."""
import re
import subprocess
import tempfile
from dataclasses import dataclass
from html import unescape
from pathlib import Path

import numpy as np
from PIL import Image

DPI = 300
# For what is measured: a pixel is 0.04 mm.
FINE = 600
POINT = 25.4 / 72
work = Path(tempfile.mkdtemp())


def tool(*command):
    return subprocess.run(command, check=True, capture_output=True, text=True).stdout


def tool_bytes(*command):
    return subprocess.run(command, check=True, capture_output=True).stdout


def paper(binary, kind, *flags, name="paper"):
    file = work / f"{name}.pdf"
    subprocess.run([binary, "paper", kind, *flags, "--out", str(file)], check=True)
    return file


def pages(file, dpi=DPI):
    """Its pages as arrays of grey, 0 for black."""
    stem = file.with_suffix("")
    for old in stem.parent.glob(f"{stem.name}-[0-9]*.pgm"):
        old.unlink()
    tool("pdftoppm", "-r", str(dpi), "-gray", str(file), str(stem))
    return [np.array(Image.open(page)) for page in sorted(stem.parent.glob(f"{stem.name}-[0-9]*.pgm"))]


def runs(line):
    """Where a line of pixels is dark: first and one past last."""
    dark = np.concatenate(([0], (line < 128).astype(int), [0]))
    edges = np.flatnonzero(np.diff(dark))
    return list(zip(edges[::2], edges[1::2]))


def longest(page, least):
    """Lengths of dark horizontal lines longer than that."""
    return {b - a for row in page for a, b in runs(row) if b - a >= least}


@dataclass
class Word:
    """A word and the box around it, in millimetres from its page's top left corner."""
    page: int
    text: str
    left: float
    top: float
    right: float
    bottom: float


def words(file):
    """Every word of a file, in reading order."""
    found, page = [], -1
    for line in tool("pdftotext", "-bbox", str(file), "-").splitlines():
        if "<page " in line:
            page += 1
        box = re.search(r'<word xMin="([\d.-]+)" yMin="([\d.-]+)" xMax="([\d.-]+)" yMax="([\d.-]+)">(.*)</word>', line)
        if box:
            left, top, right, bottom = (float(part) * POINT for part in box.groups()[:4])
            found.append(Word(page, unescape(box[5]), left, top, right, bottom))
    return found


def said(found):
    return " ".join(word.text for word in found)


def within(found, page, left, top, right, bottom):
    """Those whose middle lies in a box."""
    return [word for word in found if word.page == page and left <= (word.left + word.right) / 2 < right
            and top <= (word.top + word.bottom) / 2 < bottom]


def decoded(picture):
    """Every QR code of a picture, as a phone reads it."""
    file = work / "code.png"
    Image.fromarray(picture).save(file)
    read = subprocess.run(["zbarimg", "--quiet", "--nodbus", "--raw", "-Sdisable", "-Sqrcode.enable", str(file)],
                          capture_output=True, text=True)
    # Status 4 says that there is no code in it.
    assert read.returncode in (0, 4), read.stderr
    return read.stdout.split()


def codes(file):
    """Every QR code of a file, page by page."""
    return [code for page in pages(file) for code in decoded(page)]


def code_in(page, left, top, right, bottom):
    """The only code in a box of a page drawn at the usual fineness."""
    scale = DPI / 25.4
    found = decoded(np.ascontiguousarray(page[round(top * scale):round(bottom * scale), round(left * scale):round(right * scale)]))
    assert len(found) == 1, f"{len(found)} codes within {left:.0f} to {right:.0f}, {top:.0f} to {bottom:.0f} mm"
    return found[0]
