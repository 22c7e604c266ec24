// A page printed to PDF, and what others' tools read from it: poppler the pages, text and pixels, zbar the QR code.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { mkdirSync, readFileSync } from "node:fs";
import { join } from "node:path";

// ISO 216 and ANSI/ASME Y14.1, in PostScript points.
const SIZES = { A4: [595.28, 841.89], Letter: [612, 792] };
const DPI = 300;

const run = (command, ...args) => execFileSync(command, args, { encoding: "utf8", maxBuffer: 1 << 26 });

export class Paper {
  static async print(visitor, name, format) {
    const folder = join(visitor.house.artefacts, "print");
    mkdirSync(folder, { recursive: true });
    const path = join(folder, `${name}-${format}`);
    await visitor.page.pdf({ path: `${path}.pdf`, format });
    run("qpdf", "--check", `${path}.pdf`);
    return new Paper(path, format);
  }

  constructor(path, format) {
    this.path = path;
    this.format = format;
  }

  // One page of the size that was asked for.
  isOnePage() {
    const told = run("pdfinfo", `${this.path}.pdf`);
    const pages = Number(/^Pages:\s+(\d+)$/m.exec(told)[1]);
    assert.equal(pages, 1, `${this.path}.pdf has ${pages} pages`);
    const size = /^Page size:\s+([\d.]+) x ([\d.]+) pts/m.exec(told).slice(1).map(Number);
    SIZES[this.format].forEach((wanted, i) => assert.ok(Math.abs(size[i] - wanted) < 1, `${this.path}.pdf is ${size} pt`));
  }

  text() {
    return run("pdftotext", "-layout", `${this.path}.pdf`, "-");
  }

  // What a phone would read from the code on it.
  code() {
    run("pdftoppm", "-r", String(DPI), "-singlefile", "-png", `${this.path}.pdf`, this.path);
    return run("zbarimg", "--quiet", "--nodbus", "--raw", `${this.path}.png`).trim();
  }

  // The length of the line that is to be 100 mm long: 1181 px at 300 dots per inch, two more or less.
  hasTrueBar() {
    run("pdftoppm", "-r", String(DPI), "-singlefile", "-gray", `${this.path}.pdf`, this.path);
    const runs = darkRuns(readFileSync(`${this.path}.pgm`));
    const wanted = Math.round((100 / 25.4) * DPI);
    assert.ok([...runs].some((length) => Math.abs(length - wanted) <= 2), `no line of ${wanted} px in ${this.path}.pdf`);
  }
}

// The lengths of all dark horizontal lines of a PGM picture that are longer than three inches.
function darkRuns(pgm) {
  const [, width, height] = /^P5\s+(\d+)\s+(\d+)\s+255\s/.exec(pgm.toString("latin1", 0, 64)).map(Number);
  const pixels = pgm.subarray(pgm.length - width * height);
  const runs = new Set();
  for (let y = 0; y < height; y += 1) {
    let length = 0;
    for (let x = 0; x <= width; x += 1) {
      if (x < width && pixels[y * width + x] < 128) {
        length += 1;
      } else {
        if (length > 3 * DPI) runs.add(length);
        length = 0;
      }
    }
  }
  return runs;
}
