"""Looks at papers with others' eyes: poppler draws and reads them, qpdf checks them, zbar reads their codes.

paper.py PROGRAM: prints each check, and `N passed, N failed` last. Run `cargo test` before: it leaves papers of made-up
things beside the program. With RENEW=1 in the environment the small pictures in papers/ are drawn again, to be looked at
before they are kept.
"""
import os
import re
from pathlib import Path

import numpy as np
from checks import program, run
from paper_demo import Demo
from paper_exact import PLAN, bars, check_tape, check_templates, check_two_metres
from paper_tools import DPI, FINE, codes, pages, paper, tool, tool_bytes, work
from paper_words import check_codes, check_words
from PIL import Image

SEED = 7_190_005
MM = DPI / 25.4
PICTURES = Path(__file__).parent / "papers"
# Fourteen bands of fourteen colours: every hatch there is.
BANDS = [f"{32 / 14:.6f} in: colour{n}" for n in range(14)]


def sound(file):
    """What must hold of every file."""
    tool("qpdf", "--check", str(file))
    fonts = tool("pdffonts", str(file)).splitlines()[2:]
    assert fonts, "no font"
    for font in fonts:
        embedded, subset, unicode = font.split()[-5:-2]
        assert (embedded, subset, unicode) == ("yes", "yes", "yes"), font
        assert re.match(r"[A-Z]{6}\+(NotoSans|DejaVuSans)", font), font
    told = tool("pdfinfo", str(file))
    assert re.search(r"^Tagged:\s+yes", told, re.M), told
    assert re.search(r"^Title:\s+\S", told, re.M), told
    assert b"/Lang" in tool_bytes("qpdf", "--qdf", "--object-streams=disable", str(file), "-")


def check_hatches(binary):
    """Black and white keeps every distinction: no two of fourteen colours look alike, and each has its letter."""
    flags = [*PLAN, *[word for band in BANDS for word in ("--band", band)]]
    file = paper(binary, "change-tape", *flags, name="hatches")
    words = tool("pdftotext", str(file), "-")
    for n in range(14):
        assert f"{chr(65 + n)} colour{n}" in words, n
    # The key: each hatch in its box, in reading order. A patch is told by its tone and by how it changes both ways.
    looks = []
    boxes = tool("pdftotext", "-bbox", "-f", "1", "-l", "1", str(file), "-")
    page = pages(file)[0].astype(float) / 255
    for n in range(14):
        word = re.search(rf'xMin="([\d.]+)" yMin="([\d.]+)" xMax="[\d.]+" yMax="([\d.]+)">{chr(65 + n)}</word>', boxes)
        x, top, bottom = (float(part) / 72 * 25.4 for part in word.groups())
        # Its box stands before its letter: 1.6 em wide, half an em before it, at 9.5 points.
        em = 9.5 / 72 * 25.4
        right, left = x - 0.5 * em - 0.5, x - 2.1 * em + 0.5
        middle = (top + bottom) / 2
        patch = page[round((middle - 1.4) * MM):round((middle + 1.4) * MM), round(left * MM):round(right * MM)]
        looks.append((patch.mean(), np.abs(np.diff(patch, axis=0)).mean(), np.abs(np.diff(patch, axis=1)).mean(),
                      np.abs(patch[1:, 1:] - patch[:-1, :-1]).mean(), np.abs(patch[1:, :-1] - patch[:-1, 1:]).mean()))
    least = min((max(abs(a - b) for a, b in zip(one, other)), n, m)
                for n, one in enumerate(looks) for m, other in enumerate(looks[:n]))
    assert least[0] >= 0.04, f"colours {least[1]} and {least[2]} look alike ({least[0]:.3f})"
    return f"the two most alike differ by {least[0]:.2f}"


def check_demo(binary, demo):
    rug = demo.first("/rugs", r"/rugs/[0-9a-f]{8}-[0-9a-f-]{27}")
    term = demo.first("/terms", r"/terms/[0-9a-f]{8}-[0-9a-f-]{27}")
    loan = demo.first("/loans", r"/loans/[0-9a-f]{8}-[0-9a-f-]{27}")
    frame = demo.first("/frames", r"/frames/[0-9a-f]{8}-[0-9a-f-]{27}")
    grid = "across=3&down=7&wide={}&high={}&left=0.4+in&top=0.4+in&between=0&below=0&skip=0&edges=yes"
    for size in ("a4", "letter"):
        tags = f"size={size}&" + grid.format("2.4+in", "1.4+in")
        for path, name, says, coded in [
            (f"{rug}/card.pdf?size={size}", "card", "Warp, joined in one ball", f"{rug}?paper="),
            (f"{rug}/card.pdf?print=large&size={size}", "card-large", "First row.", f"{rug}?paper="),
            (f"{rug}/tape.pdf?size={size}", "tape", "Change tape, full size", f"{rug}?paper="),
            (f"{rug}/reading.pdf?size={size}", "reading", "At your left", f"{rug}?paper="),
            (f"{rug}/reading.pdf?print=large&size={size}", "reading-large", "Reaches", f"{rug}?paper="),
            (f"{rug}/booklet.pdf?size={size}", "booklet", "1. Cut or tear the strips", f"{rug}/guide"),
            (f"{rug}/first-row.pdf?size={size}", "first-row", "Cross between, through each nail’s loop", f"{rug}/stepper?row=1"),
            (f"{rug}/care.pdf?size={size}", "care", "Wash delicate and cool", None),
            (f"{term}/cards.pdf?size={size}", "cards", "Warp card", "?paper="),
            (f"{term}/wall.pdf?size={size}", "wall", "Who has which frame when", f"{term}/timetable"),
            (f"/pull.pdf?size={size}", "pull", "Pull sheet", "/pull"),
            (f"{loan}/slip.pdf?size={size}", "slip", "Due back on", loan),
            (f"{frame}/template.pdf?size={size}", "template", "Nail template, full size", None),
            (f"/cloth/tags.pdf?state=all&{tags}", "tags", "Percale", "/b/"),
            (f"/frames/tags.pdf?{tags}", "frame-tags", "nails per end", "/frames/"),
        ]:
            file = demo.paper(path, f"{name}-{size}")
            sound(file)
            words = " ".join(tool("pdftotext", str(file), "-").split())
            assert says in words, f"{name} doesn't say {says!r}"
            read = codes(file)
            if coded is None:
                assert not read
            else:
                assert read and all(demo.base in code and coded in code for code in read), f"{name}: {read}"
            if name in ("card", "tape", "template"):
                bars(pages(file, FINE))
            if name == "booklet":
                # Read out, the steps follow each other, though on the sheets they don't.
                heard = tool("pdfinfo", "-struct-text", str(file))
                # Each heading's text, and what it is called.
                steps = [int(number) for number in re.findall(r'"(\d+)\. [A-Z]', heard)]
                assert steps == [step for step in range(1, 20) for _ in range(2)], f"heard in this order: {steps}"
            if name == "cards":
                count = int(re.search(r"^Pages:\s+(\d+)", tool("pdfinfo", str(file)), re.M)[1])
                assert count == len(read), f"{count} pages, {len(read)} codes"
            if name in ("tags", "frame-tags"):
                # As many codes as labels, each another.
                assert len(set(read)) == len(read) and len(read) > 10, f"{name}: {len(read)} codes"
    # A phone that reads a fresh card is told that it holds; one that reads an old one, what changed.
    code = codes(work / "card-a4.pdf")[0]
    live = demo.get("", code).decode()
    assert "Your paper is still right" in live
    old = demo.get("", re.sub(r"paper=(\d+)\.(\d+)", lambda m: f"paper=0.{int(m[2]) + 500}", code)).decode()
    assert "Your paper is out of date" in old and "Warp, joined in one ball" in old
    rug_id, term_id, loan_id = rug[6:], term[7:], loan[7:]
    data = ["--data", str(work / "demo"), "--public-url", demo.base]
    for kind, of in [("warp-card", ["--rug", rug_id]), ("warp-card", ["--term", term_id]), ("warp-card", ["--rug", rug_id, "--large"]),
                     ("reading-card", ["--rug", rug_id]), ("guide-booklet", ["--rug", rug_id]), ("first-row", ["--rug", rug_id]), ("care-labels", ["--term", term_id]), ("pull-sheet", []),
                     ("wall-sheet", ["--term", term_id]), ("loan-slip", ["--loan", loan_id]),
                     ("bundle-tags", ["--to", "40", "--edges"]), ("frame-tags", ["--across", "2", "--down", "5"])]:
        sound(paper(binary, kind, *of, *data, name="kept"))
    # The same plan from the page and from the command gives the same codes.
    assert codes(paper(binary, "warp-card", "--rug", rug_id, *data, name="again")) == [code]
    return "15 papers on two sizes, 12 by the command"


def check_pictures(binary):
    """Small pictures of papers that are always the same, compared with those that were looked at and kept."""
    renew = os.environ.get("RENEW") == "1"
    samples = sorted((Path(binary).resolve().parent.parent / "tmp" / "papers").glob("*.pdf"))
    assert samples, "no samples: run cargo test first"
    drawn = set()
    for sample in samples:
        sound(sample)
        file = work / sample.name
        file.write_bytes(sample.read_bytes())
        for n, page in enumerate(pages(file, 24)):
            picture = PICTURES / f"{sample.stem}-{n + 1}.png"
            drawn.add(picture.name)
            if renew:
                Image.fromarray(page).save(picture, optimize=True)
                continue
            assert picture.exists(), f"{picture.name} was never looked at"
            kept = np.array(Image.open(picture))
            assert kept.shape == page.shape, f"{picture.name} has another size"
            # Another poppler may smooth otherwise; a line of text that came, went or moved changes many pixels altogether.
            off = (np.abs(kept.astype(int) - page.astype(int)) > 64).mean()
            assert off < 0.003, f"{picture.name} looks otherwise now: {off:.1%} of its pixels"
    kept = {picture.name for picture in PICTURES.glob("*.png")}
    assert kept == drawn, f"pictures of no paper: {kept - drawn}"
    return f"{len(drawn)} pages"


def main(binary):
    demo = Demo(binary)
    try:
        return run(SEED, [
            ("nails of random frames stand within 0.1 mm over joined pages", lambda pick: check_templates(binary, pick)),
            ("so do those of a frame of two metres", lambda _: check_two_metres(binary)),
            ("bands, meetings and rulers of change tapes stand within 0.1 mm", lambda pick: check_tape(binary, pick)),
            ("fourteen hatches can be told apart in black and white", lambda _: check_hatches(binary)),
            ("every paper of the demo: fonts, tags, words, codes, bars", lambda _: check_demo(binary, demo)),
            ("every figure of the cards stands under its own heading", lambda _: check_words(demo)),
            ("every code leads to what stands beside it", lambda _: check_codes(demo)),
            ("small pictures of each paper are as they were looked at", lambda _: check_pictures(binary)),
        ])
    finally:
        demo.close()


if __name__ == "__main__":
    raise SystemExit(main(program(__doc__)))
