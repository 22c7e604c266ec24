// The volunteer at the scale: three bundles by keyboard alone, a weight that could mean two things, and an undo.
import assert from "node:assert/strict";
import { choose, evening, tabTo } from "../support/station.mjs";
import { Visitor } from "../support/visitor.mjs";

// One weight in three notations, in ounces: 1 oz = 28.349523125 g (NIST SP 811, 2008, appendix B).
const HEAP = [
  ["2 lb 3.5 oz", 35.5],
  ["35.5oz", 35.5],
  ["1006 g", 1006 / 28.349523125],
];

export default async function volunteer(step, house) {
  const me = await Visitor.come(house, { name: "the volunteer", link: house.demo.links.volunteer });
  const tags = new Set();
  let before;
  let after;

  await step("the link leads to the scale", async () => {
    assert.equal(me.path(), "/cloth/weigh-in");
    before = await evening(me);
    await me.look("weigh-in");
  });

  for (const [weight, ounces] of HEAP) {
    await step(`${weight} is weighed in without a mouse`, async () => {
      const had = await evening(me);
      await choose(me, "kind");
      await choose(me, "colour");
      await tabTo(me, "[name=weight]");
      await me.page.keyboard.type(weight);
      await choose(me, "washed");
      const came = me.page.waitForEvent("load");
      await me.page.keyboard.press("Enter");
      await came;
      tags.add(await me.page.locator(".tag-number b").innerText());
      const has = await evening(me);
      assert.equal(has.bundles, had.bundles + 1);
      // The total is shown to the half ounce.
      assert.ok(Math.abs(has.ounces - had.ounces - ounces) <= 0.5, `${had.ounces} oz became ${has.ounces} oz`);
    });
  }

  await step("each has a tag of its own, and they are counted", async () => {
    assert.equal(tags.size, HEAP.length);
    after = await evening(me);
    assert.equal(after.bundles, before.bundles + HEAP.length);
    await me.look("weigh-in-done");
    await me.page.setViewportSize({ width: 390, height: 844 });
    await me.portray("weigh-in");
    await me.page.setViewportSize(me.home);
  });

  await step("1,006 kg is asked about, never guessed", async () => {
    await choose(me, "colour");
    await me.page.locator("[name=weight]").fill("1,006 kg");
    await me.expecting(422, () => me.press("Weigh in"));
    assert.equal(await me.page.locator("[name=weight]").inputValue(), "1,006 kg");
    assert.match(await me.page.locator("#weight-error").innerText(), /1\.006 kg.*1006 kg/);
    await me.look("weigh-in-refused");
  });

  await step("the last one is undone, and the form is ready to do it again", async () => {
    await me.open("/cloth/weigh-in");
    const tag = [...tags].at(-1);
    await me.page.getByRole("row").filter({ hasText: tag }).getByRole("link").first().click();
    await me.page.waitForLoadState();
    await me.look("bundle");
    await me.page.goBack();
    await choose(me, "kind");
    await choose(me, "colour");
    await choose(me, "washed");
    await me.page.locator("[name=weight]").fill("12 oz");
    await me.press("Weigh in");
    assert.equal((await evening(me)).bundles, after.bundles + 1);
    const last = await me.page.locator(".tag-number b").innerText();
    await me.press(`Undo ${last}`);
    assert.equal((await evening(me)).bundles, after.bundles);
    assert.equal(await me.page.locator("[name=weight]").inputValue(), "12 oz");
    await me.look("weigh-in-undone");
  });

  await step("the shelf finds what was weighed in", async () => {
    await me.open("/cloth");
    await me.look("shelf");
    await me.page.locator("[name=q]").fill([...tags][0]);
    await me.press("Find");
    assert.ok((await me.page.getByRole("rowheader", { name: [...tags][0], exact: true }).count()) >= 1);
    await me.leave();
  });
}
