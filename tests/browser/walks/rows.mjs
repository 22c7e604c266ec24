// A weaver's page on a phone: one thing to do, a row counter that needs no network, and two devices that count one rug. Prints
// how high each part is.
import assert from "node:assert/strict";
import { Visitor } from "../support/visitor.mjs";
import { Wire } from "../support/wire.mjs";

// Of a rug under way, on a phone of 390 px.
const HIGHEST = 2400;

export default async function rows(step, house) {
  const wire = await Wire.to(house.demo.base);
  const link = wire.base + new URL(house.demo.links.weaver).pathname;
  const come = () => Visitor.come({ ...house, base: wire.base }, { name: "the weaver", link, device: "phone" });
  const shown = async (who) => Number(await who.page.locator("[data-count]").innerText());
  const tap = (who) => who.page.getByRole("button", { name: "One more row" }).click();
  const kept = async () => {
    const page = await (await house.browser.newContext({ baseURL: house.demo.base })).newPage();
    await page.goto(house.demo.links.weaver);
    await page.getByRole("button", { name: "Open my page" }).click();
    await page.waitForURL((url) => url.pathname.startsWith("/rugs/"));
    const rows = Number(await page.locator("[data-counter]").getAttribute("data-rows"));
    await page.context().close();
    return rows;
  };
  async function until(what, wanted) {
    for (let tries = 0; tries < 40; tries += 1) {
      if ((await what()) === wanted) return;
      await new Promise((done) => setTimeout(done, 250));
    }
    assert.equal(await what(), wanted);
  }
  const me = await come();
  const path = me.path();
  let at;

  try {
    await step("tonight is on top, the counter on the first screen, and each part is short", async () => {
      const box = (part) => me.page.locator(part).first().boundingBox();
      assert.ok((await box("#tonight")).y < 300, "the step at hand begins within the first 300 px");
      const press = await me.page.getByRole("button", { name: "One more row" }).boundingBox();
      assert.ok(press.y + press.height < 790, `the counter is at ${press.y}`);
      const heights = {};
      for (const part of ["now", "cloth", "steps", "papers"]) {
        await me.page.locator(`.part-bar [href="#${part}"]`).click();
        assert.ok(await me.page.locator(`#${part}`).isVisible(), part);
        heights[part] = await me.page.evaluate(() => document.documentElement.scrollHeight);
        await me.look(`rug-${part}`);
      }
      console.log(`    a weaver's page at 390 px: ${Object.entries(heights).map(([part, high]) => `${part} ${high}`).join(", ")}`);
      assert.ok(heights.now < HIGHEST, `${heights.now} px`);
      await me.page.locator('.part-bar [href="#now"]').click();
    });

    await step("each row is one tap, and one back takes it off", async () => {
      at = await shown(me);
      for (let i = 0; i < 3; i += 1) await tap(me);
      assert.equal(await shown(me), at + 3);
      await me.page.getByRole("button", { name: "One row back" }).click();
      at += 2;
      assert.equal(await shown(me), at);
      await until(kept, at);
      const words = await me.page.locator("[data-next]").innerText();
      const line = await me.page.locator("[data-here]").getAttribute("transform");
      await me.page.reload();
      // What the script says and draws is what the page says and draws.
      assert.equal(await me.page.locator("[data-next]").innerText(), words);
      const [drawn, again] = [line, await me.page.locator("[data-here]").getAttribute("transform")].map((place) => Number(/([\d.]+)\)/.exec(place)[1]));
      assert.ok(Math.abs(drawn - again) < 0.2, `${drawn} and ${again}`);
    });

    await step("the row at hand is stepped through by keys, slider and thumb, and the guide finds a step by its words", async () => {
      await me.follow("The next row, crossing by crossing");
      const row = await me.page.locator("main > p").first().innerText();
      const says = () => me.page.locator("[data-step-says]").innerText();
      const count = () => me.page.locator("[data-step-count]").innerText();
      const whole = Number((await count()).split(" of ")[1]);
      await me.page.keyboard.press("ArrowRight");
      await me.page.getByRole("link", { name: "Next crossing" }).click();
      assert.equal(await count(), `Crossing 3 of ${whole}`);
      const shown = await me.page.locator('.row-picture [data-part="front"]:not([display])').count();
      assert.equal(shown, 3, "no more is drawn than is made");
      const [words, picture] = [await says(), await me.page.locator(".row-picture svg").getAttribute("viewBox")];
      await me.page.reload();
      // What the script says and draws is what the page says and draws.
      assert.equal(await says(), words);
      assert.equal(await me.page.locator(".row-picture svg").getAttribute("viewBox"), picture);
      await me.look("stepper");
      await me.page.locator("[data-step-slider]").fill(String(whole));
      assert.match(await says(), /round the rod|is done/);
      await me.follow("Next row");
      assert.notEqual(await me.page.locator("main > p").first().innerText(), row);
      await me.open(`${path}/guide`);
      await me.page.getByLabel("What is it about?").fill("there’s a hole at the edge");
      await me.press("Find the step");
      assert.equal(await me.page.locator("[role=status] a").getAttribute("href"), "#rod-turn");
      await me.look("guide");
      await me.open(path);
    });

    await step("without a network rows are counted on, the page opens again, and they are sent once", async () => {
      await me.page.evaluate(async () => navigator.serviceWorker.ready);
      await me.page.waitForFunction(async (page) => (await (await caches.open("rows")).match(page)) !== undefined, `${path}/count`);
      me.cut = true;
      await wire.cut();
      for (let i = 0; i < 4; i += 1) await tap(me);
      await me.page.locator("[data-count-state]", { hasText: "4 rows wait" }).waitFor();
      await me.page.goto(wire.base + path);
      assert.equal(await shown(me), at + 4);
      assert.equal(await me.page.locator("header .who").count(), 0, "nobody is named on the page that is kept");
      await tap(me);
      assert.equal(await shown(me), at + 5);
      assert.equal(await kept(), at);
      await wire.mend();
      me.cut = false;
      await me.page.evaluate(() => window.dispatchEvent(new Event("online")));
      at += 5;
      await until(kept, at);
      await me.open(path);
      assert.equal(await shown(me), at);
      const names = await me.page.evaluate(async () => (await (await caches.open("rows")).keys()).map((one) => new URL(one.url).pathname));
      assert.ok(names.every((name) => name === `${path}/count` || name.startsWith("/static/")), names.join());
    });

    await step("two devices add up, and a figure written down meanwhile is asked about", async () => {
      const other = await come();
      await tap(other);
      await until(kept, at + 1);
      await tap(me);
      at += 2;
      await until(kept, at);
      await until(() => shown(me), at);
      await other.open(`${path}/log`);
      await other.page.getByLabel("Rows so far").fill(String(at - 1));
      await other.press("Log it");
      await me.expecting(409, () => tap(me));
      await me.page.getByRole("button", { name: "Add them" }).click();
      await until(kept, at);
      await until(() => shown(me), at);
      await other.leave();
    });

    await step("a stretch that is woven is ticked off in one tap, and taken back in another", async () => {
      await me.page.getByText("Rows to read off").click();
      const stretch = me.page.locator(".stretches [aria-current] button");
      const end = Number(await stretch.getAttribute("value"));
      await stretch.click();
      await until(kept, end);
      assert.match(await me.page.locator("[data-next]").innerText(), /now|woven/);
      await me.look("rug-stretches");
      await me.page.getByRole("button", { name: "Undo", exact: true }).first().click();
      await until(kept, at);
    });

    await me.leave();
  } finally {
    if (wire.server.listening) await wire.cut();
  }
}
