// The shelf in numbers: a list comes in from a table, the shelf is counted blind, and where the cloth went adds up.
import assert from "node:assert/strict";
import { Visitor } from "../support/visitor.mjs";

const LIST = [
  "colour,kind,weight,washed,source,note",
  "Teal,percale,700 g,yes,walk,first",
  "Teal,flannel,2 lb 3.5 oz,no,walk,second",
  'Teal,percale,"1,006 kg",yes,walk,nobody knows how much',
].join("\n");

export default async function stock(step, house) {
  const me = await Visitor.come(house, { name: "the volunteer", link: house.demo.links.volunteer });

  await step("a list is looked at before it is kept, and the row nobody can read is named", async () => {
    await me.open("/cloth/import");
    await me.look("import");
    const table = { name: "list.csv", mimeType: "text/csv", buffer: Buffer.from(LIST) };
    await me.page.locator("input[type=file]").setInputFiles(table);
    await me.press("Look at it first");
    const told = await me.page.locator("main").innerText();
    assert.match(told, /Line 4/);
    assert.match(told, /1\.006 kg.*1006 kg/s);
    await me.look("import-look");
    await me.page.locator("input[type=checkbox]").first().check();
    await me.press("Take in 2 bundles");
    assert.match(me.page.url(), /said=list-in/);
    await me.open("/cloth?q=walk");
    assert.equal(await me.page.locator("section[aria-labelledby=bundles] tbody tr").count(), 2);
  });

  await step("the shelf is counted blind, tag by tag", async () => {
    await me.open("/cloth/count");
    await me.page.locator("#family").selectOption("green");
    await me.press("Begin a stocktake");
    await me.look("count");
    // Whatever weighs what, the page doesn't say.
    assert.doesNotMatch(await me.page.locator("main").innerText(), /\d (oz|lb)/);
    for (let n = 0; n < 60 && (await me.page.locator("#weight").count()) > 0; n += 1) {
      if (n === 0) {
        await me.press("Not found");
      } else {
        await me.page.locator("#weight").fill("500 g");
        await me.press("Next");
      }
    }
    assert.match(await me.page.locator("main").innerText(), /All are counted/);
    await me.look("count-done");
  });

  await step("each difference wants a reason, and stands in the ledger then", async () => {
    await me.follow("See the differences");
    await me.look("count-close");
    await me.expecting(422, () => me.press("Close the stocktake"));
    for (const select of await me.page.locator("tbody select").all()) await select.selectOption("wrong");
    await me.press("Close the stocktake");
    assert.match(me.page.url(), /said=closed/);
    await me.look("counts");
  });

  await step("where the cloth went is drawn and adds up", async () => {
    await me.open("/cloth/went");
    await me.look("went");
    const sums = await me.page.evaluate(async () => (await fetch("/cloth/went.csv")).text());
    const lines = sums.trim().split(/\r?\n/).slice(1).map((line) => line.replaceAll('"', "").split(","));
    const all = lines[0].slice(2).map(Number);
    for (const by of ["source", "term"]) {
      const parts = lines.filter(([what]) => what === by).map((line) => line.slice(2).map(Number));
      all.forEach((sum, at) => {
        const together = parts.reduce((total, line) => total + line[at], 0);
        assert.ok(Math.abs(together - sum) < 1e-6, `${by}: ${together} g of ${sum} g`);
      });
    }
    await me.leave();
  });
}
