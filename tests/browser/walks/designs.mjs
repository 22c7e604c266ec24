// Designs from the shelf: a weaver on a phone goes from her wishes to a kept rug, keeps a colour and a band on the way and looks at
// rests; the instructor has a design made for each of the class and keeps one. Prints the taps and how high the pages are.
import assert from "node:assert/strict";
import { Visitor } from "../support/visitor.mjs";

export default async function designs(step, house) {
  const height = (who) => who.page.evaluate(() => document.documentElement.scrollHeight);
  let taps = 0;
  const me = await Visitor.come(house, { name: "the weaver", link: house.demo.links.weaver, device: "phone" });
  // A tap that leads to another page, and one that doesn't.
  const touch = async (target) => {
    taps += 1;
    await target.click();
  };
  const tap = (target) => Promise.all([me.page.waitForEvent("load"), touch(target)]);
  const cards = me.page.locator("article.design");

  await step("on a phone a weaver's wishes become five designs", async () => {
    await me.open("/rugs/suggest");
    await me.look("suggest-asked-phone");
    await tap(me.page.getByRole("button", { name: "Show five designs" }));
    await cards.first().waitFor();
    assert.ok((await cards.count()) >= 2);
    await me.look("suggest-phone");
    console.log(`    five designs at 390 px: ${await height(me)} px`);
  });

  await step("a colour that is kept is in every other design, and so is a band", async () => {
    const colour = (await cards.first().locator("dt .swatch-named").first().innerText()).trim();
    await tap(cards.first().getByRole("link", { name: "Keep this colour, show others" }).first());
    await cards.first().waitFor();
    for (const card of await cards.all()) assert.match(await card.innerText(), new RegExp(colour, "i"));
    await touch(cards.first().getByText("Keep a band, show others"));
    await tap(cards.first().locator("details a").last());
    await cards.first().waitFor();
    assert.equal(await me.page.locator("input[name=keep]:checked").count(), 1);
    await me.look("suggest-band-phone");
  });

  await step("a design is planned and kept as a rug", async () => {
    await tap(cards.first().getByRole("button", { name: "Plan this rug" }));
    await me.page.locator("#rug-form").waitFor();
    console.log(`    the board at 390 px: ${await height(me)} px`);
    await me.look("board-phone");
    await tap(me.page.getByRole("button", { name: "Keep this rug" }));
    await me.page.waitForURL(/\/rugs\/[0-9a-f-]{36}/);
    console.log(`    from wishes to a kept rug, with a colour and a band kept on the way: ${taps} taps`);
  });

  await step("the board leads to designs around its band", async () => {
    await me.open("/rugs/new");
    const high = await height(me);
    console.log(`    the board of a new rug at 390 px: ${high} px`);
    assert.ok(high < 2800, `${high} px`);
    await tap(me.page.getByRole("link", { name: /Suggest around band/ }));
    assert.equal(await me.page.locator("input[name=keep]:checked").count(), 1);
  });

  await step("small rests become a rug", async () => {
    await me.open("/rugs/rests");
    await me.look("rests-asked-phone");
    const few = await me.page.locator("input[name=rest]:checked").count();
    if (few < 3) for (const box of (await me.page.locator("input[name=rest]").all()).slice(0, 6)) await box.check();
    await me.page.getByRole("button", { name: "See the rug" }).click();
    await me.page.locator("#rug").waitFor();
    await me.look("rests-phone");
    await me.leave();
  });

  await step("the instructor sees a design for each of the class and keeps one", async () => {
    const link = house.demo.links.instructor;
    const desk = await Visitor.come(house, { name: "the instructor", link });
    await desk.open("/rugs/suggest");
    await desk.page.getByRole("button", { name: "Show five designs" }).click();
    await desk.page.locator("article.design").first().waitFor();
    await desk.look("suggest-desktop");
    await desk.open("/terms");
    const terms = await desk.page.locator("main a[href^='/terms/']").evaluateAll((all) => all.map((a) => a.getAttribute("href")));
    for (const term of terms.filter((href) => /[0-9a-f-]{36}$/.test(href))) {
      await desk.open(`${term}/designs`);
      if ((await desk.page.locator("input[name=weaver]").count()) > 0) break;
    }
    await desk.look("class-asked-desktop");
    const begun = performance.now();
    await desk.page.getByRole("button", { name: "Show a design for each" }).click({ timeout: 60_000 });
    await desk.page.locator("#designs h2").waitFor();
    const said = await desk.page.locator("#designs h2").innerText();
    console.log(`    ${said} in ${((performance.now() - begun) / 1000).toFixed(1)} s`);
    await desk.look("class-desktop");
    const boxes = await desk.page.locator("input[name=plan]").all();
    for (const box of boxes.slice(1)) await box.uncheck();
    if (boxes.length > 0) {
      await desk.page.getByRole("button", { name: "Keep those ticked as plans" }).click();
      await desk.page.waitForURL(/said=designs/);
    }
    await desk.leave();
  });
}
