"""The demo's papers by poppler's words with their places, and their codes one by one, against the demo's own pages."""
import csv
import re
from fractions import Fraction

from paper_demo import text
from paper_tools import code_in, decoded, pages, said, within, words

ID = r"[0-9a-f]{8}-[0-9a-f-]{27}"
# An ounce of the international pound: 453.59237 g / 16 (1959).
OUNCE = 453.59237 / 16


def lines(found):
    """Words by the line they stand on, each from left to right."""
    rows = []
    for word in sorted(found, key=lambda word: (word.page, word.bottom, word.left)):
        if rows and rows[-1][0].page == word.page and abs(rows[-1][0].bottom - word.bottom) < 0.5:
            rows[-1].append(word)
        else:
            rows.append([word])
    return [sorted(row, key=lambda word: word.left) for row in rows]


def begins(rows, start):
    """The only line that begins so."""
    hits = [row for row in rows if (said(row) + " ").startswith(start + " ")]
    assert len(hits) == 1, f"{len(hits)} lines begin with {start!r}"
    return hits[0]


def beside(found, first):
    """What stands beside the only word of this text, whatever the sizes of type: each from left to right."""
    hits = [word for word in found if word.text == first]
    assert len(hits) == 1, f"{first!r} stands {len(hits)} times"
    at = hits[0]
    middle = lambda word: (word.top + word.bottom) / 2
    row = [word for word in found if word.page == at.page and word.left >= at.left and at.top < middle(word) < at.bottom]
    return sorted(row, key=lambda word: word.left)


def under(rows, heads, cells, figures):
    """Each cell stands in its row, and each figure ends below the end of its own heading."""
    head, row = begins(rows, " ".join(heads)), begins(rows, " ".join(cells))

    def ends(row, cells):
        at, found = -1, []
        for cell in cells:
            at += len(cell.split())
            found.append(row[at].right)
        return found

    for n, (wanted, right) in enumerate(zip(ends(head, heads), ends(row, cells))):
        assert n not in figures or abs(wanted - right) < 0.3, f"{cells[n]} ends {right - wanted:.1f} mm beside {heads[n]}"


def some_rugs(demo, count):
    """Open rugs of the demo: those that the cards of its term are printed for."""
    found = []
    for path in dict.fromkeys(re.findall(rf"/rugs/{ID}", demo.page("/rugs"))):
        if f"{path}/card.pdf" in demo.page(path) and len(found) < count:
            found.append(path)
    return found


WEFT = ["Colour", "Strip to cut", "Low", "Expected", "Take", "Joins, about"]
BANDS = ["Band", "From", "To", "First strand", "Other strand", "Rows"]
READING = ["Rows", "First strand", "Other strand", "At your left", "Reaches"]


def check_words(demo):
    """Warp and reading cards: each figure below its own heading, each box's figure below its title, as on the page."""
    rugs, cells = some_rugs(demo, 6), 0
    for n, path in enumerate(rugs):
        page = demo.page(f"{path}/card")
        found = words(demo.paper(f"{path}/card.pdf?size={'a4' if n % 2 else 'letter'}", f"words{n}"))
        rows = lines(found)
        for head, after, figures in [(WEFT, "Weft by colour", {1, 2, 3, 4, 5}), (BANDS, "Colour changes", {0, 1, 2, 5})]:
            # The face of the rug stands beside the bands: only what is left of it.
            left = rows if head is WEFT else lines([word for word in found if word.left < 140])
            for row in demo.table(f"{path}/card", after):
                under(left, head, row, figures)
                cells += len(row)
        for title, figure, rest in re.findall(r'<div class="paper-cell"><h2>(.*?)</h2><b[^>]*>(.*?)</b>(.*?)</div>', page, re.S):
            first = text(title).split()[0]
            at = next(word for row in rows for word in row if word.text == first and text(title) in said(row[row.index(word):]))
            below = said(sorted(within(found, at.page, at.left - 1, at.bottom, at.left + 60, at.bottom + 30),
                                key=lambda word: (round(word.bottom * 2), word.left)))
            wanted = f"{text(figure)} {text(rest)}"
            assert below.startswith(wanted), f"below {text(title)!r} stands {below!r}, not {wanted!r}"
            cells += 1
        for row in demo.table(f"{path}/reading"):
            if len(row) == 6:
                file = demo.paper(f"{path}/reading.pdf", f"reading{n}")
                shown = beside(words(file), row[1].split()[0])
                assert row[2] in said(shown) and said(shown).endswith(row[5]), f"{said(shown)!r}, but {row}"
                cells += 3
    return f"{cells} figures of {len(rugs)} rugs"


def weight(cell):
    """Grams of `2 lb 3 1/2 oz`."""
    found = re.fullmatch(r"(?:([\d.]+) lb)? ?(?:([\d. /]+) oz)?", cell)
    assert found and cell, cell
    ounces = sum(float(Fraction(part)) for part in (found[2] or "0").split())
    return float(found[1] or 0) * 16 * OUNCE + ounces * OUNCE


GRID = "across=3&down=7&wide=2.4+in&high=1.4+in&left=0.4+in&top=0.4+in&between=0&below=0&skip=0&edges=yes&size=a4"


def labels(file):
    """Each label of a sheet: its words from the largest, its code."""
    drawn, found = pages(file), words(file)
    for number, page in enumerate(drawn):
        for cell in range(21):
            left, top = 10.16 + 60.96 * (cell % 3), 10.16 + 35.56 * (cell // 3)
            inside = within(found, number, left, top, left + 60.96, top + 35.56)
            if not inside:
                return
            tall = max(word.bottom - word.top for word in inside)
            big = said([word for word in inside if word.bottom - word.top > 0.9 * tall])
            rest = said([word for word in inside if word.bottom - word.top <= 0.9 * tall])
            yield big, rest, code_in(page, left, top, left + 60.96, top + 35.56)


def check_codes(demo):
    """Each code by itself leads to the page of the thing that stands beside it."""
    counted = 0
    shelf = {row["tag"]: row for row in csv.DictReader(demo.page("/cloth.csv").lstrip("\ufeff").splitlines())}
    for big, rest, code in labels(demo.paper(f"/cloth/tags.pdf?state=all&{GRID}", "each-tag")):
        page = text(demo.get("", code).decode())
        assert re.search(rf"\bBundle {big}\b", page), f"the code on tag {big} leads to {page[:80]!r}"
        row = shelf[big]
        # A weight is of the day that stands beside it.
        came = re.search(r"((?:\d+ lb ?)?(?:[\d /]+ oz)?) on \w+ \d+ \w+$", rest)
        came = came and came[1].strip()
        assert came, f"tag {big} doesn't say what its bundle weighed: {rest}"
        shown = weight(came)
        assert abs(shown - float(row["weighed_in_g"])) <= OUNCE / 4 + 0.1, f"tag {big}: {rest}, but it came as {row['weighed_in_g']} g"
        assert row["colour"] in rest, f"tag {big}: {rest}"
        counted += 1
    for big, _, code in labels(demo.paper(f"/frames/tags.pdf?{GRID}", "each-frame")):
        page = demo.get("", code).decode()
        assert re.search(rf"<h1>(?:Frame )?{big}\b", page), f"the code on frame {big} leads elsewhere"
        counted += 1
    term = demo.first("/terms", rf"/terms/{ID}")
    file = demo.paper(f"{term}/cards.pdf?size=a4", "each-card")
    found = words(file)
    for number, page in enumerate(pages(file)):
        code = decoded(page)
        assert len(code) == 1, f"page {number + 1} has {len(code)} codes"
        live = demo.get("", code[0]).decode()
        name = text(re.search(r"<h1[^>]*>(.*?)</h1>", live, re.S)[1])
        weaver = text(re.search(r'class="lead">(.*?)’s rug', live)[1])
        read = said([word for word in found if word.page == number])
        assert f"Warp card {name} {weaver} ·" in read, f"page {number + 1} is of {read[:90]!r}, its code of {name}"
        assert "Your paper is still right" in live
        counted += 1
    loans = demo.page("/loans")
    for path in dict.fromkeys(re.findall(rf"/loans/{ID}", loans)):
        file = demo.paper(f"{path}/slip.pdf?size=letter", "each-slip")
        (code,) = decoded(pages(file)[0])
        assert code == demo.base + path, f"{code} on the slip of {path}"
        tag, weaver = re.search(r"<h1>Frame (.*?) with (.*?)</h1>", demo.page(path)).groups()
        found = words(file)
        assert f"{text(weaver)}, for the rug" in said(found) and tag in [word.text for word in found], said(found)
        counted += 1
    return f"{counted} codes, each leads to what stands beside it"
