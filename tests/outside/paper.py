"""Looks at papers with others' eyes: poppler draws and reads them, qpdf checks them, zbar reads their codes.

paper.py PROGRAM: prints each check, and `N passed, N failed` last. Run `cargo test` before: it leaves papers of made-up
things beside the program. With RENEW=1 in the environment the small pictures in papers/ are drawn anew, to be looked at
before they are kept.
"""
import http.cookiejar
import os
import re
import subprocess
import tempfile
import urllib.request
from pathlib import Path

import numpy as np
from checks import program, run
from PIL import Image

SEED = 7_190_005
DPI = 300
MM = DPI / 25.4
PICTURES = Path(__file__).parent / "papers"
PLAN = ["--span", "33 in", "--width", "18 in", "--nails", "33"]
# Fourteen bands of fourteen colours: every hatch there is.
BANDS = [f"{32 / 14:.6f} in: colour{n}" for n in range(14)]
work = Path(tempfile.mkdtemp())


def tool(*command):
    return subprocess.run(command, check=True, capture_output=True, text=True).stdout


def paper(binary, kind, *flags, name="paper"):
    file = work / f"{name}.pdf"
    subprocess.run([binary, "paper", kind, *flags, "--out", str(file)], check=True)
    return file


def pages(file, dpi=DPI):
    """Its pages as arrays of grey, 0 for black."""
    stem = file.with_suffix("")
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


def tool_bytes(*command):
    return subprocess.run(command, check=True, capture_output=True).stdout


def bars(file):
    """Both bars are right on every page, to two pixels at 300 dpi."""
    for page in pages(file):
        lower = page[int(page.shape[0] * 0.88):]
        found = longest(lower, 90 * MM)
        for length in (100.0, 101.6):
            best = min(abs(run - length * MM) for run in found)
            assert best <= 2, f"{length} mm is off by {best:.1f} px: {sorted(found)}"


def strips(file, across=20):
    """The lanes of a full-size paper joined again as a person would: the lines across them, in millimetres from the first
    lane's edge, read down a column in which nothing else stands."""
    places, offset = [], 0.0
    for page in pages(file):
        for lane in range(3):
            column = page[:, round((10 + 66 * lane + across) * MM)]
            found = [(a + b) / 2 / MM for a, b in runs(column) if b - a <= 0.6 * MM]
            # What stands above the lanes and below them isn't theirs: a lane's edges reach across it.
            left, right = round((10 + 66 * lane + 1) * MM), round((10 + 66 * lane + 57) * MM)
            whole = [y for y in found if (page[round(y * MM), left:right] < 128).all()]
            if len(whole) < 2:
                continue
            top, end = whole[0], whole[1]
            places += [offset + y - top for y in found if top + 0.3 < y < end - 0.3]
            offset += end - top
    return places, offset


def check_templates(binary, pick):
    worst = 0.0
    for n in range(12):
        nails = pick.randint(9, 90)
        pitch = pick.uniform(8.0, 26.0)
        width = min(pitch * (nails - 1), 1990.0)
        nails = int(width / pitch) + 1
        size = pick.choice(["a4", "letter"])
        flags = ["--span", f"{pick.uniform(300, 1800):.2f} mm", "--width", f"{pitch * (nails - 1) + 0.5:.3f} mm",
                 "--nails", str(nails), "--pitch", f"{pitch:.3f} mm", "--size", size]
        file = paper(binary, "nail-template", *flags, name=f"nails{n}")
        sound(file)
        bars(file)
        places, long = strips(file)
        assert len(places) == nails, f"{len(places)} crosses for {nails} nails: {flags}"
        for at, place in enumerate(places):
            off = abs(place - (20 + round(pitch, 3) * at))
            worst = max(worst, off)
            assert off <= 0.2, f"nail {at + 1} is {off:.2f} mm off: {flags}"
        assert abs(long - (40 + round(pitch, 3) * (nails - 1))) <= 0.2
    return f"12 frames, the worst nail {worst:.3f} mm off"


def check_two_metres(binary):
    file = paper(binary, "nail-template", "--span", "2 m", "--width", "2 m", "--nails", "141", "--units", "metric", name="long")
    sound(file)
    places, long = strips(file)
    assert len(places) == 141 and abs(long - 2040) <= 0.3, (len(places), long)
    worst = max(abs(place - (20 + 2000 / 140 * at)) for at, place in enumerate(places))
    assert worst <= 0.2, worst
    return f"{long:.1f} mm, the worst nail {worst:.3f} mm off"


def check_tape(binary):
    for size in ("a4", "letter"):
        flags = [*PLAN, "--band", "1 in: cream", "--band", "11 in: cream/rust", "--band", "20 in: navy",
                 "--meetings", "6", "--size", size, "--name", "Tide"]
        file = paper(binary, "change-tape", *flags, name=f"tape-{size}")
        sound(file)
        bars(file)
        words = " ".join(tool("pdftotext", str(file), "-").split())
        for said in ("Change tape, full size", "Band 1, A", "Band 2, A/B", "Band 3, C", "End of meeting 1", "print at 100 %"):
            assert said in words, said
        # The lanes together are as long as the rug, and the bands' lines are where the bands begin.
        _, long = strips(file, across=56)
        assert abs(long - 32 * 25.4) <= 0.3, long
        found, offset = [], 0.0
        for page in pages(file):
            for lane in range(3):
                left = 10 + 66 * lane
                edges = [y for a, b in runs(page[:, round((left + 56) * MM)]) for y in [(a + b) / 2 / MM]
                         if b - a <= 0.6 * MM and (page[round(y * MM), round((left + 1) * MM):round((left + 57) * MM)] < 128).all()]
                if len(edges) < 2:
                    continue
                # Just left of the hatches a band's line stands alone.
                column = page[:, round((left + 10.4) * MM)]
                found += [offset + (a + b) / 2 / MM - edges[0] for a, b in runs(column)
                          if edges[0] + 0.4 < (a + b) / 2 / MM < edges[1] - 0.4]
                offset += edges[1] - edges[0]
        for wanted in (25.4, 12 * 25.4):
            assert min(abs(place - wanted) for place in found) <= 0.2, (wanted, found)
    return f"{long:.2f} mm joined"


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


class Demo:
    """The demo, entered as its instructor."""

    def __init__(self, binary):
        self.process = subprocess.Popen([binary, "demo", "--data", str(work / "demo"), "--listen", "127.0.0.1:0"],
                                        stdout=subprocess.PIPE, text=True)
        link = ""
        while not link.startswith("weaver"):
            link = self.process.stdout.readline()
            assert link, "the demo ended"
            if link.startswith("instructor"):
                way_in = link.split()[1]
        self.base = re.match(r"https?://[^/]+", way_in)[0]
        jar = urllib.request.HTTPCookieProcessor(http.cookiejar.CookieJar())
        self.browser = urllib.request.build_opener(jar)
        self.get("", way_in)

    def get(self, path, address=None):
        return self.browser.open(address or self.base + path).read()

    def page(self, path):
        return self.get(path).decode()

    def paper(self, path, name):
        file = work / f"{name}.pdf"
        file.write_bytes(self.get(path))
        return file

    def first(self, path, pattern):
        return re.search(pattern, self.page(path))[0]


def codes(file):
    """Every QR code of the file, as a phone reads it."""
    stem = file.with_suffix("")
    tool("pdftoppm", "-r", str(DPI), "-gray", "-png", str(file), str(stem))
    found = []
    for page in sorted(stem.parent.glob(f"{stem.name}-[0-9]*.png")):
        # Status 4 says that there is no code on the page.
        read = subprocess.run(["zbarimg", "--quiet", "--nodbus", "--raw", "-Sdisable", "-Sqrcode.enable", str(page)],
                              capture_output=True, text=True)
        assert read.returncode in (0, 4), read.stderr
        found += read.stdout.split()
    return found


def check_demo(binary):
    demo = Demo(binary)
    try:
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
                (f"{rug}/care.pdf?size={size}", "care", "Wash delicate and cool", None),
                (f"{term}/cards.pdf?size={size}", "cards", "Warp card", "?paper="),
                (f"{term}/wall.pdf?size={size}", "wall", "Who has which frame when", f"{term}/timetable"),
                (f"/pull.pdf?size={size}", "pull", "Pull sheet", "/pull"),
                (f"{loan}/slip.pdf?size={size}", "slip", "Due back on", loan),
                (f"{frame}/template.pdf?size={size}", "template", "Nail template, full size", None),
                (f"/cloth/tags.pdf?state=all&{tags}", "tags", "Percale", "/cloth/"),
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
                    bars(file)
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
                         ("reading-card", ["--rug", rug_id]), ("care-labels", ["--term", term_id]), ("pull-sheet", []),
                         ("wall-sheet", ["--term", term_id]), ("loan-slip", ["--loan", loan_id]),
                         ("bundle-tags", ["--to", "40", "--edges"]), ("frame-tags", ["--across", "2", "--down", "5"])]:
            sound(paper(binary, kind, *of, *data, name="kept"))
        # The same plan from the page and from the command gives the same codes.
        assert codes(paper(binary, "warp-card", "--rug", rug_id, *data, name="again")) == [code]
        return "13 papers on two sizes, 10 by the command"
    finally:
        demo.process.terminate()
        demo.process.wait()


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
    return run(SEED, [
        ("nails of random frames stand within 0.2 mm over joined pages", lambda pick: check_templates(binary, pick)),
        ("so do those of a frame of two metres", lambda _: check_two_metres(binary)),
        ("a change tape is as long as its rug, its bands where they begin", lambda _: check_tape(binary)),
        ("fourteen hatches can be told apart in black and white", lambda _: check_hatches(binary)),
        ("every paper of the demo: fonts, tags, words, codes, bars", lambda _: check_demo(binary)),
        ("small pictures of each paper are as they were looked at", lambda _: check_pictures(binary)),
    ])


if __name__ == "__main__":
    raise SystemExit(main(program(__doc__)))
