// The weaver, on a phone: the personal link, the rug, and the warp card on paper.
import assert from "node:assert/strict";
import { Paper } from "../support/paper.mjs";
import { Visitor } from "../support/visitor.mjs";

export default async function weaver(step, house) {
  const me = await Visitor.come(house, { name: "the weaver", link: house.demo.links.weaver, device: "phone" });
  let rug;
  let card;
  const part = (name) => me.page.locator(".part-bar").getByRole("link", { name }).click();

  await step("the link leads to their rug, and its secret is gone from the address", async () => {
    // A weaver with one rug has come for that rug.
    assert.match(me.path(), /^\/rugs\/[^/]+$/);
    rug = await me.heading();
    assert.ok((await me.page.locator(".rug svg").count()) >= 2, "the rug isn't drawn on both faces");
    assert.ok(await me.page.locator("#tonight").isVisible());
    await me.look("weaver-rug");
  });

  await step("the warp card is on the screen", async () => {
    await part("Papers");
    await me.follow("Warp card");
    card = me.path();
    await me.look("card");
    await me.portray("card");
  });

  for (const format of ["A4", "Letter"]) {
    await step(`the warp card is one page of ${format}, its bar is true, and its code leads to the rug`, async () => {
      const paper = await Paper.print(me, "warp-card", format);
      paper.isOnePage();
      const text = paper.text();
      for (const part of [rug, "Warp", "joins", "Next, ", "Weft by colour", "Colour changes", "Steps", "Take care",
        "Care of the rug", /Revision \d+/, "100 mm", "4 in"]) {
        assert.match(text, part instanceof RegExp ? part : new RegExp(part.replace(/[().?+*]/g, "\\$&")));
      }
      paper.hasTrueBar();
      const code = new URL(paper.code());
      assert.equal(code.origin, house.demo.base);
      assert.equal(code.pathname, card.replace(/\/card$/, ""));
      await me.open(code.pathname + code.search);
      assert.match(await me.page.locator("[role=status]").first().innerText(), /Your paper is still right/);
      if (format === "A4") {
        await me.look("paper-right");
        await me.open(`${code.pathname}?paper=0.1.1.1`);
        await me.look("paper-old");
        assert.match(await me.page.locator("[role=status]").first().innerText(), /Your paper is out of date/);
      }
      await me.open(card);
    });
  }

  await step("an evening is logged with three figures and one button, and each number says how it came about", async () => {
    await me.open(card.replace(/\/card$/, ""));
    const bar = me.page.getByRole("progressbar", { name: "Rows woven" });
    const before = Number(await bar.getAttribute("value"));
    await me.page.getByRole("link", { name: "Log", exact: true }).first().click();
    await me.page.waitForLoadState();
    await me.look("log");
    await me.page.getByLabel("Rows so far").fill("half");
    await me.expecting(422, () => me.press("Log it"));
    assert.equal(await me.page.getByLabel("Rows so far").inputValue(), "half");
    await me.page.getByLabel("Rows so far").fill(String(before + 12));
    await me.page.getByLabel("Minutes worked since last time").fill("45");
    await me.page.locator("fieldset input").first().fill("2 oz");
    await me.press("Log it");
    assert.equal(Number(await bar.getAttribute("value")), before + 12);
    const log = me.page.locator("details", { hasText: "The log, newest first" });
    await log.locator("summary").click();
    assert.match(await log.innerText(), new RegExp(`${before + 12} rows, 45 min`));
    const how = me.page.locator("#standing a.how").last();
    const key = (await how.getAttribute("href")).split("#")[1];
    await how.click();
    await me.page.waitForLoadState();
    assert.ok(await me.page.locator(`[id="${key}"]`).isVisible());
    await me.look("rug-worked");
  });

  await step("a rug of their own is planned; a height nobody can read comes back as it was typed", async () => {
    await me.open("/rugs/new");
    await me.look("rug-new");
    await me.field("The rug’s name").fill("Driftwood runner");
    await me.page.getByText("The bands in figures").click();
    await me.field("Band 1, height").fill("twelve");
    await me.page.getByRole("group", { name: "Band 1" }).getByLabel("First strand").selectOption({ index: 1 });
    await me.page.getByRole("group", { name: "Band 1" }).getByLabel("Other strand").selectOption({ index: 2 });
    await me.expecting(422, () => me.press("Keep this rug"));
    assert.equal(await me.field("Band 1, height").inputValue(), "twelve");
    await me.look("rug-new-refused");
    await me.field("Band 1, height").fill("30 in");
    await me.press("Keep this rug");
    assert.equal(await me.heading(), "Driftwood runner");
  });

  await step("on the drawing board a band is split, coloured, made higher and put back", async () => {
    await me.page.getByText("Change this rug").click();
    await me.follow("Change the plan");
    const bands = me.page.locator(".board-band");
    const height = () => me.page.locator("[name=band-1-height]").inputValue();
    const asked = (act) => Promise.all([me.page.waitForResponse((answer) => answer.request().method() === "POST"), act()]);
    await asked(() => me.page.getByRole("button", { name: "Split", exact: true }).click());
    await me.page.waitForFunction(() => document.querySelectorAll(".board-band").length === 2);
    assert.equal(await height(), "15 in");
    await asked(() => me.page.locator(".hue[open] .board-swatch").first().click());
    const grip = me.page.locator(".board-grip").first();
    await grip.focus();
    await asked(() => me.page.keyboard.press("ArrowUp"));
    await me.page.waitForFunction(() => document.querySelector("[name=band-2-height]").value.startsWith("14.75"));
    assert.match(await height(), /^15(\.25| 1\/4) in$/);
    const box = await grip.boundingBox();
    await me.page.mouse.move(box.x + 20, box.y + 16);
    await me.page.mouse.down();
    await me.page.mouse.move(box.x + 20, box.y + 76, { steps: 6 });
    await asked(() => me.page.mouse.up());
    await me.page.waitForFunction(() => parseFloat(document.querySelector("[name=band-1-height]").value) < 14);
    await me.look("board");
    for (const left of [4, 3, 2, 1]) {
      void left;
      await asked(() => me.page.getByRole("button", { name: "Undo" }).click());
    }
    await me.page.waitForFunction(() => document.querySelectorAll(".board-band").length === 1);
    assert.equal(await height(), "30 in");
    await asked(() => me.page.getByRole("button", { name: "Redo" }).click());
    await me.page.waitForFunction(() => document.querySelectorAll(".board-band").length === 2);
    await me.follow("Cancel");
    assert.equal(await bands.count(), 0);
  });

  await step("a picture is painted, moved and written on a chart, and one from the device comes in two colours", async () => {
    await me.page.getByText("Change this rug").click();
    await me.follow("Change the plan");
    const asked = (act) => Promise.all([me.page.waitForResponse((answer) => answer.request().method() === "POST"), act()]);
    const button = (name) => me.page.getByRole("button", { name, exact: true });
    const chart = async () => (await me.page.locator("[name=band-1-chart]").inputValue()).split(/\r?\n/);
    const shows = (line, row = 0) =>
      me.page.waitForFunction(([row, line]) => document.querySelector("[name=band-1-chart]").value.split("\n")[row]?.trim() === line, [row, line]);
    await me.page.locator("#chart_across").fill("6");
    await me.page.locator("#chart_high").fill("4");
    await asked(() => button("Begin an empty chart").click());
    await shows("......");
    const middle = async (row, unit) => {
      const box = await me.page.locator(`#cell-${row}-${unit}`).boundingBox();
      return [box.x + box.width / 2, box.y + box.height / 2];
    };
    await me.page.locator(".chart-grid").scrollIntoViewIfNeeded();
    await me.page.mouse.move(...(await middle(0, 0)));
    await me.page.mouse.down();
    await me.page.mouse.move(...(await middle(0, 3)), { steps: 8 });
    await asked(() => me.page.mouse.up());
    await shows("xxxx..");
    await me.page.locator(".chart-grid").focus();
    for (const key of ["ArrowDown", "ArrowRight", "ArrowRight"]) await me.page.keyboard.press(key);
    await asked(() => me.page.keyboard.press("Space"));
    assert.equal((await chart()).join("/"), "xxxx../..x.../....../......");
    await me.page.waitForFunction(() => document.activeElement.matches(".chart-grid"));
    await asked(() => button("Left for right").click());
    await shows("..xxxx");
    await asked(() => button("Undo").click());
    await shows("xxxx..");
    await me.look("chart");
    await me.page.locator("#chart_letters").fill("tide");
    await asked(() => button("Make them the chart").click());
    await shows(".xxx.x.xx..xxx.", 1);
    await me.look("chart-letters");
    const picture = { name: "rug.png", mimeType: "image/png", buffer: await me.page.locator("[data-rug]").screenshot() };
    await me.page.locator("#chart_across").fill("12");
    await asked(() => me.page.locator("#chart-file").setInputFiles(picture));
    assert.ok((await chart()).every((line) => line.trim().length === 12));
    await me.page.locator("#chart-threshold").waitFor();
    await me.follow("Cancel");
  });

  await step("two variants of it stand side by side, and nothing is kept before it is asked for", async () => {
    await me.page.getByText("Change this rug").click();
    await me.follow("Change the plan");
    await me.press("Set aside as A, try another");
    await me.field("Band 1, height").fill("24 in");
    await me.press("See what it needs");
    const table = me.page.locator(".variant-table");
    assert.match(await table.innerText(), /30 in[\s\S]*24 in/);
    await me.look("rug-variants");
    await me.press("Swap A and B");
    assert.equal(await me.field("Band 1, height").inputValue(), "30 in");
    await me.press("Let A go");
    assert.equal(await table.count(), 0);
    await me.follow("Cancel");
    assert.equal(await me.heading(), "Driftwood runner");
  });

  await step("its rows are read off, and the way of its warp is drawn", async () => {
    await part("Papers");
    await me.follow("Reading card");
    assert.match(await me.page.locator(".reading").innerText(), /1–\d+ \(\d+\)/);
    await me.follow("Back to the rug");
    await part("Cloth");
    await me.follow("drawn");
    assert.equal(await me.page.locator("figure.way svg").count(), 2);
    await me.look("way");
  });

  await step("a calendar can subscribe to what is theirs", async () => {
    await me.open("/me");
    await me.look("me");
    await me.press("Make a calendar link");
    const link = await me.page.locator("p a.small").getAttribute("href");
    const feed = await me.page.evaluate(async (path) => (await fetch(path)).text(), new URL(link).pathname);
    assert.match(feed, /BEGIN:VEVENT/);
    await me.look("calendar-link");
  });

  await step("others' rugs and the class's people are closed to them", async () => {
    const other = await Visitor.come(house, { name: "the instructor", link: house.demo.links.instructor });
    await other.open("/rugs");
    const all = await rugsOn(other);
    await me.open("/my");
    const mine = await rugsOn(me);
    const theirs = all.find((path) => !mine.includes(path));
    assert.ok(theirs, "the demo has no other weaver's rug");
    await me.expecting(404, () => me.page.goto(theirs));
    await me.look("not-theirs");
    await me.expecting(403, () => me.page.goto("/people"));
    await me.look("forbidden");
    await other.leave();
    await me.leave();
  });
}

function rugsOn(visitor) {
  return visitor.page
    .locator("main a[href^='/rugs/']")
    .evaluateAll((links) => [...new Set(links.map((link) => /^\/rugs\/[0-9a-f-]{36}/.exec(link.getAttribute("href"))?.[0]))].filter(Boolean));
}
