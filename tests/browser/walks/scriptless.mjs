// The same paths with scripts switched off: everything works, and a double click is one bundle.
import assert from "node:assert/strict";
import { Visitor } from "../support/visitor.mjs";

export default async function scriptless(step, house) {
  await step("a bundle is weighed in, and a double click adds one, not two", async () => {
    const link = house.demo.links.volunteer;
    const me = await Visitor.come(house, { name: "the volunteer", link, scripts: false });
    const rows = me.page.locator("section[aria-labelledby=evening] tbody tr");
    const before = await rows.count();
    for (const name of ["kind", "colour", "washed"]) await me.page.locator(`label:has([name=${name}])`).first().click();
    await me.page.locator("[name=weight]").fill("1 lb 1 oz");
    await me.page.getByRole("button", { name: "Weigh in", exact: true }).dblclick();
    // The second press breaks off the way that the first began.
    const there = () => me.page.waitForURL(/[?&](done|said)=/);
    await there().catch(there);
    await me.open("/cloth/weigh-in");
    assert.equal(await rows.count(), before + 1);
    await me.leave();
  });

  await step("a weaver finds the rug by the menu on a phone", async () => {
    const me = await Visitor.come(house, {
      name: "the weaver", link: house.demo.links.weaver, scripts: false, device: "phone",
    });
    await me.page.getByRole("button", { name: "Menu" }).click();
    await me.follow("Shelf");
    assert.equal(me.path(), "/cloth");
    await me.page.getByRole("button", { name: "Menu" }).click();
    await me.follow("My rugs");
    assert.match(me.path(), /^\/(my$|rugs\/)/);
    if (me.path() === "/my") await me.follow("Low tide");
    // Each press is a form, and the parts of the page are links within it.
    const count = async () => Number(await me.page.locator("[data-count]").innerText());
    const had = await count();
    await me.press("One more row");
    assert.equal(await count(), had + 1);
    await me.press("One row back");
    assert.equal(await count(), had);
    // The next row crossing by crossing, by links alone.
    const rug = me.path();
    await me.follow("The next row, crossing by crossing");
    const crossing = () => me.page.locator("[data-step-count]").innerText();
    assert.match(await crossing(), /^Crossing 1 of/);
    await me.follow("Next crossing");
    assert.match(await crossing(), /^Crossing 2 of/);
    assert.ok(await me.page.locator(".row-strip svg").last().isVisible());
    await me.open(rug);
    await me.page.locator(".part-bar").getByRole("link", { name: "Papers" }).click();
    await me.follow("Warp card");
    assert.match(await me.page.locator("main").innerText(), /Next, /);
    await me.leave();
  });
}
