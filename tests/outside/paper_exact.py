"""Full-size papers measured in what poppler draws at 600 dpi, to 0.1 mm: nails, bands, meetings, rulers, lanes and their joints,
and the bars that show whether a printer kept the scale. The lanes are joined as a person would join them."""
import json
import re

from paper_tools import FINE, longest, pages, paper, runs, said, tool, within, words

MM = FINE / 25.4
NEAR = 0.1
PLAN = ["--span", "33 in", "--width", "18 in", "--nails", "33"]
# Three lanes of 58 mm stand side by side, 8 mm apart, from 10 mm on.
LANES = [10.0 + 66.0 * n for n in range(3)]
WIDE = 58.0


def bars(drawn):
    """Both bars are right on every page."""
    for page in drawn:
        lower = page[int(page.shape[0] * 0.88):]
        found = longest(lower, 90 * MM)
        for length in (100.0, 101.6):
            best = min(abs(run / MM - length) for run in found)
            assert best <= NEAR, f"{length} mm is off by {best:.2f} mm"


def lines(page, x):
    """The middles of thin lines across a column, in millimetres."""
    return [(a + b) / 2 / MM for a, b in runs(page[:, round(x * MM)]) if b - a <= 0.6 * MM]


def lanes(drawn):
    """Page, left edge, first line, last line and how far along the whole each lane begins; joints are measured on the way."""
    found, offset = [], 0.0
    for number, page in enumerate(drawn):
        for left in LANES:
            inner, outer = round((left + 1) * MM), round((left + WIDE - 1) * MM)
            whole = [y for y in lines(page, left + 56) if (page[round(y * MM), inner:outer] < 128).all()]
            if len(whole) < 2:
                continue
            top, end = whole[0], whole[1]
            # Below the last lane comes the foot.
            if len(whole) > 2 and whole[2] - end < 12:
                # The tab's end, and the tips of the arrows beside: what the next lane's edge is laid on.
                assert abs(whole[2] - end - 8) <= NEAR, f"the tab is {whole[2] - end:.2f} mm long"
                for x in (left + 5, left + WIDE - 5):
                    tips = [a / MM for a, b in runs(page[:, round(x * MM)]) if 0.2 < a / MM - end < 3]
                    assert tips and abs(tips[0] - end - 0.6) <= 0.3, f"a joining mark is {tips} below a line at {end:.2f} mm"
            found.append((number, left, top, end, offset))
            offset += end - top
    # Each lane but the last ends in a tab.
    return found, offset


def marks(drawn, across, wanted=lambda a, b: b - a <= 0.6 * MM):
    """Where along the whole something stands that is drawn so far into a lane, ends of lanes left out."""
    found, long = lanes(drawn)
    places = []
    for number, left, top, end, offset in found:
        column = drawn[number][:, round((left + across) * MM)]
        middles = [(a + b) / 2 / MM for a, b in runs(column) if wanted(a, b)]
        places += [offset + y - top for y in middles if top + 0.3 < y < end - 0.3]
    return places, long


def joined_words(file, drawn):
    """What the words beside the joints say: lane by lane."""
    read = said(words(file))
    count = len(lanes(drawn)[0])
    for number in range(1, count):
        assert f"Line {number}: lane {number + 1} begins here" in read, f"line {number} of {count} lanes"
        assert f"Lay this edge on line {number}." in read, number
    return count


def nails_of(binary, name, flags, nails, pitch):
    file = paper(binary, "nail-template", *flags, name=name)
    drawn = pages(file, FINE)
    bars(drawn)
    places, long = marks(drawn, 20)
    assert len(places) == nails, f"{len(places)} crosses for {nails} nails: {flags}"
    worst = max(abs(place - (20 + pitch * at)) for at, place in enumerate(places))
    assert worst <= NEAR, f"a nail is {worst:.2f} mm off: {flags}"
    # No lane is begun for wood without nails: then the strip ends with a lane, at least 8 mm beyond its last nail.
    whole = 40 + pitch * (nails - 1)
    assert whole - 12 - NEAR <= long <= whole + NEAR, f"{long:.2f} mm: {flags}"
    joined_words(file, drawn)
    return worst


def check_templates(binary, pick):
    worst = 0.0
    for n in range(8):
        nails, pitch = pick.randint(9, 60), round(pick.uniform(8.0, 26.0), 3)
        flags = ["--span", f"{pick.uniform(300, 1800):.2f} mm", "--width", f"{pitch * (nails - 1) + 0.5:.3f} mm",
                 "--nails", str(nails), "--pitch", f"{pitch:.3f} mm", "--size", pick.choice(["a4", "letter"])]
        worst = max(worst, nails_of(binary, f"nails{n}", flags, nails, pitch))
    return f"8 frames, the worst nail {worst:.3f} mm off"


def check_two_metres(binary):
    flags = ["--span", "2 m", "--width", "2 m", "--nails", "141", "--units", "metric"]
    worst = nails_of(binary, "long", flags, 141, 2000 / 140)
    return f"2040 mm, the worst nail {worst:.3f} mm off"


def labels(file, drawn):
    """The words of each label of a tape, lane by lane."""
    read, found = words(file), []
    for number, left, top, end, _ in lanes(drawn)[0]:
        inside = within(read, number, left + 27, top, left + WIDE, end)
        text = said(sorted(inside, key=lambda word: (round(word.bottom), word.left)))
        found += re.split(r" (?=Band |End of )", text)
    return found


def check_tape(binary, pick):
    """Random bands: a thick line where each begins, an arrow where each meeting ends, a ruler, and the words to each."""
    worst, measured = 0.0, 0
    for n in range(4):
        heights = [pick.randint(24, 90) / 8 for _ in range(pick.randint(2, 4))]
        heights.append(32 - sum(heights))
        if heights[-1] < 3:
            heights = [10.0, 22.0]
        colours = [pick.choice(["cream", "rust", "navy/cream", "teal/rust"]) for _ in heights]
        bands = [word for high, colour in zip(heights, colours) for word in ("--band", f"{high} in: {colour}")]
        flags = [*PLAN, *bands, "--meetings", "6", "--size", pick.choice(["a4", "letter"])]
        file = paper(binary, "change-tape", *flags, "--name", "Tide", name=f"tape{n}")
        plan = json.loads(tool(binary, "reckon", "--json", *PLAN, *bands))
        drawn = pages(file, FINE)
        bars(drawn)
        joined_words(file, drawn)
        starts = [sum(heights[:at]) * 25.4 for at in range(len(heights))]
        # Just left of the hatches a band's line stands alone; the first lies on the tape's own edge.
        places, long = marks(drawn, 10.4)
        # Each joint is measured to a pixel.
        assert abs(long - 32 * 25.4) <= NEAR + len(lanes(drawn)[0]) / MM, long
        assert len(places) == len(starts) - 1, f"{len(places)} lines for {len(starts)} bands: {flags}"
        begun = [offset for *_, offset in lanes(drawn)[0]]
        for place, start in zip(places, starts[1:]):
            # A pixel more for each joint before it: lanes are measured to a pixel.
            joints = sum(offset < place for offset in begun) - 1
            off = abs(place - start)
            worst = max(worst, off)
            assert off <= NEAR + joints / MM, f"a band begins at {place:.2f} mm, not {start:.2f}: {flags}"
        rows = plan["weft"]["rows"]
        told = labels(file, drawn)
        # Where a lane has little room its labels say their first line only.
        found = [re.fullmatch(r"Band (\d+), \S+(?:.* row (\d+))?", one) for one in told if one.startswith("Band ")]
        assert all(found), told
        assert [int(one[1]) for one in found] == [at + 1 for at in range(len(starts))], told
        for one, start in zip(found, starts):
            before = start / long * rows
            assert one[2] is None or abs(int(one[2]) - 1 - before) <= 0.51, f"{one[0]!r} begins after row {before:.1f}"
        # An arrowhead's base is 2.4 mm high and stands where its meeting ends.
        ends, _ = marks(drawn, 27.0, lambda a, b: 2.2 * MM <= b - a <= 3.2 * MM)
        said_ends = [re.findall(r"End of meeting (\d+)(?: at ([\d/ ]+) in, row (\d+))?", one)[0] for one in told if one.startswith("End")]
        assert len(said_ends) > 1 and [int(one[0]) for one in said_ends] == sorted(int(one[0]) for one in said_ends), told
        # The last may stand on the tape's own end, where its mark isn't alone.
        assert len(said_ends) - 1 <= len(ends) <= len(said_ends), f"{ends}, but {said_ends}"
        for place, (meeting, at, row) in zip(sorted(ends), said_ends):
            if not row:
                continue
            inches = sum(int(a) / int(b or 1) for a, b in re.findall(r"(\d+)(?:/(\d+))?", at))
            assert abs(place - inches * 25.4) <= 25.4 / 16 + NEAR, f"meeting {meeting} is marked at {place:.1f} mm, not {at} in"
            # Bands have whole rows, so that rows of one band may be a little longer than those of another.
            assert abs(place - long * int(row) / rows) <= 0.51 * long / rows + NEAR, f"row {row} of {rows} is marked at {place:.2f} mm"
            measured += 1
        # The ruler: a longer line at each inch.
        inches, _ = marks(drawn, 3.5, lambda a, b: b - a <= 0.4 * MM)
        missed = [inch for inch in range(1, 32) if min(abs(place - inch * 25.4) for place in inches) > NEAR + len(begun) / MM]
        near_joint = {round(offset / 25.4) for offset in begun}
        assert not [inch for inch in missed if inch not in near_joint], f"no line at {missed} in"
    assert measured > 3, measured
    return f"4 rugs, {measured} ends of meetings, the worst band {worst:.3f} mm off"
