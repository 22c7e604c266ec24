// The instructor's evening: Today, a weaver's rug, a frame that fits it, the slip; and a frame that comes back.
import assert from "node:assert/strict";
import { Paper } from "../support/paper.mjs";
import { Visitor } from "../support/visitor.mjs";

export default async function instructor(step, house) {
  const me = await Visitor.come(house, { name: "the instructor", link: house.demo.links.instructor });
  let rug;
  let tag;

  await step("Today says what waits", async () => {
    assert.equal(me.path(), "/today");
    assert.equal(await me.heading(), "Today");
    await me.look("today");
    await me.portray("today");
    await me.page.setViewportSize({ width: 390, height: 844 });
    const high = await me.page.evaluate(() => document.documentElement.scrollHeight);
    console.log(`    Today at 390 px: ${high} px high`);
    // Two screens of a phone, about.
    assert.ok(high < 1700, `${high} px`);
    await me.page.setViewportSize(me.home);
  });

  await step("a rug without a frame leads to its plan", async () => {
    const waiting = me.page.getByRole("link", { name: /^Hand out a frame for / }).first();
    rug = (await waiting.innerText()).replace(/^Hand out a frame\s*for\s*/, "").trim();
    await me.follow(new RegExp(`^${literally(rug)}$`));
    assert.equal(await me.heading(), rug);
    await me.look("rug");
    await me.portray("rug");
    await me.follow("How every number was worked out");
    await me.look("rug-worked");
    await me.page.goBack();
  });

  await step("the frame that fits is offered first, with its rods, and one confirmation hands it out", async () => {
    await me.follow("Hand out a frame");
    assert.match(me.path(), /^\/rugs\/[^/]+\/hand-out$/);
    const first = me.page.locator("[name=frame]").first();
    assert.ok(await first.isChecked(), "the first frame isn't chosen");
    assert.ok((await me.page.locator("[name=rod]:checked").count()) === 1, "no rods are chosen");
    tag = (await me.page.locator("label:has([name=frame]) > span").first().innerText()).split(/\s+/)[0];
    await me.look("hand-out");
  });

  await step("a day that isn't one comes back with what was chosen", async () => {
    const due = await me.field("Due back on").inputValue();
    await me.field("Due back on").fill("");
    await me.expecting(422, () => me.press("Hand it out"));
    assert.ok(await me.page.locator("[name=frame]").first().isChecked());
    await me.look("hand-out-refused");
    await me.field("Due back on").fill(due);
  });

  await step("the slip fits one page, and its code leads to the loan", async () => {
    await me.press("Hand it out");
    assert.match(me.path(), /^\/loans\/[^/]+$/);
    assert.match(await me.heading(), new RegExp(literally(tag)));
    await me.look("loan");
    for (const format of ["A4", "Letter"]) {
      const slip = await Paper.print(me, "loan-slip", format);
      slip.isOnePage();
      assert.match(slip.text(), new RegExp(literally(tag)));
      assert.match(slip.text(), /Due back on/);
      assert.equal(slip.code(), house.demo.base + me.path());
    }
  });

  await step("the frame is now with the weaver, and can't be handed out again", async () => {
    const loan = me.path();
    await me.follow("The frame");
    assert.equal(await me.page.getByRole("link", { name: "Hand it out" }).count(), 0);
    await me.look("frame-out");
    await me.open(loan);
  });

  await step("it comes back with a bent rod, and who is next in line is shown", async () => {
    await me.follow("Take it back");
    await me.page.getByText("worn", { exact: true }).click();
    await me.field("Rods bent").fill("many");
    await me.expecting(422, () => me.press("Take it back"));
    assert.equal(await me.field("Rods bent").inputValue(), "many");
    await me.look("take-back-refused");
    await me.field("Rods bent").fill("1");
    await me.page.getByText("finished", { exact: true }).click();
    await me.press("Take it back");
    const told = await me.page.locator("main").innerText();
    assert.match(told, /Taken back/);
    assert.match(told, /1 bent/);
    assert.match(told, /Next in line/);
    await me.look("loan-taken-back");
    await me.leave();
  });
}

function literally(text) {
  return text.replace(/[.*+?^${}()|[\]\\]/g, "\\$&");
}
