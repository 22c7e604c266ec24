"""The demo, entered as its instructor, and what its pages say."""
import http.cookiejar
import re
import subprocess
import urllib.request
from html import unescape

from paper_tools import work


class Demo:
    """The demo, entered as its instructor."""

    def __init__(self, binary):
        self.data = str(work / "demo")
        self.process = subprocess.Popen([binary, "demo", "--data", self.data, "--listen", "127.0.0.1:0"],
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
        enter = urllib.request.Request(way_in, b"", {"Origin": self.base, "Sec-Fetch-Site": "same-origin"})
        self.browser.open(enter).read()

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

    def table(self, path, after=""):
        """The rows of the first table of a page, or of the first after some words: the texts of its cells."""
        page = self.page(path).split(after, 1)[1] if after else self.page(path)
        body = page.split("<tbody", 1)[1].split("</table>", 1)[0]
        return [[text(cell) for cell in re.findall(r"<t[hd][^>]*>(.*?)</t[hd]>", row, re.S)] for row in re.findall(r"<tr[^>]*>(.*?)</tr>", body, re.S)]

    def close(self):
        self.process.terminate()
        self.process.wait()


# A page sets 3 1/2 as one number, a paper as it is written.
SIGNS = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}


def written(said):
    """Figures as they were written before they were set."""
    return re.sub(r"(\d?)([½¼¾⅛⅜⅝⅞])", lambda hit: f"{hit[1]}{hit[1] and ' '}{SIGNS[hit[2]]}", said)


def text(markup):
    """What somebody reads of a piece of a page."""
    return " ".join(written(unescape(re.sub(r"<svg.*?</svg>|<[^>]*>", " ", markup, flags=re.S))).split())
