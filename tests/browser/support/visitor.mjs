// Somebody with a browser: opens pages, and complains of whatever a page must not do.
import assert from "node:assert/strict";
import { mkdirSync, statSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";
import { ROOT } from "./places.mjs";

const axe = createRequire(import.meta.url)("axe-core").source;
const PATIENCE = 15_000;
const PICTURES = join(ROOT, "tests", "browser", "pictures");
const LARGEST = 150_000;
const TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];

// Window sizes; 320 px is what WCAG 2.2, 1.4.10 (reflow) asks for.
const DESKTOP = { width: 1280, height: 900 };
const PHONE = { width: 390, height: 844 };
const NARROWEST = { width: 320, height: 800 };

// What a page says as it was written before its figures were set: `3½ oz` as `3 1/2 oz`, blanks that break.
export function written(text) {
  const signs = { "½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8" };
  const figures = (run, from) => [...run].map((one) => from.indexOf(one)).join("");
  return text
    .replace(/[\u00a0\u202f]/g, " ")
    .replace(/(\d?)([½¼¾⅛⅜⅝⅞])/g, (_, before, sign) => `${before}${before && " "}${signs[sign]}`)
    .replace(/([⁰¹²³⁴⁵⁶⁷⁸⁹]+)⁄([₀₁₂₃₄₅₆₇₈₉]+)/g, (_, over, under) => `${figures(over, "⁰¹²³⁴⁵⁶⁷⁸⁹")}/${figures(under, "₀₁₂₃₄₅₆₇₈₉")}`);
}

// Walks read texts by Playwright's own means; each comes as it was written.
function readWritten(page) {
  const locator = Object.getPrototypeOf(page.locator("html"));
  if (locator.readsWritten) return;
  locator.readsWritten = true;
  for (const name of ["innerText", "textContent"]) {
    const read = locator[name];
    locator[name] = async function (...rest) {
      const text = await read.apply(this, rest);
      return text === null ? null : written(text);
    };
  }
  for (const name of ["allInnerTexts", "allTextContents"]) {
    const read = locator[name];
    locator[name] = async function (...rest) {
      return (await read.apply(this, rest)).map(written);
    };
  }
}

export class Visitor {
  // A visitor with a browser of their own. `link` enters as somebody; without it nobody is signed in.
  static async come(house, { name, link, scripts = true, device = "desktop" }) {
    const context = await house.browser.newContext({
      baseURL: house.base ?? house.demo.base,
      viewport: device === "phone" ? PHONE : DESKTOP,
      hasTouch: device === "phone",
      colorScheme: "light",
      javaScriptEnabled: scripts,
      locale: "en-GB",
      timezoneId: "UTC",
    });
    context.setDefaultTimeout(PATIENCE);
    const page = await context.newPage();
    readWritten(page);
    const visitor = new Visitor(house, name, page);
    visitor.home = visitor.page.viewportSize();
    await visitor.#listen();
    if (link) {
      await visitor.page.goto(link);
      await visitor.page.getByRole("button", { name: "Open my page" }).click();
      await visitor.page.waitForURL((url) => !url.pathname.startsWith("/enter/"));
      assert.ok(!visitor.page.url().includes("/enter/"), "the link's secret is still in the address");
    }
    return visitor;
  }

  constructor(house, name, page) {
    this.house = house;
    this.name = name;
    this.page = page;
    this.complaints = [];
    this.expected = [];
  }

  async #listen() {
    const complain = (what) => this.complaints.push(`${this.path()}: ${what}`);
    this.page.on("pageerror", (error) => complain(`a script fell over: ${error.message}`));
    this.page.on("requestfailed", (request) => {
      const why = request.failure()?.errorText;
      // A page that is left while something loads isn't at fault, nor one whose network was cut.
      if (why !== "net::ERR_ABORTED" && !this.cut) complain(`${request.url()} failed: ${why}`);
    });
    this.page.on("response", (response) => {
      const path = new URL(response.url()).pathname;
      if (response.status() >= 400 && !this.expected.includes(response.status())) {
        complain(`${path} answered ${response.status()}`);
      }
    });
    this.page.on("console", (message) => {
      // Chromium also writes each answer of 400 and more to the console; those are judged above.
      if (message.type() === "error" && !message.text().startsWith("Failed to load resource")) {
        complain(`console: ${message.text()}`);
      }
    });
    await this.page.exposeFunction("complainOfPolicy", (what) => complain(`content policy: ${what}`));
    await this.page.addInitScript(() => {
      document.addEventListener("securitypolicyviolation", (event) => {
        window.complainOfPolicy(`${event.violatedDirective} ${event.blockedURI} ${event.sourceFile}:${event.lineNumber}`);
      });
    });
  }

  path() {
    return new URL(this.page.url()).pathname;
  }

  async open(path) {
    const answer = await this.page.goto(path);
    assert.equal(answer.status(), 200, `${path} answered ${answer.status()}`);
    return this.page;
  }

  // Does something whose answer has to be this status (422 for a form that comes back, 404 …).
  async expecting(status, act) {
    this.expected.push(status);
    const answer = this.page.waitForResponse((response) => response.status() === status);
    await Promise.all([answer, act()]);
    await this.page.waitForLoadState();
    this.expected.pop();
  }

  // Cuts this visitor's network, or mends it.
  async network(there) {
    this.cut = !there;
    await this.page.context().setOffline(!there);
  }

  async heading() {
    return (await this.page.locator("h1").first().innerText()).trim();
  }

  field(label) {
    return this.page.getByLabel(label, { exact: true });
  }

  // Presses the button and waits for the page that comes of it.
  async press(label) {
    await this.#through(() => this.page.getByRole("button", { name: label, exact: true }).first().click());
  }

  async follow(label) {
    await this.#through(() => this.page.getByRole("link", { name: label }).first().click());
  }

  async #through(act) {
    const came = this.page.waitForEvent("load");
    await act();
    await came;
  }

  // Looks at the page as it stands: no violation in light or dark, nothing cut off on a narrow phone, no complaint so
  // far; and keeps pictures of it.
  async look(name) {
    await this.#reflows();
    for (const scheme of ["light", "dark"]) {
      // Without motion, so that no colour is measured on its way from one scheme to the other.
      await this.page.emulateMedia({ colorScheme: scheme, reducedMotion: "reduce" });
      await this.#accessible(scheme);
      if (scheme === "dark") await this.#picture(name, "dark");
    }
    await this.page.emulateMedia({ colorScheme: "light" });
    for (const [device, size] of [["phone", PHONE], ["desktop", DESKTOP]]) {
      await this.page.setViewportSize(size);
      await this.#picture(name, device);
    }
    await this.page.setViewportSize(this.home);
    this.quiet();
  }

  quiet() {
    assert.deepEqual(this.complaints, [], `${this.name} has complaints`);
  }

  async #accessible(scheme) {
    await this.page.evaluate(axe);
    const found = await this.page.evaluate((tags) => window.axe.run(document, { runOnly: tags }), TAGS);
    const told = found.violations.map(({ id, help, nodes }) => {
      const where = nodes.slice(0, 4).map((node) => `${node.target.join(" ")}  ${node.failureSummary ?? ""}`);
      return `${id}: ${help}\n    ${where.join("\n    ")}`;
    });
    assert.deepEqual(told, [], `${this.path()} in ${scheme}: axe-core finds\n${told.join("\n")}`);
  }

  async #reflows() {
    await this.page.setViewportSize(NARROWEST);
    const { wide, within } = await this.page.evaluate(() => ({
      wide: document.scrollingElement.scrollWidth,
      within: document.documentElement.clientWidth,
    }));
    await this.page.setViewportSize(this.home);
    assert.ok(wide <= within, `${this.path()} is ${wide} px wide in a window of ${within} px`);
  }

  async #picture(name, device) {
    const folder = join(this.house.artefacts, device);
    mkdirSync(folder, { recursive: true });
    await this.page.screenshot({ path: join(folder, `${name}.png`), fullPage: true });
  }

  // A picture of what is in the window, for the README; only when the run was asked for them.
  async portray(name) {
    if (!this.house.pictures) return;
    mkdirSync(PICTURES, { recursive: true });
    const path = join(PICTURES, `${name}.png`);
    await this.page.screenshot({ path });
    const size = statSync(path).size;
    assert.ok(size <= LARGEST, `${path} has ${size} bytes, ${LARGEST} are allowed`);
  }

  async leave() {
    this.quiet();
    await this.page.context().close();
  }
}
